"""A flange as a flat skeleton: a ring round every port, a boss round every stud, bars between them.

╭──╮  bar  ╭──╮
│P1│═══════│P2│     little to print, and port and studs stand where they are on the flange;
╰──╯╲      ╰──╯╲    longer than the bed it is parted between ports, half lapped and screwed
    ◎          ◎
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from manifold3d import CrossSection, JoinType

from manifoldgen.geometry.pose import Frame
from manifoldgen.manifold.model import Flange, Hole, Opening
from manifoldgen.prints import bodies, marks

RING = 6.0  # mm round a port
BAR = 12.0
BOSS = 5.0  # mm round a hole
LAP = 22.0  # mm that two parts overlap
LAP_SCREW = "M3"  # two of them hold two parts together
TAB = 10.0  # mm beside a port, for its mark
_FLAT = Frame((0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))

Point = tuple[float, float]


@dataclass(frozen=True)
class Skeleton:
    """What is drawn: the ports from left to right, the holes with the diameter of the boss's inside, thickness."""

    ports: tuple[Opening, ...]
    names: tuple[str, ...]
    holes: tuple[Hole, ...]
    thickness: float

    @classmethod
    def of(cls, flange: Flange, names: Sequence[str], thickness: float) -> Skeleton:
        """The skeleton of a flange; `names` go with its openings."""
        order = sorted(range(len(flange.openings)), key=lambda k: flange.openings[k].at)
        ports = tuple(flange.openings[k] for k in order)
        return cls(ports, tuple(names[k] for k in order), flange.holes, thickness)

    def at(self, hole: Hole) -> int:
        """The port nearest to a hole, as its number from the left."""
        return min(range(len(self.ports)), key=lambda k: _far(self.ports[k].at, hole.at))


def parts(s: Skeleton, count: int, fit: float, screw: float) -> list[tuple[bodies.Body, tuple[int, ...]]]:
    """The skeleton in `count` parts of about equally many ports: z = 0 … thickness, holes not yet drilled.

    screw : hole of the screws that hold the laps together, mm.
    Returns each with the numbers of its ports.  Only the bar between two ports is lapped: the part to its left has
    the lower half.
    """
    n = len(s.ports)
    bounds = [round(n * k / count) for k in range(count + 1)]
    made = []
    for first, after in pairwise(bounds):
        group = tuple(range(first, after))
        flat = _drawn(s, group)
        full, low, high = flat, CrossSection(), CrossSection()
        screws: list[bodies.Body] = []
        if first > 0:
            full += _half_bar(s, first - 1, left=False)
            high = _pad(s, first - 1, fit, left=False)
            screws += _screws(s, first - 1, screw)
        if after < n:
            full += _half_bar(s, after - 1, left=True)
            low = _pad(s, after - 1, fit, left=True)
            screws += _screws(s, after - 1, screw)
        for port in s.ports:
            full, low, high = (x - _port(port) for x in (full, low, high))
        half = s.thickness / 2
        solid = bodies.union(
            bodies.plate(x, a, b)
            for x, a, b in ((full, 0.0, s.thickness), (low, 0.0, half), (high, half, s.thickness))
            if not x.is_empty()
        )
        made.append((bodies.minus(solid, *_marked(s, group), *screws), group))
    return made


def _drawn(s: Skeleton, group: Sequence[int]) -> CrossSection:
    """Rings, bosses, bars and tabs of some ports that follow each other, the ports still filled."""
    flat = CrossSection()
    for k in group:
        flat += _port(s.ports[k]).offset(RING, JoinType.Round, circular_segments=64) + _tab(s, k)[0]
    for a, b in pairwise(s.ports[k] for k in group):
        flat += _bar(a.at, b.at, BAR, BAR)
    for hole in s.holes:
        if s.at(hole) in group:
            flat += _bar(hole.at, s.ports[s.at(hole)].at, hole.diameter + 2 * BOSS, BAR)
    return flat


