"""The flanges of the test-fit model: thick enough for real studs, longer ones in parts joined by a screwed lap.

┌───────────────┬──────────────┐   the lap lies between two ports; screws go through it from the tube side,
│  tube side    └─────┐        │   their nuts sit in pockets of the mating face
│                     │ lap    │
└─────────────────────┴────────┘   the mating face stays where it is: a thin flange grows on its tube side
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from manifold3d import CrossSection

from manifoldgen.catalogue import Catalogue
from manifoldgen.geometry import contour
from manifoldgen.geometry.pose import Frame
from manifoldgen.geometry.vectors import Array, Vec, array, unit, vec
from manifoldgen.manifold.model import Flange, Opening
from manifoldgen.prints import bodies, marks, room
from manifoldgen.prints.room import column
from manifoldgen.solids.flange import FLANK, HUB, RIM

THICKNESS = 10.0  # mm at least, so that studs and nuts can be tried (common practice, no source)
LAPS = (20.0, 24.0, 16.0, 12.0)  # mm of overlap, the first that leaves studs and screws their room
NUT_FREE = 0.3  # mm round and under a nut in its pocket
_WEB = 1.6  # mm of print between a screw's pocket and anything else
_THROUGH = 1.0  # mm that cutters stand out of the plate
_RAYS = 96  # corners of a gas passage


@dataclass(frozen=True)
class Screw:
    """A screw of the lap.  clearance : its hole.  nut : across flats and height; mm."""

    thread: str
    clearance: float
    nut: tuple[float, float]

    @property
    def pocket(self) -> float:
        """Radius over the corners of the nut's pocket, mm."""
        return (self.nut[0] / 2 + NUT_FREE) / math.cos(math.pi / 6)


SCREWS = ("M4", "M3")  # the first that leaves studs and laps their room


def screws(tables: Catalogue) -> tuple[Screw, ...]:
    """The screws that a lap may have, with the sizes of the job's catalogue."""
    nuts = [tables.nut("hex", thread) for thread in SCREWS]
    return tuple(Screw(n.thread, tables.hole(n.thread, "medium"), (n.across_flats, n.height)) for n in nuts)


@dataclass(frozen=True)
class Lap:
    """A lap across a flange.  x : its middle in the flange plane.  length : overlap.  screws : where, and which."""

    x: float
    length: float
    screw: Screw
    screws: tuple[tuple[float, float], ...]


def span(flange: Flange) -> tuple[float, float]:
    """Where the printed plate begins and ends along the flange's z, mm: its mating face is the flange's own."""
    t = flange.thickness
    more = max(0.0, THICKNESS - t)
    return (0.0, t + more) if flange.tube_side == "end" else (-more, t)


def body(flange: Flange) -> bodies.Body:
    """The full plate, or the V-band with its hub, flank and rim."""
    low, high = span(flange)
    if flange.outline is None and flange.vband is not None:
        rim_radius, hub = flange.vband.od / 2, flange.tube.radius + HUB
        drop = (rim_radius - hub) * math.tan(math.radians(FLANK))
        long = high - low
        sides = [(hub, 0.0), (hub, long - RIM - drop), (rim_radius, long - RIM), (rim_radius, long)]
        if flange.tube_side == "end":
            sides = [(r, long - z) for r, z in reversed(sides)]
        return bodies.turned([(r, low + z) for r, z in sides], flange.frame)
    return bodies.plate(bodies.outline(flange.rim), low, high, flange.frame)


def holes(flange: Flange, extra: float) -> Iterator[bodies.Body]:
    """What is drilled out for studs and bolts, `extra` mm larger in diameter."""
    low, high = span(flange)
    for hole in flange.holes:
        at = flange.frame.out((*hole.at, low - _THROUGH))
        yield bodies.cylinder(at, flange.frame.z, (hole.diameter + extra) / 2, high - low + 2 * _THROUGH)


