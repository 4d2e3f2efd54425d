"""Where a tube of the test-fit model is parted: square to its centreline, beside a joint or in a straight.

A split needs one constant curvature for the whole spigot on the side of its socket, and should have it on the other
side too. Straights are taken before bends; what lies between two splits must fit on the bed.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

import numpy as np

from manifoldgen.geometry.path import Arc, Path
from manifoldgen.geometry.vectors import Array, array
from manifoldgen.prints.skin import skin

SPIGOT = 14.0  # mm a spigot reaches into its socket
ROOT = 6.0  # mm of spigot bonded inside its own piece
CLEAR = 2.0  # mm between a spigot's end and anything that is not plain tube
SHORTEST = 26.0  # mm: least length of a piece between two splits
_STEP = 5.0  # mm between places that are tried
_NEAR = 1e-6
_RING, _AROUND = 8.0, 16  # mm between rings that stand for a tube, and their corners

Side = Literal["up", "down"]


@dataclass(frozen=True)
class Split:
    """One parting of a limb.

    limb : its name (``runner 2``).  s : arc length on the limb, mm.  mark : engraved on both sides.
    socket : the side whose bore takes the spigot, upstream or downstream.
    """

    limb: str
    s: float
    mark: str
    socket: Side


@dataclass(frozen=True)
class Place:
    """A place that could be parted, and what it costs: 0 straight on both sides, more beside bends."""

    s: float
    cost: float


def places(
    path: Path,
    socket: Side,
    low: float,
    high: float,
    closed: Sequence[tuple[float, float]] = (),
) -> tuple[Place, ...]:
    """All places between `low` and `high`, mm, that take a spigot.

    closed : stretches (from, to) that neither the split nor its spigot may touch: a branch's mouth, say.
    """
    spans = list(_spans(path))
    tried = {low, high, *(s for span in spans for s in span[:2])}
    for start, end, _ in spans:
        tried |= {start + k * _STEP for k in range(1, math.ceil((end - start) / _STEP))}
        tried |= {start + SPIGOT, end - SPIGOT}
    found: list[Place] = []
    for s in sorted(tried):
        if not low - _NEAR <= s <= high + _NEAR or (found and s - found[-1].s < _NEAR):
            continue
        if any(s + SPIGOT + CLEAR > a and s - SPIGOT - CLEAR < b for a, b in closed):
            continue
        after, before = _kind(spans, s, s + SPIGOT), _kind(spans, s - SPIGOT, s)
        taking, giving = (after, before) if socket == "down" else (before, after)
        if taking is None:
            continue
        cost = (3.0 if taking == "bend" else 0.0) + (1.0 if giving is None else 0.0)
        found.append(Place(s, cost))
    return tuple(found)


def chain(
    start: float, end: float, between: Sequence[Place], fits: Callable[[float, float], bool]
) -> tuple[float, ...] | None:
    """The splits that make the fewest pieces between `start` and `end`, each of which `fits`.

    Among equally few those in straights, then those of more equal length.  None where there is no way.
    """
    rows = [
        Place(start, 0.0),
        *(p for p in between if start + SHORTEST <= p.s <= end - SHORTEST),
        Place(end, 0.0),
    ]
    best: list[tuple[float, tuple[float, ...]] | None] = [None] * len(rows)
    best[0] = (0.0, ())
    for j in range(1, len(rows)):
        for i in range(j):
            so_far, length = best[i], rows[j].s - rows[i].s
            if so_far is None or (length < SHORTEST and not (i == 0 and j == len(rows) - 1)):
                continue
            cost = so_far[0] + 1000.0 + 30.0 * rows[j].cost + (length / 100.0) ** 2
            known = best[j]
            if (known is None or cost < known[0] - _NEAR) and fits(rows[i].s, rows[j].s):
                best[j] = (cost, (*so_far[1], rows[j].s))
    return None if best[-1] is None else best[-1][1][:-1]


def outline_points(path: Path, radius: Callable[[float], float], start: float, end: float) -> Array:
    """Points round a stretch of tube, (n, 3) mm: enough to judge whether it fits on a bed."""
    count = max(2, math.ceil((end - start) / _RING) + 1)
    s = np.linspace(start, end, count)
    off = np.array([radius(v) for v in s.tolist()])
    turn = np.linspace(0.0, 2 * math.pi, _AROUND, endpoint=False)
    normal = array(path.start.normal)
    return skin(
        path, 0.0, normal, s=np.repeat(s, _AROUND), turn=np.tile(turn, count), off=np.repeat(off, _AROUND)
    )


def _spans(path: Path) -> Iterator[tuple[float, float, str]]:
    """(from, to, kind) of every element; straights that follow each other are one."""
    reached = 0.0
    rows: list[tuple[float, float, str]] = []
    for segment in path.segments:
        kind = "bend" if isinstance(segment, Arc) else "straight"
        if segment.length <= _NEAR:
            continue
        if rows and kind == "straight" == rows[-1][2]:
            rows[-1] = (rows[-1][0], reached + segment.length, kind)
        else:
            rows.append((reached, reached + segment.length, kind))
        reached += segment.length
    yield from rows


def _kind(spans: Sequence[tuple[float, float, str]], a: float, b: float) -> str | None:
    """What the stretch lies in, if it lies in one element."""
    return next((kind for low, high, kind in spans if low - _NEAR <= a and b <= high + _NEAR), None)


def stretches(start: float, end: float, cuts: Sequence[float]) -> Iterator[tuple[float, float]]:
    """The stretches that cuts leave, in order."""
    yield from pairwise([start, *cuts, end])
