"""What the paper's letters are: two embedded faces, which signs they have, how wide a line runs.

The faces come with reportlab's own package, so every machine draws the same letters. A sign that they lack
is replaced here and nowhere else: an arrow by ``->``, an accented letter by its plain one, the rest by ``?``.
"""

from __future__ import annotations

import math
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

CAPITAL = 1493 / 2048  # capitals' height in heights of the face, as drawn in both faces
DESCENT = 0.33  # below the baseline, in heights of the capitals
LEADING = 1.75  # baseline to baseline, in heights of the capitals
SMALLEST = 1.85  # mm, capitals of 7 pt and a little more: smaller is not read at the bench
LONGEST = 2000  # letters of a line that are looked at; no paper holds more
_WORD = 300  # letters of a word that may stand in one line
UNKNOWN = "?"
HAIR = 1e-6  # mm: a word exactly as wide as its room fits

PLAIN_FACE, BOLD_FACE = "ManifoldgenSans", "ManifoldgenSansBold"
_FILES = {PLAIN_FACE: "Vera.ttf", BOLD_FACE: "VeraBd.ttf"}
_INSTEAD = {
    "→": "->", "←": "<-", "↑": "^", "↓": "v", "⌀": "ø", "∅": "ø", "∠": "angle ", "✓": "x", "✔": "x", "☐": "[ ]",
    "☑": "[x]", "′": "'", "″": '"', "‑": "-", "‒": "–", "―": "—", "≈": "~", "ł": "l", "Ł": "L", "đ": "d", "Đ": "D",
    "ı": "i", "α": "alpha", "β": "beta", "γ": "gamma", "δ": "delta", "φ": "phi", "ψ": "psi", "π": "pi", "Σ": "sum",
}  # fmt: skip


@dataclass(frozen=True)
class Face:
    """A registered face.  signs : the code points it draws.  font : reportlab's own object."""

    name: str
    signs: frozenset[int]
    font: Any

    def width(self, text: str, size: float) -> float:
        """Width of a text of drawable signs, mm; size : height of the capitals, mm."""
        return float(self.font.stringWidth(text, size / CAPITAL))


def face(*, bold: bool = False) -> Face:
    """The plain or the bold face, registered with reportlab."""
    return _faces()[1 if bold else 0]


def clean(text: str) -> str:
    """One line of visible signs: controls and marks of writing direction gone, every gap one blank."""
    return _visible(text[: 4 * LONGEST])


def drawable(text: str) -> str:
    """One line of text in signs that both faces have."""
    return _drawn(clean(text)[:LONGEST])


def text_width(text: str, size: float, bold: bool = False) -> float:  # noqa: FBT001, FBT002 - as drawn: text, size, bold
    """Width of one line as the PDF draws it, mm.  size : height of the capitals, mm."""
    return face(bold=bold).width(drawable(text), size)


def fitting(
    text: str, size: float, width: float, *, bold: bool = False, most: int | None = None
) -> tuple[float, tuple[str, ...]]:
    """The text at the largest height of capitals up to `size` at which it is one line of `width` mm.

    Where that would be too small to read, at the smallest that can be read and in as many lines as it takes.
    most : lines there is room for; an absurdly long text gets smaller than can be read before it takes more.
    """
    line = drawable(text)
    whole = text_width(line, size, bold)
    if whole <= width:
        return size, (line,)
    least = min(SMALLEST, size)
    if whole * least <= width * size:
        return math.floor(100.0 * size * width / whole) / 100.0, (line,)
    lines = wrapped(line, least, width, bold=bold)
    while most is not None and len(lines) > most:
        least *= 0.9
        lines = wrapped(line, least, width, bold=bold)
    return least, lines


def wrapped(text: str, size: float, width: float, *, bold: bool = False) -> tuple[str, ...]:
    """The text in lines of at most `width` mm, broken at blanks; a longer word is broken where it must be."""
    lines: list[str] = []
    line = ""
    width += HAIR
    for word in _parts(_drawn(_visible(text))):
        longer = f"{line} {word}" if line else word
        if text_width(longer, size, bold) <= width:
            line = longer
            continue
        if line:
            lines.append(line)
        line = word
        while text_width(line, size, bold) > width and len(line) > 1:
            head = _head(line, size, width, bold=bold)
            lines.append(line[:head])
            line = line[head:]
    return (*lines, line) if line or not lines else tuple(lines)


def _parts(text: str) -> Iterator[str]:
    """The words of a text; one that no line holds in pieces that can be measured."""
    for word in text.split():
        yield from (word[k : k + _WORD] for k in range(0, len(word), _WORD))


def _visible(text: str) -> str:
    line = "".join(" " if c.isspace() else c for c in text)
    return "".join(c for c in line if unicodedata.category(c) not in {"Cc", "Cf", "Cs", "Co", "Cn"})


def _drawn(text: str) -> str:
    signs = _both()
    return "".join(c if ord(c) in signs else _instead(c, signs) for c in text)


def _head(word: str, size: float, width: float, *, bold: bool) -> int:
    """Letters of a word that fit, at least one; up to its last hyphen, if that fits."""
    count = 1
    while count < len(word) and text_width(word[: count + 1], size, bold) <= width:
        count += 1
    return word.rfind("-", 0, count) + 1 or count


def _instead(sign: str, signs: frozenset[int]) -> str:
    if sign in _INSTEAD:
        return _INSTEAD[sign]
    plain = "".join(c for c in unicodedata.normalize("NFKD", sign) if not unicodedata.combining(c))
    if unicodedata.combining(sign):
        return ""
    return plain if plain and all(ord(c) in signs for c in plain) else UNKNOWN


@cache
def _both() -> frozenset[int]:
    plain, bold = _faces()
    return plain.signs & bold.signs


@cache
def _faces() -> tuple[Face, Face]:
    import reportlab
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    folder = Path(reportlab.__file__).parent / "fonts"
    made = []
    for name, file in _FILES.items():
        font = TTFont(name, str(folder / file))
        pdfmetrics.registerFont(font)
        made.append(Face(name, frozenset(font.face.charToGlyph), font))
    return made[0], made[1]
