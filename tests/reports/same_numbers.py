"""The numbers that a page shows beside the report's keys, for comparing files of one build with each other."""

from __future__ import annotations

import re
from html.parser import HTMLParser
from typing import Any


class _Keyed(HTMLParser):
    """Collects the text of every element that names a report key."""

    def __init__(self) -> None:
        super().__init__()
        self.found: dict[str, set[str]] = {}
        self._open: list[tuple[str, str]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        key = dict(attrs).get("data-key")
        if key:
            self._open.append((tag, key))

    def handle_endtag(self, tag: str) -> None:
        if self._open and self._open[-1][0] == tag:
            self._open.pop()

    def handle_data(self, data: str) -> None:
        if self._open and data.strip():
            self.found.setdefault(self._open[-1][1], set()).add(data.strip())


def on_page(html: str) -> dict[str, set[str]]:
    """Texts by report key, as they stand on a page."""
    parser = _Keyed()
    parser.feed(html)
    return parser.found


def in_report(content: dict[str, Any], key: str) -> float:
    """The number behind a key, walked to by hand."""
    found: Any = content
    for step in key.split("."):
        found = found[int(step)] if isinstance(found, list) else found[step]
    return found


def number_of(text: str) -> float:
    """The first number in a text."""
    return float(re.search(r"-?\d+(?:\.\d+)?", text)[0])
