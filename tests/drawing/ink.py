"""What stands on a printed page, as a program that is not ours reads it: lines of letters and strokes, mm.

In the order they are laid down, from the lower left corner; what a window cuts away is not there.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

import numpy as np
from pdfminer.converter import PDFPageAggregator
from pdfminer.layout import LTChar, LTCurve
from pdfminer.pdfdocument import PDFDocument
from pdfminer.pdfinterp import PDFPageInterpreter, PDFResourceManager
from pdfminer.pdfpage import PDFPage
from pdfminer.pdfparser import PDFParser

MM = 25.4 / 72
CAPITAL, DESCENT = (
    0.73,
    0.17,
)  # of the face's height, as measured on its letters; small letters below the line
_BELOW = frozenset("gjpqyQ,;()[]/|_")
_STEPS = np.linspace(0.0, 1.0, 9)[:, None]

Box = tuple[float, float, float, float]  # left, low, right, high


@dataclass(frozen=True)
class Line:
    """A line of letters.  at : its start on the baseline.  turn : degrees.  order : when it was laid down.

    window : what it is seen through.
    """

    text: str
    window: Box
    at: tuple[float, float]
    width: float
    size: float
    turn: float
    order: int

    @cached_property
    def corners(self) -> np.ndarray:
        """Of the letters' box, (4, 2), anticlockwise from the lower left."""
        low = -DESCENT * self.size if _BELOW & set(self.text) else 0.0
        u, v = np.array(
            [[0, low], [self.width, low], [self.width, CAPITAL * self.size], [0, CAPITAL * self.size]]
        ).T
        c, s = math.cos(math.radians(self.turn)), math.sin(math.radians(self.turn))
        return np.column_stack([self.at[0] + c * u - s * v, self.at[1] + s * u + c * v])

    @property
    def box(self) -> Box:
        """Upright box round it."""
        return bounds(self.corners)


@dataclass(frozen=True)
class Stroke:
    """A path.  points : (n, 2).  window : what of it is seen.  width : of the pen, 0 where it has none."""

    points: np.ndarray
    window: Box
    width: float
    grey: float
    filled: bool
    dashed: bool
    order: int

    @cached_property
    def box(self) -> Box:
        """Upright box round what is seen of it."""
        (a, b, c, d), (left, low, right, high) = bounds(self.points), self.window
        return max(a, left), max(b, low), min(c, right), min(d, high)


@dataclass(frozen=True)
class Page:
    """One page.  size : mm."""

    number: int
    size: tuple[float, float]
    lines: tuple[Line, ...]
    strokes: tuple[Stroke, ...]

    @property
    def text(self) -> str:
        """All its words."""
        return " ".join(line.text for line in self.lines)


def pages(pdf: Path) -> tuple[Page, ...]:
    """Every page of a PDF."""
    with pdf.open("rb") as file:
        manager = PDFResourceManager()
        device = _Seen(manager)
        reader = _Clipping(manager, device)
        made = []
        for number, page in enumerate(PDFPage.create_pages(PDFDocument(PDFParser(file))), start=1):
            reader.process_page(page)
            found = device.get_result()
            whole = (0.0, 0.0, found.width * MM, found.height * MM)
            objects = [(o, getattr(o, "clip", None) or whole) for o in found]
            made.append(Page(number, whole[2:], tuple(_lines(objects)), tuple(_strokes(objects))))
        return tuple(made)


def bounds(points: np.ndarray) -> Box:
    """Upright box round points."""
    (left, low), (right, high) = points.min(axis=0), points.max(axis=0)
    return float(left), float(low), float(right), float(high)


def within(inner: Box, outer: Box, spare: float = 0.0) -> bool:
    """Whether a box lies in another, `spare` mm over its edge allowed."""
    return all(a >= b - spare for a, b in zip(inner[:2], outer[:2], strict=True)) and all(
        a <= b + spare for a, b in zip(inner[2:], outer[2:], strict=True)
    )


def apart(a: Box, b: Box) -> bool:
    """Whether two boxes have nothing in common."""
    return a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]


