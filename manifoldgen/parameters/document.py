"""A YAML text as plain values with the place of every key and value; no recursion, no surprises.

YAML 1.2 core rules for plain scalars: ``no`` and ``on`` are words, ``1e3`` is a number, ``010`` is 10, ``1:30``
is text. Tags, duplicate keys, several documents and texts that unfold without end are refused.
"""

from __future__ import annotations

import math
import re
from collections.abc import Hashable
from dataclasses import dataclass, field
from typing import Any

import yaml

from manifoldgen.errors import Where

MOST_BYTES = 400_000
MOST_DEPTH = 40
MOST_VALUES = 50_000

Keys = tuple[str | int, ...]

_WORDS: dict[str, object] = {
    **dict.fromkeys(("", "~", "null", "Null", "NULL"), None),
    **dict.fromkeys(("true", "True", "TRUE"), True),
    **dict.fromkeys(("false", "False", "FALSE"), False),
    **dict.fromkeys((".nan", ".NaN", ".NAN"), math.nan),
    **{
        sign + inf: math.copysign(math.inf, -(sign == "-") or 1)
        for sign in ("", "+", "-")
        for inf in (".inf", ".Inf", ".INF")
    },
}
_INT = re.compile(r"[-+]?[0-9]+")
_BASED = re.compile(r"0o[0-7]+|0x[0-9a-fA-F]+")
_FLOAT = re.compile(r"[-+]?(\.[0-9]+|[0-9]+(\.[0-9]*)?)([eE][-+]?[0-9]+)?")
_PLAIN = {
    "mapping values are not allowed": "this ':' does not fit: indent the line right, or put the text in quotes",
    "expected <block end>": "this line does not fit the lines above: check its indentation",
    "expected ',' or '}'": "a ',' or '}' is missing before this",
    "expected ',' or ']'": "a ',' or ']' is missing before this",
    "that cannot start any token": "this character cannot stand here: indent with spaces, put text in quotes",
    "could not find expected ':'": "a ':' is missing before this",
    "unexpected end of stream": "a quote is opened and not closed before the end of the file",
    "expected the node content": "a value is missing before this",
    "expected '<document start>'": "the job ended before this: check the indentation",
}
_LONGEST_INT = 300  # digits; more is no number anyone means


class Refused(Exception):  # noqa: N818 - carries one problem to the loader
    """The text cannot be read on: a sentence and its place."""

    def __init__(self, sentence: str, line: int, column: int) -> None:
        super().__init__(sentence)
        self.sentence = sentence
        self.where = Where(line, column)


@dataclass
class Document:
    """Plain values (`data`), the places of values and of keys, and problems found while reading."""

    data: Any = None
    values: dict[Keys, Where] = field(default_factory=dict)
    keys: dict[Keys, Where] = field(default_factory=dict)
    problems: list[tuple[Keys, Where, str]] = field(default_factory=list)


def decode(raw: bytes) -> str:
    """The bytes of a file as text; a byte order mark is dropped."""
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        start = error.start + (3 if raw.startswith(b"\xef\xbb\xbf") else 0)
        before = raw[:start].decode("utf-8-sig", "replace")
        line, column = _place(before)
        raise Refused(
            f"the byte 0x{raw[start]:02x} is not UTF-8 text: save the file as UTF-8", line, column
        ) from None


def _place(before: str) -> tuple[int, int]:
    """Line and column of what follows the text `before`."""
    lines = re.split(r"\r\n|\r|\n", before)
    return len(lines), len(lines[-1]) + 1


def scalar(text: str) -> object:
    """A plain scalar by the core rules of YAML 1.2 (specification 1.2.2, section 10.3.2)."""
    if text in _WORDS:
        return _WORDS[text]
    if _INT.fullmatch(text):
        return int(text) if len(text) <= _LONGEST_INT else math.inf
    if _BASED.fullmatch(text):
        return int(text[2:], 8 if text[1] == "o" else 16)
    return float(text) if _FLOAT.fullmatch(text) else text


def read(text: str) -> Document:
    """The one document in `text`; Refused where it cannot be read at all."""
    if len(text) > MOST_BYTES:
        raise Refused(f"the file is too large ({len(text)} characters, at most {MOST_BYTES})", 1, 1)
    reader = _Reader()
    try:
        for event in yaml.parse(text, Loader=yaml.SafeLoader):
            reader.take(event)
    except yaml.reader.ReaderError as error:
        line, column = _place(text[: error.position])
        raise Refused(
            f"the character {_code(error.character)} cannot stand in a YAML file: remove it", line, column
        ) from None
    except yaml.MarkedYAMLError as error:
        mark = error.problem_mark or error.context_mark
        line, column = (mark.line + 1, mark.column + 1) if mark else (1, 1)
        raise Refused(_told(error, text), *_inside(text, line, column)) from None
    if reader.document.data is None:
        raise Refused("the file is empty: see 'manifoldgen init' for a start", 1, 1)
    return reader.document


