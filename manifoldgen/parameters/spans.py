"""Where every key and value of a YAML text begins and ends, to the character: what editing a copy needs.

For texts that `document.read` accepts.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, Literal

import yaml

from manifoldgen.parameters.document import scalar

Key = str | int


@dataclass(eq=False)
class Node:
    """A value in the text, ``text[start:end]``; an anchor before it counts in.

    word : the plain value of a scalar.  quote : ``'`` or ``"`` where it stands in quotes.
    flow : a mapping or list in braces or brackets.  inside_flow : it stands in one of those.
    children : values of a mapping by key, of a list by place.  key : where its key begins, in a mapping.
    of : what an alias stands for.
    """

    kind: Literal["scalar", "mapping", "list", "alias"]
    start: int
    end: int
    word: Any = None
    quote: str = ""
    flow: bool = False
    inside_flow: bool = False
    children: dict[Key, Node] = field(default_factory=dict)
    key: int | None = None
    of: Node | None = None

    @property
    def value(self) -> Any:  # noqa: ANN401 - whatever YAML holds
        """The plain value, a copy of its own even where an alias is met."""
        if self.of is not None:
            return self.of.value
        if self.kind == "mapping":
            return {key: child.value for key, child in self.children.items()}
        return [child.value for child in self.children.values()] if self.kind == "list" else self.word

    @property
    def target(self) -> Node:
        """What an alias stands for, else the node itself."""
        return self.of or self


@dataclass
class _Open:
    node: Node
    anchor: str | None
    key: tuple[Key, int] | None = None


def tree(text: str) -> Node:
    """The root of the one document in `text`."""
    anchors: dict[str, Node] = {}
    stack: list[_Open] = []
    root: Node | None = None
    for event in yaml.parse(text, Loader=yaml.SafeLoader):
        if isinstance(event, yaml.MappingEndEvent | yaml.SequenceEndEvent):
            done = stack.pop()
            node = done.node
            # a block has no end of its own: its mark lies behind the comments that follow it
            last = max((child.end for child in node.children.values()), default=node.end)
            node.end = _index(event.end_mark) if node.flow else last
            if done.anchor is not None:
                anchors[done.anchor] = node
            continue
        if not isinstance(event, yaml.NodeEvent):
            continue
        node = _node(event, anchors)
        if stack and stack[-1].node.kind == "mapping" and stack[-1].key is None:
            stack[-1].key = (node.value, node.start)
        else:
            root = root or node
            _put(stack, node)
            if isinstance(event, yaml.MappingStartEvent | yaml.SequenceStartEvent):
                stack.append(_Open(node, event.anchor))
        if isinstance(event, yaml.ScalarEvent) and event.anchor is not None:
            anchors[event.anchor] = node
    assert root is not None  # noqa: S101 - such a text has a value
    return root


def _node(event: yaml.NodeEvent, anchors: dict[str, Node]) -> Node:
    start, end = _index(event.start_mark), _index(event.end_mark)
    if isinstance(event, yaml.ScalarEvent):
        word = scalar(event.value) if event.implicit[0] else event.value
        return Node("scalar", start, end, word, event.style if event.style in {"'", '"'} else "")
    if isinstance(event, yaml.AliasEvent):
        return Node("alias", start, end, of=anchors[str(event.anchor)])
    kind: Literal["mapping", "list"] = "mapping" if isinstance(event, yaml.MappingStartEvent) else "list"
    return Node(kind, start, end, flow=bool(getattr(event, "flow_style", False)))


def _index(mark: object) -> int:
    return int(getattr(mark, "index"))  # noqa: B009 - the parser's marks are not typed


def _put(stack: list[_Open], node: Node) -> None:
    """Hang a value where it belongs."""
    if not stack:
        return
    top = stack[-1]
    node.inside_flow = top.node.flow or top.node.inside_flow
    if top.key is None:
        top.node.children[len(top.node.children)] = node
    else:
        key, node.key = top.key
        top.node.children[key] = node
        top.key = None
