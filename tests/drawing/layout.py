"""What is wrong with a printed page to the eye: words cut off, over the edge, over each other, struck through."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

import numpy as np

from tests.drawing.ink import Line, Page, Stroke, apart, within

MARGIN = 10.0  # mm
_NEAR = 0.15  # mm that letters may come into each other's boxes, or a stroke into them
_HEAD, _FOOT = 15.0, 11.0  # mm, the strips of a framed sheet inside its margins
_TILED = 22.0  # mm, the foot strip of a full-size sheet


def faults(page: Page) -> Iterator[str]:
    """A sentence each."""
    yield from (f"'{line.text}' is cut off" for line in page.lines if "…" in line.text)
    wide, high = page.size
    frame = (MARGIN, MARGIN, wide - MARGIN, high - MARGIN)
    yield from (
        f"'{line.text}' runs over the margin" for line in page.lines if not within(line.box, frame, 0.3)
    )
    yield from (
        f"'{line.text}' is cut at the sheet's edge"
        for line in page.lines
        if not within(line.box, line.window)
    )
    yield from (
        f"'{a.text}' stands on '{b.text}'" for a, b in _pairs(page.lines) if overlap(a.corners, b.corners)
    )
    for line in page.lines:
        for stroke in page.strokes:
            if (
                stroke.width
                and stroke.grey < 0.95
                and crosses(stroke, line)
                and not _covered(page, stroke, line)
            ):
                yield f"'{line.text}' is struck through"
                break


def used(page: Page) -> float:
    """The share of the height between head and foot that something stands in."""
    tiled = any(line.text.startswith(("part ", "all of it")) for line in page.lines)
    low = MARGIN + (_TILED if tiled else _FOOT)
    high = page.size[1] - MARGIN - (0.0 if tiled else _HEAD)
    boxes = [
        b
        for b in (item.box for item in (*page.lines, *page.strokes))
        if b[3] < high + 0.5 and b[1] > low - 0.5
    ]
    spans = sorted((max(b[1], low), min(b[3], high)) for b in boxes if b[3] - b[1] < high - low - 2.0)
    return (high - min((a for a, _ in spans), default=high)) / (high - low)


def overlap(a: np.ndarray, b: np.ndarray) -> bool:
    """Whether two boxes, turned or not, share more than a hair."""
    for corners in (a, b):
        for edge in np.diff(corners[:3], axis=0):
            across = np.array([-edge[1], edge[0]]) / (np.hypot(*edge) or 1.0)
            p, q = a @ across, b @ across
            if min(p.max(), q.max()) - max(p.min(), q.min()) < _NEAR:
                return False
    return True


def crosses(stroke: Stroke, line: Line) -> bool:
    """Whether ink of a stroke lies within a line's box, but for a hair along its edge."""
    a, b = stroke.box, line.box
    half = stroke.width / 2
    if apart((a[0] - half, a[1] - half, a[2] + half, a[3] + half), b):
        return False
    origin = line.corners[0]
    along, up = line.corners[1] - origin, line.corners[3] - origin
    wide, high = np.hypot(*along), np.hypot(*up)
    if wide < 2 * _NEAR:
        return False
    turned = (stroke.points - origin) @ np.column_stack([along / wide, up / high])
    inset = np.array([_NEAR, _NEAR]) - half
    return any(_meets(p, q, inset, np.array([wide, high]) - inset) for p, q in pairwise(turned))


def _meets(p: np.ndarray, q: np.ndarray, low: np.ndarray, high: np.ndarray) -> bool:
    """Whether a straight line runs through an upright box (clipped at its sides, one after the other)."""
    first, last = 0.0, 1.0
    for k in range(2):
        step = q[k] - p[k]
        if abs(step) < 1e-9:
            if not low[k] < p[k] < high[k]:
                return False
            continue
        a, b = sorted(((low[k] - p[k]) / step, (high[k] - p[k]) / step))
        first, last = max(first, a), min(last, b)
    return first < last


def _covered(page: Page, stroke: Stroke, line: Line) -> bool:
    """Whether something opaque lies between a stroke and the letters above it."""
    return any(
        stroke.order < other.order < line.order and other.filled and within(line.box, other.box, 0.2)
        for other in page.strokes
    )


def _pairs(lines: tuple[Line, ...]) -> Iterator[tuple[Line, Line]]:
    """Lines whose upright boxes meet."""
    ordered = sorted(lines, key=lambda line: line.box[0])
    for k, a in enumerate(ordered):
        for b in ordered[k + 1 :]:
            if b.box[0] > a.box[2]:
                break
            if not apart(a.box, b.box):
                yield a, b