class _Seen(PDFPageAggregator):
    """Keeps with every item the window it is seen through."""

    clip: Box | None = None

    def begin_page(self, page: object, ctm: object) -> None:
        self.clip = None
        super().begin_page(page, ctm)

    def paint_path(self, *args: object) -> None:
        before = len(self.cur_item)
        super().paint_path(*args)
        self._mark(before)

    def render_char(self, matrix: object, font: object, fontsize: float, *more: object) -> float:
        before = len(self.cur_item)
        advance = super().render_char(matrix, font, fontsize, *more)
        self._mark(before)
        self.cur_item._objs[-1].high = fontsize
        return advance

    def _mark(self, before: int) -> None:
        for item in self.cur_item._objs[before:]:
            item.clip = self.clip


class _Clipping(PDFPageInterpreter):
    """Heeds the windows that pdfminer reads over."""

    def init_state(self, ctm: object) -> None:
        super().init_state(ctm)
        self.windows: list[Box | None] = []

    def do_q(self) -> None:
        super().do_q()
        self.windows.append(self.device.clip)

    def do_Q(self) -> None:  # noqa: N802 - the operator's name
        super().do_Q()
        if self.windows:
            self.device.clip = self.windows.pop()

    def do_W(self) -> None:  # noqa: N802
        a, b, c, d, e, f = self.ctm
        places = [p for _, *numbers in self.curpath for p in zip(numbers[::2], numbers[1::2], strict=True)]
        self.device.clip = bounds(np.array([(a * x + c * y + e, b * x + d * y + f) for x, y in places]) * MM)

    def do_W_a(self) -> None:  # noqa: N802
        self.do_W()


def _lines(objects: Iterable[tuple[object, Box]]) -> Iterator[Line]:
    """Letters that follow one another, joined."""
    held: list[tuple[LTChar, Box, int]] = []
    for order, (item, clip) in enumerate(objects):
        if isinstance(item, LTChar):
            if held and not _follows(held[-1][0], item):
                yield from _joined(held)
                held = []
            held.append((item, clip, order))
        else:
            yield from _joined(held)
            held = []
    yield from _joined(held)


def _follows(a: LTChar, b: LTChar) -> bool:
    ca, sa, _, _, ea, fa = a.matrix
    cb, sb, _, _, eb, fb = b.matrix
    return (
        math.dist((ca, sa), (cb, sb)) < 1e-4
        and math.dist((ea + a.adv * ca, fa + a.adv * sa), (eb, fb)) < 0.02
    )


def _joined(held: list[tuple[LTChar, Box, int]]) -> Iterator[Line]:
    if not held:
        return
    first, clip, order = held[0]
    c, s, _, _, x, y = first.matrix
    scale = math.hypot(c, s)
    line = Line(
        "".join(item.get_text() for item, _, _ in held), clip, (x * MM, y * MM), sum(i.adv for i, _, _ in held) * scale * MM,
        first.high * scale * MM, math.degrees(math.atan2(s, c)), order,
    )  # fmt: skip
    if line.text.strip() and not apart(line.box, clip):
        yield line


def _strokes(objects: Iterable[tuple[object, Box]]) -> Iterator[Stroke]:
    for order, (item, clip) in enumerate(objects):
        if isinstance(item, LTCurve):
            points = np.vstack([np.array(part) for part in _walked(item)]) * MM
            width = item.linewidth * MM if item.stroke else 0.0
            made = Stroke(points, clip, width, _level(item.stroking_color), bool(item.fill), bool(item.dashing_style and item.dashing_style[0]), order)  # fmt: skip
            if not apart(bounds(points), clip):
                yield made


def _level(colour: object) -> float:
    return float(colour[0] if isinstance(colour, tuple | list) else colour or 0.0)


def _walked(item: LTCurve) -> Iterator[np.ndarray]:
    """The path's corners; a curve in steps."""
    here = start = np.zeros(2)
    for kind, *places in item.original_path:
        corners = [np.array(p, dtype=float) for p in places]
        if kind == "m":
            here = start = corners[0]
            yield here[None]
        elif kind == "l":
            here = corners[0]
            yield here[None]
        elif kind == "c":
            p, q, r = corners
            t = _STEPS[1:]
            yield (1 - t) ** 3 * here + 3 * (1 - t) ** 2 * t * p + 3 * (1 - t) * t**2 * q + t**3 * r
            here = r
        elif kind == "h":
            yield start[None]
