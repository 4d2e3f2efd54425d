"""The collector's cone as a flat blank: a sector of a ring, for sheet that is rolled or pressed round.

    sector radii   a = r_small / sin β, b = r_large / sin β       sweep = 360 sin β        (closed form)

The sheet's middle keeps its length when it is rolled, so the blank is cut to the middle radii, half a wall
inside the cone's outside. The outside and inside sectors are there to check against.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from manifoldgen.geometry.vectors import Array
from manifoldgen.manifold.collector_profile import outer_profile
from manifoldgen.manifold.leaving import from_cone
from manifoldgen.manifold.model import Branch, Collector, Manifold, Piece
from manifoldgen.manifold.mouth import branch_frame, every_line, lines
from manifoldgen.shop import developed

_CYLINDER = 0.05  # degrees: less steep, the blank is a rectangle
HOLE_STEPS = 180


@dataclass(frozen=True)
class Sector:
    """A flat ring sector, mm and degrees; a rectangle `width` wide where the cone is a cylinder (sweep 0)."""

    inner: float
    outer: float
    sweep: float
    width: float = 0.0

    @property
    def slant(self) -> float:
        """Along the sheet from edge to edge, mm."""
        return self.outer - self.inner

    @property
    def area(self) -> float:
        """Of the blank, mm²."""
        if not self.sweep:
            return self.width * self.slant
        return math.radians(self.sweep) / 2 * (self.outer**2 - self.inner**2)

    @property
    def edges(self) -> tuple[float, float]:
        """Length of the inner and of the outer edge, mm: the girths of the cone's two ends."""
        if not self.sweep:
            return self.width, self.width
        return math.radians(self.sweep) * self.inner, math.radians(self.sweep) * self.outer


@dataclass(frozen=True, eq=False)
class ConePattern:
    """The flat pattern of one collector's cone.

    piece, joints : ids.  wall, half_angle : mm, degrees (positive: narrows towards the outlet).
    start, end : outside radius at the lid and at the outlet, mm.  height : along the axis, mm.
    seam_gap : allowance at the seam, mm a side.  dress : mm the sheet's square edges stand off a flat end.
    hole : a branch's bore on the blank of the middle, (n, 2) mm, or None; origin as in `place`.
    """

    piece: str
    joints: tuple[str, ...]
    wall: float
    half_angle: float
    start: float
    end: float
    height: float
    seam_gap: float
    hole: Array | None = None

    @property
    def narrows(self) -> bool:
        """Whether the outlet end is the smaller one."""
        return self.start >= self.end

    @property
    def dress(self) -> float:
        """How far the middle stands back where a square-edged end is dressed flat, mm a side."""
        return self.wall / 2 * math.tan(math.radians(abs(self.half_angle)))

    def sector(self, under: float | None = None) -> Sector:
        """The blank of the surface `under` mm below the outside, square to it; None is the middle."""
        depth = self.wall / 2 if under is None else under
        beta = math.radians(abs(self.half_angle))
        small, large = (r - depth / math.cos(beta) for r in sorted((self.start, self.end)))
        if abs(self.half_angle) < _CYLINDER:
            return Sector(0.0, self.height, 0.0, math.pi * (small + large))
        sine = math.sin(beta)
        return Sector(small / sine, large / sine, 360.0 * sine)

    def place(self, around: Array, radius: Array) -> Array:
        """Points of the middle surface on the blank, (n, 2) mm.

        around : degrees about the cone's axis from the blank's middle line, right-handed about the flow.
        radius : of the middle surface there.  The blank is seen from outside, its middle line up the page,
        the outlet end up; the origin is the sector's centre (a rectangle's: its lid end).
        """
        beta = math.radians(abs(self.half_angle))
        if abs(self.half_angle) < _CYLINDER:
            raise ValueError("a rectangle is placed by mm along the axis")
        turn = np.radians(around) * math.sin(beta)
        far = radius / math.sin(beta)
        up = -1.0 if self.narrows else 1.0  # the sector's centre lies beyond the small end
        return np.stack([far * np.sin(turn), up * far * np.cos(turn)], axis=1)


def cones(m: Manifold) -> tuple[ConePattern, ...]:
    """The flat pattern of every collector's cone that is on the cut list."""
    made = []
    for c in m.collectors:
        piece = m.cone_of(c)
        if piece is not None:
            made.append(cone_of(m, c, piece))
    return tuple(made)


def cone_of(m: Manifold, c: Collector, piece: Piece) -> ConePattern:
    """The cone behind the lid of one collector."""
    (rim, start), (end_radius, end) = outer_profile(c)[:2]
    slope = (rim - end_radius) / (end - start)
    lid = c.section.wall
    made = ConePattern(
        piece=piece.id,
        joints=piece.joints,
        wall=c.outlet.wall,
        half_angle=math.degrees(math.atan(slope)),
        start=rim - slope * lid,
        end=end_radius,
        height=end - start - lid,
        seam_gap=float(m.tables.row("shop", "mill", "rolled_seam_gap")["value"]),
    )
    branch = next((b for b in m.branches if b.element is None), None)
    if branch is None or c is not m.collectors[0] or abs(made.half_angle) < _CYLINDER:
        return made
    return _with_hole(m, c, branch, made)


def _with_hole(m: Manifold, c: Collector, b: Branch, made: ConePattern) -> ConePattern:
    """The branch's bore on the blank, in the middle of the sheet; the blank's middle line runs through it."""
    phi = developed.turns(HOLE_STEPS)
    origins = lines(branch_frame(m, b), phi, b.run.section.bore_radius)
    half = made.wall / 2 / math.cos(math.radians(made.half_angle))
    s = every_line(b, phi, from_cone(c, origins, np.asarray(b.axis), half))
    local = c.frame.into(origins + s[:, None] * np.asarray(b.axis))
    ring = np.degrees(np.arctan2(-local[:, 0], local[:, 1]))
    centre = np.degrees(np.arctan2(-local[:, 0].mean(), local[:, 1].mean()))
    around = (ring - centre + 180.0) % 360.0 - 180.0
    hole = made.place(around, np.hypot(local[:, 0], local[:, 1]))
    return replace(made, hole=hole)