def passage(flange: Flange, opening: Opening, axis: Vec, bore: float) -> bodies.Body:
    """The way of the gas: from the opening on the mating face to the printed tube's bore on the tube face.

    axis : the tube's direction.  bore : its printed bore radius, mm.
    """
    frame, t = flange.frame, flange.thickness
    mating, face = (0.0, t) if flange.tube_side == "end" else (t, 0.0)
    outward = 1.0 if face > mating else -1.0
    low, high = span(flange)
    d = unit(axis)
    flat = frame.matrix.T @ d
    turn = np.linspace(0.0, 2 * math.pi, _RAYS, endpoint=False)
    middle = array(opening.at)
    mouth = (
        bodies.rays(np.asarray(contour.points(opening.contour, 0.01)), turn)[:, None]
        * np.column_stack([np.cos(turn), np.sin(turn)])
        + middle
    )
    if flange.transition == "tube":
        ends = mouth
    else:
        lean = math.atan2(flat[1], flat[0])
        long = bore / abs(float(flat[2]))
        radius = 1.0 / np.hypot(np.cos(turn - lean) / long, np.sin(turn - lean) / bore)
        ends = radius[:, None] * np.column_stack([np.cos(turn), np.sin(turn)]) + middle

    def ring(points: Array, z: float) -> Array:
        return frame.out(np.column_stack([points, np.full(len(points), z)]))

    beyond = (high if outward > 0 else low) + outward * _THROUGH - face
    along = d * (beyond / float(flat[2]))
    rings = [
        ring(mouth, mating - outward * _THROUGH),
        ring(mouth, mating),
        ring(ends, face),
        ring(ends, face) + along,
    ]
    return bodies.loft(rings if outward > 0 else rings[::-1])


# laps -------------------------------------------------------------------------------------------------------


def laps(flange: Flange, groups: Sequence[Sequence[Opening]], tables: Catalogue) -> tuple[Lap, ...]:
    """The laps between groups of openings that follow each other along x; tables : the job's catalogue."""
    made, choice = [], screws(tables)
    for one, other in pairwise(groups):
        low = max(o.at[0] + _half(flange, o) for o in one)
        high = min(o.at[0] - _half(flange, o) for o in other)
        made.append(_lap(flange, low, high, choice))
    return tuple(made)


def _half(flange: Flange, opening: Opening) -> float:
    return max(opening.width / 2, flange.tube.radius)


def _lap(flange: Flange, low: float, high: float, choice: Sequence[Screw]) -> Lap:
    """The lap in the middle of the room between two ports, a little aside where studs are in its way."""
    middle = (low + high) / 2
    tried = sorted(np.arange(low, high + 0.25, 0.5).tolist(), key=lambda x: (abs(x - middle), x))
    found: list[tuple[tuple[float, float, float], Lap]] = []
    free = {screw: room.free(flange, flange.rim, screw.pocket + _WEB) for screw in choice}
    for length in LAPS:
        for x in tried:
            if min(x - length / 2 - low, high - x - length / 2) < _WEB:
                continue
            ends = (x - length / 2, x + length / 2)
            clear = min((abs(h.at[0] - e) - h.diameter / 2 for h in flange.holes for e in ends), default=9.0)
            held = any(ends[0] < h.at[0] < ends[1] for h in flange.holes)  # a stud through both parts
            sound = 2.0 if clear < _WEB else float(held)
            for order, screw in enumerate(choice):
                at = _screws(free[screw], x, screw)
                rank = (-float(len(at)), sound, float(order))
                found.append((rank, Lap(x, length, screw, at)))
        if found and min(f[0] for f in found)[:2] <= (-2.0, 1.0):
            break
    if not found:
        return Lap(middle, min(LAPS[-1], max(high - low - 2 * _WEB, 4.0)), choice[-1], ())
    return min(found, key=lambda f: f[0])[1]


def _screws(region: CrossSection, x: float, screw: Screw) -> tuple[tuple[float, float], ...]:
    """Up to two places on the lap's middle, far apart, in what is free."""
    stretches = column(region, x)
    if not stretches:
        return ()
    low, high = stretches[0][0], stretches[-1][1]
    if high - low < 2 * (screw.pocket + _WEB):
        a, b = max(stretches, key=lambda c: c[1] - c[0])
        return ((x, (a + b) / 2),)
    return ((x, low), (x, high))