def _told(error: yaml.MarkedYAMLError, text: str) -> str:
    """A parser's complaint in plain words."""
    mark, problem = error.problem_mark, str(error.problem or error.context)
    if mark and "cannot start any token" in problem and text[mark.index : mark.index + 1] == "\t":
        return "a tab stands here: indent with spaces"
    return next((told for part, told in _PLAIN.items() if part in problem), f"this is not YAML: {problem}")


def _code(character: object) -> str:
    return f"U+{character if isinstance(character, int) else ord(str(character)[:1] or '?'):04X}"


def _inside(text: str, line: int, column: int) -> tuple[int, int]:
    """The place itself, or the end of the text where it lies beyond."""
    lines = re.split(r"\r\n|\r|\n|\x85|\u2028|\u2029", text)
    while len(lines) > 1 and not lines[-1]:
        lines.pop()
    line = min(line, len(lines))
    return line, min(column, len(lines[line - 1]) + 1)


@dataclass
class _Open:
    """A mapping or list that is still being filled."""

    value: dict[Hashable, Any] | list[Any]
    keys: Keys
    anchor: str | None
    first: int  # how many values there were before it
    key: str | int | None = None
    key_where: Where | None = None
    twice: bool = False


class _Reader:
    """Fills a Document from parser events."""

    def __init__(self) -> None:
        self.document = Document()
        self.stack: list[_Open] = []
        self.anchors: dict[str, tuple[Any, int]] = {}
        self.count = 0
        self.documents = 0

    def take(self, event: yaml.Event) -> None:
        mark = event.start_mark
        where = Where(mark.line + 1, mark.column + 1) if mark else Where(1, 1)
        if isinstance(event, yaml.DocumentStartEvent):
            self.documents += 1
            if self.documents > 1:
                raise Refused(
                    "a second document begins here: one file holds one job", where.line, where.column
                )
        elif isinstance(event, yaml.AliasEvent):
            self._alias(event.anchor or "", where)
        elif isinstance(event, yaml.ScalarEvent):
            self._tag(event.tag, where)
            value = scalar(event.value) if event.implicit[0] and event.tag is None else event.value
            self._remember(event.anchor, value, 1)
            self._put(value, where)
        elif isinstance(event, yaml.MappingStartEvent | yaml.SequenceStartEvent):
            self._tag(event.tag, where)
            self._open({} if isinstance(event, yaml.MappingStartEvent) else [], event.anchor, where)
        elif isinstance(event, yaml.MappingEndEvent | yaml.SequenceEndEvent):
            done = self.stack.pop()
            self._remember(done.anchor, done.value, self.count - done.first)

    def _tag(self, tag: str | None, where: Where) -> None:
        if tag is not None:
            raise Refused(
                f"tags such as '{tag[:40]}' are not used here: write the plain value",
                where.line,
                where.column,
            )

    def _remember(self, anchor: str | None, value: object, size: int) -> None:
        if anchor is not None:
            self.anchors[anchor] = (value, size)

    def _alias(self, name: str, where: Where) -> None:
        if name not in self.anchors:
            raise Refused(f"'*{name}' refers to nothing that is complete before it", where.line, where.column)
        value, size = self.anchors[name]
        self.count += size - 1
        self._put(value, where)

    def _open(self, value: dict[Hashable, Any] | list[Any], anchor: str | None, where: Where) -> None:
        if len(self.stack) >= MOST_DEPTH:
            raise Refused(f"brackets or blocks stand more than {MOST_DEPTH} deep", where.line, where.column)
        first = self.count
        keys = self._put(value, where)
        self.stack.append(_Open(value, keys, anchor, first))

    def _put(self, value: object, where: Where) -> Keys:
        """Store a value where it belongs (or take it as the next key); its keys."""
        self.count += 1
        if self.count > MOST_VALUES:
            raise Refused(f"the file holds more than {MOST_VALUES} values", where.line, where.column)
        if not self.stack:
            self.document.data = value
            self.document.values[()] = where
            return ()
        top = self.stack[-1]
        if isinstance(top.value, list):
            keys: Keys = (*top.keys, len(top.value))
            top.value.append(value)
        elif top.key is None:
            self._key(top, value, where)
            return top.keys
        else:
            keys = (*top.keys, top.key)
            if not top.twice:
                top.value[top.key] = value
                self.document.keys[keys] = top.key_where or where
            top.key = None
            if top.twice:
                return keys
        self.document.values[keys] = where
        return keys

    def _key(self, top: _Open, value: object, where: Where) -> None:
        if isinstance(value, dict | list):
            raise Refused("a key is one word or number, not a list or a block", where.line, where.column)
        plain = isinstance(value, str) or (isinstance(value, int) and not isinstance(value, bool))
        top.key = value if plain else as_written(value)  # type: ignore[assignment]
        top.key_where = where
        top.twice = top.key in top.value
        if top.twice:
            problem = f"the key '{top.key}' stands here twice: keep one"
            self.document.problems.append(((*top.keys, str(top.key)), where, problem))


def as_written(value: object) -> str:
    """A plain value as a key is written: ``null``, ``true``, ``1.5``."""
    return {None: "null", True: "true", False: "false"}.get(value, str(value))  # type: ignore[call-overload,no-any-return]
