"""What the terminal can show, and writing to it: results on stdout, everything else on stderr.

A character that the terminal's encoding lacks (a Windows console of the cp1252 kind, LANG=C) is replaced by
its nearest plain spelling, so that a sentence never ends in an error. A reader that goes away (`| head`)
ends the output quietly.
"""

from __future__ import annotations

import codecs
import os
import sys
from io import StringIO, TextIOWrapper
from typing import TYPE_CHECKING, TextIO

if TYPE_CHECKING:
    from rich.console import RenderableType

_PLAIN = {
    "→": "->", "←": "<-", "≤": "<=", "≥": ">=", "×": "x", "·": ".", "…": "...", "–": "-", "—": "-", "−": "-",
    "°": " deg", "±": "+-", "²": "2", "³": "3", "Ø": "dia ", "√": "sqrt", "π": "pi", "“": '"', "”": '"',
    "‘": "'", "’": "'", "✓": "ok", "•": "-", "✕": "x", "▲": "!",
}  # fmt: skip
WIDTH = 100  # columns where the output is no terminal


def prepare() -> None:
    """Let both streams write every character, in plain spelling where they must."""
    codecs.register_error("plain", _spell)
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, TextIOWrapper):
            stream.reconfigure(errors="plain")


def _spell(error: UnicodeError) -> tuple[str, int]:
    if not isinstance(error, UnicodeEncodeError):
        raise error
    lost = error.object[error.start : error.end]
    return "".join(_PLAIN.get(c, "?") for c in lost), error.end


def emit(text: str) -> None:
    """Write a result to stdout."""
    _write(sys.stdout, text if text.endswith("\n") else text + "\n")


def say(text: str) -> None:
    """Write progress, a timing or a failure to stderr."""
    _write(sys.stderr, text + "\n")


def _write(out: TextIO, text: str) -> None:
    try:
        out.write(text)
        out.flush()
    except BrokenPipeError:
        # nobody reads any more: point the stream at nothing, or Python complains once more at its end
        os.dup2(os.open(os.devnull, os.O_WRONLY), out.fileno())


def width() -> int:
    """Columns of the terminal, or what is taken where there is none."""
    try:
        return os.get_terminal_size(sys.stdout.fileno()).columns or WIDTH
    except (OSError, ValueError, AttributeError):
        return WIDTH


def wrapped(text: str, indent: str, first: str = "", *, least: int = 30) -> list[str]:
    """A sentence in lines as wide as the terminal: the first after `first`, the others after `indent`.

    least : columns that are left for the words, however narrow the terminal is.
    """
    import textwrap

    most = max(width(), len(indent) + least)
    return textwrap.wrap(text, most, initial_indent=first, subsequent_indent=indent, break_on_hyphens=False)


def rendered(*parts: RenderableType, stream: TextIO | None = None) -> str:
    """Render tables and styled text for a stream: colour only on a terminal, ASCII lines where it needs them.

    stream : where the text will go; stdout if None.
    """
    from rich.console import Console

    stream = stream or sys.stdout
    terminal = stream.isatty()
    buffer = _Buffer(stream.encoding or "ascii")
    console = Console(
        file=buffer,
        force_terminal=terminal,
        no_color=bool(os.environ.get("NO_COLOR")) or not terminal,
        width=None if terminal else WIDTH,
        highlight=False,
        emoji=False,
        markup=False,
    )
    for part in parts:
        console.print(part)
    return "\n".join(line.rstrip() for line in buffer.getvalue().splitlines()) + "\n"


class _Buffer(StringIO):
    """Text that names the encoding of the stream it will go to: rich picks its lines by it."""

    encoding = "ascii"

    def __init__(self, encoding: str) -> None:
        super().__init__()
        self.encoding = encoding