def _way(s: Skeleton, k: int) -> tuple[Point, Point]:
    """Middle and unit direction of the bar from port k to the next."""
    (x, y), (u, v) = s.ports[k].at, s.ports[k + 1].at
    long = _far((x, y), (u, v))
    return ((x + u) / 2, (y + v) / 2), ((u - x) / long, (v - y) / long)


def _pad(s: Skeleton, k: int, fit: float, *, left: bool) -> CrossSection:
    """The tongue in the bar after port k, of its left or its right part: short of the other part by `fit`."""
    sign = -1.0 if left else 1.0
    return _along(s, k, LAP + 1.0 - fit, sign * (1.0 + fit) / 2)


def _half_bar(s: Skeleton, k: int, *, left: bool) -> CrossSection:
    """The bar after port k up to the lap, from its left or its right end."""
    sign, port = (-1.0, s.ports[k]) if left else (1.0, s.ports[k + 1])
    long = _far(port.at, _way(s, k)[0]) - LAP / 2
    return _along(s, k, long, sign * (LAP / 2 + long / 2))


def _along(s: Skeleton, k: int, long: float, middle: float) -> CrossSection:
    """A stretch of the bar after port k, `middle` mm from half way."""
    (x, y), (c, n) = _way(s, k)
    bar = CrossSection.square((long, BAR), center=True).rotate(math.degrees(math.atan2(n, c)))
    return bar.translate((x + middle * c, y + middle * n))


def _screws(s: Skeleton, k: int, hole: float) -> list[bodies.Body]:
    (x, y), (c, n) = _way(s, k)
    made = []
    for side in (-1.0, 1.0):
        foot = (x + side * LAP / 4 * c, y + side * LAP / 4 * n, -1.0)
        made.append(bodies.cylinder(foot, (0.0, 0.0, 1.0), hole / 2, s.thickness + 2.0))
    return made


def _port(port: Opening) -> CrossSection:
    return bodies.outline(port.contour).translate(port.at)


def _bar(a: Point, b: Point, first: float, last: float) -> CrossSection:
    """A bar from a round of diameter `first` to one of `last`: a boss, and from it a bar of `last`."""
    boss = CrossSection.circle(first / 2, 64).translate(a)
    ends = [CrossSection.circle(last / 2, 32).translate(p) for p in (a, b)]
    return boss + CrossSection.batch_hull(ends)


def _tab(s: Skeleton, k: int) -> tuple[CrossSection, Point]:
    """A tab beside a port, on the side with more room, and its middle."""
    port, name = s.ports[k], s.names[k]
    x, y = port.at
    out = port.height / 2 + RING + TAB / 2 - 1.0
    room = {side: min((_far(h.at, (x, y + side * out)) for h in s.holes), default=99.0) for side in (1, -1)}
    side = 1 if room[1] >= room[-1] else -1
    wide = max(marks.width(name, 5.0) + 4.0, 20.0)
    middle = (x, y + side * out)
    return CrossSection.square((wide, TAB + 2.0), center=True).translate(middle), middle


def _marked(s: Skeleton, group: Sequence[int]) -> list[bodies.Body]:
    """The ports' names on their tabs, the studs' on their bars where there is room."""
    made = []
    for k in group:
        x, y = _tab(s, k)[1]
        made.append(marks.flat(s.names[k], _place(x, y, s.thickness), 5.0))
    for hole in (h for h in s.holes if s.at(h) in group):
        port = s.ports[s.at(hole)]
        long = _far(hole.at, port.at)
        first, last = hole.diameter / 2 + 1.5, long - max(port.width, port.height) / 2
        if last - first < marks.width(hole.id, 4.5):
            continue
        share = (first + last) / 2 / long
        x = hole.at[0] + share * (port.at[0] - hole.at[0])
        y = hole.at[1] + share * (port.at[1] - hole.at[1])
        made.append(marks.flat(hole.id, _place(x, y, s.thickness), 4.5))
    return made


def _place(x: float, y: float, z: float) -> Frame:
    return Frame((x, y, z), _FLAT.x, _FLAT.y, _FLAT.z)


def _far(a: Point, b: Point) -> float:
    return float(((a[0] - b[0]) ** 2 + (a[1] - b[1]) ** 2) ** 0.5)
