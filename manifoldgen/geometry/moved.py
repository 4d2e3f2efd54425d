"""The least gap between a tube that moves with the engine and a solid that stays."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from manifoldgen.geometry.distance import to_shape
from manifoldgen.geometry.gap import Asked, Gap
from manifoldgen.geometry.mesh_distance import Tree, centre_march, to_mesh
from manifoldgen.geometry.movement import Movement
from manifoldgen.geometry.rows import BEND, TubeRows, length_of, run_of, shape_rows, slices
from manifoldgen.geometry.searching import AskedStretch
from manifoldgen.geometry.shapes import Shape, Tube
from manifoldgen.geometry.vectors import Array, Vec, array, vec

SLICE_DEG = 15.0


@dataclass(frozen=True)
class Moved:
    """The least gap over a movement.

    gap : never more than the true least gap over every pose; its points are those at rest.
    rest : gap at rest, mm.
    shift, roll_deg : the pose that made it.  there : the gap in that pose, mm: the true least gap lies
        between `gap.gap` and it.  The two are one away from the tube's ends, but for round-off.
    """

    gap: Gap
    rest: float
    shift: Vec
    roll_deg: float
    there: float


def gap_at_rest(a: Tube, solid: Shape | Tree, asked: Asked | None = None, tol: float = 1e-3) -> Gap:
    """The worst place between a tube and a shape or a mesh."""
    if isinstance(solid, Tree):
        return to_mesh(a, solid, asked, tol)
    return to_shape(a, solid, asked, tol)


def over_movement(
    a: Tube, solid: Shape | Tree, movement: Movement, asked: float = 0.0, tol: float = 1e-3
) -> Moved:
    """The least gap while the tube moves with the engine and the solid stays.

    Two lower bounds are taken, and the larger is the answer: the gap at rest less the furthest that any
    point of the tube can go, if that leaves one; and a search along the centreline that counts only the way towards the
    solid (`_movement_kernels`; exact against a plane, round ends).  The shapes are convex, a mesh is its
    triangles; an outline that is not convex is held clear by the whole movement.

    Parameters
    ----------
    asked : the gap asked all along, mm.  tol : how near the search is proved, mm.

    Raises
    ------
    GeometryError : a tube of no length.
    """
    run = run_of(a)
    flat = Asked.flat(asked, a.path.length)
    rest = gap_at_rest(a, solid, flat, tol)
    buried = isinstance(solid, Tree) and solid.holds(a.path.start.at)
    if movement.none or buried:
        return Moved(rest, rest.gap, (0.0, 0.0, 0.0), 0.0, rest.gap)
    target = solid if isinstance(solid, Tree) else shape_rows(solid)
    best = centre_march(AskedStretch(run), target, movement, tol)
    x, q = best[1:4], best[4:7]
    shift, roll = _worst_pose(movement, x, q, float(best[9]))
    there = gap_at_rest(movement.tube(a, shift, roll), solid, flat, tol).gap
    far = float(np.linalg.norm(q - x))
    wall = x + (q - x) * (run.radius / far) if far > 0 else x
    kept = rest.gap - _furthest(run, movement)
    least = (
        max(float(best[0]), kept) if kept >= 0 else float(best[0])
    )  # below 0 only the search tells how deep
    slack = max(0.0, float(best[0] - best[8]))
    gap = Gap(
        least,
        asked,
        (vec(wall), vec(q)),
        rest.along,
        slack <= tol,
        slack if slack > tol else 0.0,
    )
    return Moved(gap, rest.gap, shift, roll, there)


def _worst_pose(movement: Movement, x: Array, q: Array, roll: float) -> tuple[Vec, float]:
    """The shift that takes the point x, once rolled (rad), as near to q as it goes; and the roll in degrees."""
    roll_deg = math.degrees(roll)
    rolled = array(movement.point(x, (0.0, 0.0, 0.0), roll_deg))
    return vec(np.clip(q - rolled, -array(movement.shift), movement.shift)), roll_deg


def _furthest(run: TubeRows, movement: Movement) -> float:
    """No point of the tube goes further, mm: straights by their ends, bends by slices and their corners."""
    pieces, _ = slices(run.segs, SLICE_DEG)
    most = 0.0
    for row in pieces:
        length = length_of(row)
        if row[0] == BEND:
            ends = [row[1:4] + row[13] * row[4:7]]
            corner = ends[0] + row[13] * math.tan(row[14] / 2.0) * row[7:10]
            c, n = math.cos(row[14]), math.sin(row[14])
            ends += [corner, row[1:4] + row[13] * (c * row[4:7] + n * row[7:10])]
        else:
            ends = [row[1:4], row[1:4] + length * row[4:7]]
        most = max(most, *(movement.most(p) for p in ends))
    return most + 2.0 * run.radius * math.sin(min(math.radians(movement.roll_deg), math.pi) / 2.0)
