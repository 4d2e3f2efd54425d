"""The hole a branch needs in a bend, as a table: a bent tube cannot be laid flat, so no template fits it.

The place of each point is given as the shop finds it on the bend: mm along the back line from where the
bend starts (a tape laid on the heel), then mm around the tube from the back line, anticlockwise seen
from the downstream end; the angle of the bend there beside it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from manifoldgen.geometry.path import Arc
from manifoldgen.geometry.vectors import Array, array
from manifoldgen.manifold.model import Branch, Manifold
from manifoldgen.manifold.mouth import Parent, branch_frame, leaves, lines, parent_of

STEP = 15.0  # degrees round the branch


@dataclass(frozen=True)
class HolePoint:
    """A point on the bend.  angle : degrees from the bend's start (beyond 0 and its angle: on the straights).

    back : mm along the back line from the bend's start.  round : mm round the tube from the back line.
    """

    angle: float
    back: float
    round: float


@dataclass(frozen=True)
class HoleRow:
    """One line of the table.  clock : degrees round the branch from its back line.

    foot : where the branch's outside stands.  hole : the edge of the hole, the branch's bore.
    """

    clock: float
    foot: HolePoint
    hole: HolePoint


@dataclass(frozen=True)
class HoleTable:
    """The hole of one branch.

    parent : the run.  piece : the piece it is cut into.  joint : the saddle.  od, clr, angle : of the bend.
    aim : degrees between the flow at the bend's start and the branch.
    """

    name: str
    parent: str
    piece: str
    joint: str
    od: float
    clr: float
    angle: float
    aim: float
    rows: tuple[HoleRow, ...]


def holes(m: Manifold, step: float = STEP) -> tuple[HoleTable, ...]:
    """One table for every branch off a bend that is on the cut list."""
    made = []
    for b in m.branches:
        parent = parent_of(m, b)
        joint = next((j for j in m.joints if j.kind == "saddle" and j.owner == b.run.owner), None)
        if parent is None or joint is None:
            continue
        clocks = np.arange(0.0, 360.0, step)
        foot = spots(parent, on_parent(m, b, clocks, b.run.section.radius))
        edge = spots(parent, on_parent(m, b, clocks, b.run.section.bore_radius))
        rows = tuple(HoleRow(float(k), f, h) for k, f, h in zip(clocks, foot, edge, strict=True))
        made.append(
            HoleTable(
                b.run.name,
                parent.run.name,
                joint.between[0],
                joint.id,
                parent.run.section.od,
                parent.bend.clr,
                parent.bend.angle,
                b.aim,
                rows,
            )
        )
    return tuple(made)


def on_parent(m: Manifold, b: Branch, clocks: Array, radius: float) -> Array:
    """Points of the parent's outside where the branch's lines leave it, bench frame (n, 3), mm."""
    frame = branch_frame(m, b)
    s = leaves(m, b, frame, clocks, radius)
    return lines(frame, clocks, radius) + s[:, None] * array(b.axis)


def spots(parent: Parent, points: Array) -> list[HolePoint]:
    """Where points of the parent's outside lie on its bend."""
    arc, r = parent.bend, parent.run.section.radius
    basis = np.column_stack([arc.radial, arc.direction, arc.axis])
    return [_spot(arc, r, p) for p in (points - array(arc.centre)) @ basis]


def _spot(arc: Arc, radius: float, p: Array) -> HolePoint:
    angle = math.degrees(math.atan2(p[1], p[0]))
    if angle < -90.0:
        angle += 360.0
    heel = math.radians(1.0) * (arc.clr + radius)
    if angle < 0:  # on the straight before the bend
        out, along = p[0] - arc.clr, p[1]
        back = along
    elif angle > arc.angle:  # on the straight behind it
        a = math.radians(arc.angle)
        out = p[0] * math.cos(a) + p[1] * math.sin(a) - arc.clr
        back = heel * arc.angle + p[1] * math.cos(a) - p[0] * math.sin(a)
    else:
        out, back = math.hypot(p[0], p[1]) - arc.clr, heel * angle
    return HolePoint(angle, back, radius * math.atan2(-p[2], out) + 0.0)  # no negative zero