def beyond_lap(flange: Flange, lap: Lap, fit: float, *, before: bool) -> bodies.Body:
    """What is taken off the plate at a lap: all beyond it for the part `before` it, all before it for the other.

    The part before has the tongue on the mating face; the two touch half way up and are `fit` apart endwise.
    """
    low, high = span(flange)
    half = (low + high) / 2
    far = 2000.0
    a, b = lap.x - lap.length / 2, lap.x + lap.length / 2
    mating_low = flange.tube_side == "end"
    first, second = (low - _THROUGH, high + _THROUGH) if mating_low else (high + _THROUGH, low - _THROUGH)
    if before:
        ring = [
            (b, first),
            (lap.x + far, first),
            (lap.x + far, second),
            (a - fit, second),
            (a - fit, half),
            (b, half),
        ]
    else:
        ring = [
            (lap.x - far, first),
            (b + fit, first),
            (b + fit, half),
            (a, half),
            (a, second),
            (lap.x - far, second),
        ]
    flat = bodies.polygon(ring)
    across = Frame(
        vec(flange.frame.out((0.0, far, 0.0))),
        flange.frame.x,
        flange.frame.z,
        vec(-array(flange.frame.y)),
    )
    return bodies.plate(flat, 0.0, 2 * far, across)


def lap_holes(flange: Flange, lap: Lap) -> Iterator[bodies.Body]:
    """Screw holes and, in the mating face, pockets for their nuts."""
    low, high = span(flange)
    mating = low if flange.tube_side == "end" else high
    inward = 1.0 if mating == low else -1.0
    axis = inward * array(flange.frame.z)
    for at in lap.screws:
        foot = flange.frame.out((*at, mating - inward * _THROUGH))
        yield bodies.cylinder(foot, axis, lap.screw.clearance / 2, high - low + 2 * _THROUGH)
        corners = [
            (
                at[0] + lap.screw.pocket * math.cos(k * math.pi / 3),
                at[1] + lap.screw.pocket * math.sin(k * math.pi / 3),
            )
            for k in range(6)
        ]
        depth = lap.screw.nut[1] + NUT_FREE
        z = sorted((mating - inward * _THROUGH, mating + inward * depth))
        yield bodies.plate(bodies.polygon(corners), z[0], z[1], flange.frame)


def mark_place(flange: Flange, text: str, low: float, high: float) -> Frame | None:
    """A free place for a text on the tube face between x = `low` and `high`; None where there is none."""
    half = (marks.width(text) / 2, marks.HEIGHT / 2)
    _, y0, _, y1 = flange.rim.bounds
    xs, ys = np.arange(low + half[0], high - half[0], 2.0), np.arange(y0, y1, 2.0)
    at = np.array([(x, y) for x in xs for y in ys]).reshape(-1, 2)
    box = [(dx * half[0], dy * half[1]) for dx in np.linspace(-1, 1, 7) for dy in (-1.0, 0.0, 1.0)]
    for clear in (6.0, 4.0, 2.5, 1.5):
        region = room.free(flange, flange.rim, clear)
        good = np.all([room.inside(region, at + d) for d in box], axis=0)
        if good.any():
            break
    else:
        return None
    best = at[int(np.argmax(good))].tolist()
    z0, z1 = span(flange)
    if flange.tube_side == "end":
        return Frame(vec(flange.frame.out((*best, z1))), flange.frame.x, flange.frame.y, flange.frame.z)
    back = vec(-array(flange.frame.z))
    return Frame(vec(flange.frame.out((*best, z0))), vec(-array(flange.frame.x)), flange.frame.y, back)


def between_neighbours(flange: Flange, opening: Opening) -> tuple[float, float]:
    """Half way to the openings beside one, along x; the plate's own ends where there is none."""
    low, _, high, _ = flange.rim.bounds
    x = opening.at[0]
    left = [o.at[0] for o in flange.openings if o.at[0] < x - 1e-6]
    right = [o.at[0] for o in flange.openings if o.at[0] > x + 1e-6]
    return (x + max(left)) / 2 if left else low, (x + min(right)) / 2 if right else high
