"""A copy of a parameter file with what was found written in; every other byte stays as it is.

The text is edited at the places where the values stand: comments, indentation, quotes, line ends and a byte
order mark are kept. An alias is written out only where it is used. The copy is read again before it is given
out, and has to hold what was meant.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from manifoldgen.errors import ParameterError
from manifoldgen.parameters import document
from manifoldgen.parameters.rebase import rebased
from manifoldgen.parameters.spans import Key, Node, tree

BOM = b"\xef\xbb\xbf"
DIGITS = 4  # of mm and degrees; what is left over is snapped when the file is read
_CLR_DIGITS = 6
_AFTER = (
    "order",
    "gap",
    "half_angle",
    "kind",
)  # collector keys that others are written after, the first there is


@dataclass(frozen=True)
class FoundPaths:
    """What was found, as plain numbers.

    paths : by cylinder, the elements ``{"straight": mm}`` or ``{"bend": °, "clr": mm, "roll": °}``.
    kept : by cylinder, how many elements of a path that ends in ``close`` stay as they are written.
    ring : the collector's ``order``, ``clock`` and ``mirror``, as far as they are to be written.
    """

    paths: Mapping[int, Sequence[Mapping[str, float]]] = field(default_factory=dict)
    kept: Mapping[int, int] = field(default_factory=dict)
    ring: Mapping[str, Any] = field(default_factory=dict)


def spliced(raw: bytes, found: FoundPaths, base: Path, folder: Path, digits: int = DIGITS) -> bytes:
    """The copy.

    Parameters
    ----------
    raw : the file as it is; it reads without problems.
    base, folder : where it stands and where the copy will: relative file names are led from there.
    digits : of the numbers found.

    Raises
    ------
    ParameterError : the file is written in a form that cannot be edited safely.
    """
    text = document.decode(raw)
    copy = _Copy(text, digits)
    for number, steps in found.paths.items():
        copy.path(number, steps, found.kept.get(number))
    copy.ring(found.ring)
    copy.files(base, folder)
    made = copy.text()
    try:
        same = document.read(made).data == copy.meant
    except document.Refused:
        same = False
    if not same:
        raise ParameterError(
            "the paths cannot be written into this file as it is formatted: write each path as 'N: auto' on a line "
            "of its own, or take the paths from --format json"
        )
    return (BOM if raw.startswith(BOM) else b"") + made.encode()


def number(value: float, digits: int = DIGITS) -> str:
    """A number as it is written: no more digits than are needed."""
    text = f"{value:.{digits}f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def flow(value: object) -> str:
    """A plain value on one line."""
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{flow(k)}: {flow(v)}" for k, v in value.items()) + "}"
    if isinstance(value, list | tuple):
        return "[" + ", ".join(flow(v) for v in value) + "]"
    if (
        isinstance(value, str)
        and re.fullmatch(r"[A-Za-z][\w ]*\w|[A-Za-z]", value)
        and document.scalar(value) == value
    ):
        return value
    return json.dumps(value, ensure_ascii=False)


def _step(element: Mapping[str, float], digits: int) -> str:
    written = (f"{k}: {number(v, _CLR_DIGITS if k == 'clr' else digits)}" for k, v in element.items())
    return "{" + ", ".join(written) + "}"


class _Copy:
    """Edits of one text, and the plain values that the copy is to hold."""

    def __init__(self, text: str, digits: int) -> None:
        self.source, self.digits = text, digits
        self.root = tree(text)
        self.meant: Any = self.root.value
        self.edits: dict[tuple[int, int], str] = {}
        self.newline = "\r\n" if "\r\n" in text else "\n" if "\n" in text or "\r" not in text else "\r"

    def text(self) -> str:
        """The edited text; aliases whose anchor has gone are written out."""
        for node in _all(self.root):
            if node.of is not None and self._edited(node.of.start) and not self._edited(node.start):
                self.edits[node.start, node.end] = flow(node.value)
        out, at = [], 0
        for (start, end), new in sorted(self.edits.items()):
            out += [self.source[at:start], new]
            at = max(at, end)
        return "".join([*out, self.source[at:]])

    def _edited(self, at: int) -> bool:
        return any(start <= at < end for start, end in self.edits)

    def find(self, *keys: Key) -> tuple[Node, tuple[Key, ...]] | None:
        """The value at `keys` and its keys as written (a list with one entry is read as that entry)."""
        node = self.root
        place: tuple[Key, ...] = ()
        for key in keys:
            inner = node.target
            if inner.kind == "list" and isinstance(key, str):
                node, place = inner.children[0], (*place, 0)
                inner = node.target
            found = next((k for k in inner.children if k == key or str(k) == str(key)), None)
            if found is None:
                return None
            node, place = inner.children[found], (*place, found)
        return node, place

    def mean(self, place: tuple[Key, ...], value: object) -> None:
        """The copy is to hold `value` there."""
        block = self.meant
        for key in place[:-1]:
            block = block[key]
        block[place[-1]] = value

    def path(self, cylinder: int, steps: Sequence[Mapping[str, float]], kept: int | None) -> None:
        """One runner's path written out."""
        found = self.find("runners", "paths", cylinder)
        if found is None:
            return
        node, place = found
        if node.kind == "mapping":
            node, place = node.children["path"], (*place, "path")
        lines = [_step(s, self.digits) for s in steps]
        items = list(node.children.values())
        if (
            kept is not None
            and node.kind == "list"
            and len(lines) > len(items) - 1
            and self._end(items, lines, kept)
        ):
            old = node.value[:kept]
            lines = lines[kept:]
        else:
            old = []
            self._whole(node, lines)
        self.mean(place, [*old, *(document.read(line).data for line in lines)])

    def _end(self, items: list[Node], lines: list[str], kept: int) -> bool:
        """``close`` replaced by what was found, and the straight before it where it grew; False where it cannot be."""
        close, before = items[-1], len(items) - 1
        dash = self._dash(close)
        if not before - 1 <= kept <= before or (dash is None and not close.inside_flow):
            return False
        between = ", " if dash is None else f"{self.newline}{' ' * dash}- "
        if kept < before:
            self.edits[items[kept].start, items[kept].end] = lines[kept]
        self.edits[close.start, close.end] = between.join(lines[before:])
        return True

    def _dash(self, item: Node) -> int | None:
        """The column of the dash before an item of a block list."""
        if item.inside_flow:
            return None
        dash = re.fullmatch(r"([ \t]*)-[ \t]+", self.source[self._line(item.start) : item.start])
        return len(dash[1]) if dash else None

    def _whole(self, node: Node, lines: list[str]) -> None:
        """A whole path replaced, in brackets where it stands in braces, else as a block below its key."""
        if node.inside_flow or node.flow:
            self.edits[node.start, node.end] = f"[{', '.join(lines)}]"
            return
        if self.source[node.start] == "-" and node.kind == "list":
            between = f"{self.newline}{' ' * self._column(node.start)}"
            self.edits[node.start, node.end] = between.join(f"- {line}" for line in lines)
            return
        column = self._column(node.key if node.key is not None else node.start) + 2
        block = "".join(f"{self.newline}{' ' * column}- {line}" for line in lines)
        eol = self._eol(node.end)
        start = node.start
        while (node.end == eol or node.kind == "list") and self.source[start - 1] in " \t":
            start -= 1
        if node.kind == "list":
            self.edits[start, node.end] = block
        else:
            self.edits[start, node.end] = ""
            self.edits[eol, eol] = block

    def ring(self, ring: Mapping[str, Any]) -> None:
        """Keys of the collector replaced, or added where they are missing."""
        found = self.find("collector")
        if found is None or not ring:
            return
        node, place = found[0].target, found[1]
        if node.kind == "list":
            node, place = node.children[0].target, (*place, 0)
        missing = []
        for key, value in ring.items():
            written = number(value, self.digits) if isinstance(value, float) else flow(value)
            self.mean((*place, key), float(written) if isinstance(value, float) else value)
            if key in node.children:
                self.edits[node.children[key].start, node.children[key].end] = written
            else:
                missing.append(f"{key}: {written}")
        after = next((node.children[key] for key in _AFTER if key in node.children), None)
        if missing and after is not None and after.key is not None:
            if node.flow:
                at, between = after.end, ", "
            else:
                at, between = self._eol(after.end), self.newline + " " * self._column(after.key)
            self.edits[at, at] = "".join(between + line for line in missing)

    def files(self, base: Path, folder: Path) -> None:
        """Names of files led from the copy's folder."""
        for keys in _named_files(self.meant):
            found = self.find(*keys)
            if found is None or not isinstance(found[0].value, str):
                continue
            node, place = found
            name = rebased(node.value, base, folder)
            if name != node.value:
                quote = node.target.quote
                self.edits[node.start, node.end] = (
                    "'" + name.replace("'", "''") + "'"
                    if quote == "'"
                    else (json.dumps(name, ensure_ascii=False) if quote else _plain(name))
                )
                self.mean(place, name)

    def _line(self, at: int) -> int:
        """Where the line begins that holds `at`."""
        return max(self.source.rfind("\n", 0, at), self.source.rfind("\r", 0, at)) + 1

    def _column(self, at: int) -> int:
        return at - self._line(at)

    def _eol(self, at: int) -> int:
        """Where the line ends that holds `at`, before its line end."""
        found = re.compile(r"[\r\n]").search(self.source, at)
        return found.start() if found else len(self.source)


def _plain(name: str) -> str:
    plain = re.fullmatch(r"[\w./][\w./ +-]*[\w./+-]|\w", name) and document.scalar(name) == name
    return name if plain else json.dumps(name, ensure_ascii=False)


def _all(node: Node) -> Iterator[Node]:
    yield node
    for child in node.children.values():
        yield from _all(child)


def _named_files(data: Mapping[str, Any]) -> Iterator[tuple[Key, ...]]:
    """Keys under which a job names files."""
    yield ("shop",)
    for block in (("head_flange",), ("turbo", "flange"), ("wastegate", "flange")):
        for drawing in ("outline", "ports", "studs", "bolts"):
            yield (*block, drawing, "dxf")
    turbo = data.get("turbo")
    for block, held in (
        (("obstacles",), data),
        (("turbo", "body"), turbo if isinstance(turbo, Mapping) else {}),
    ):
        for i in range(len(held.get(block[-1]) or ())):
            yield (*block, i, "mesh")
