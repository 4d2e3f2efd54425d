"""Where the wastegate branch leaves its parent: off the outside of a bend, or off the collector's cone."""

from __future__ import annotations

import math
from dataclasses import dataclass

from manifoldgen.errors import GeometryError
from manifoldgen.geometry.foot import nearest
from manifoldgen.geometry.path import Arc, Path
from manifoldgen.geometry.vectors import Array, Vec, array, cos_sin, unit, vec
from manifoldgen.manifold.model import Collector

WALL_TOLERANCE = 1e-10  # mm of depth at which the axis counts as out


@dataclass(frozen=True)
class Exit:
    """A branch axis: where it starts inside the parent, its direction, mm to the parent's outer wall."""

    root: Vec
    axis: Vec
    wall_length: float


def off_bend(parent: Path, element: int, radius: float, *, aim: float, shift: float) -> Exit:
    """The axis of a branch off the outside of a bend.

    It starts at P - shift·c and runs along cos(aim)·t - sin(aim)·c, where P is the bend's first tangent
    point, t the flow there and c the unit vector from P towards the bend's centre.

    Parameters
    ----------
    parent : the run's path; `element` is the bend's index in it.
    radius : the parent's outer radius, mm.
    aim : degrees.  shift : mm.

    Raises GeometryError where the axis starts outside the parent or never leaves it.
    """
    arc = parent.segments[element]
    if not isinstance(arc, Arc):
        raise GeometryError(f"element {element + 1} of the path is a straight, not a bend")
    if abs(shift) >= radius:
        raise GeometryError(
            f"a shift of {shift:g} mm starts the branch outside its tube (radius {radius:g} mm)"
        )
    inward = -array(arc.radial)
    c, s = cos_sin(aim)
    axis = unit(c * array(arc.direction) - s * inward)
    root = arc.point(0.0) - shift * inward
    return Exit(vec(root), vec(axis), _wall(parent, root, axis, radius))


def off_cone(collector: Collector, *, at: float, around: float, aim: float) -> Exit:
    """The axis of a branch off the cone: `at` of the cone's length (0 at its rim), at ring angle `around`.

    `aim` is the angle between the collector's flow and the branch axis.  The axis crosses the cone's outer
    wall there and starts on the collector's axis, or two cone radii further back where it is too flat to
    meet it.  Raises GeometryError where it does not point out of the cone.
    """
    depth = collector.merge_depth + at * (collector.length - collector.merge_depth)
    slope = math.tan(math.radians(collector.cone_half_angle))
    radius = collector.outlet.radius + (collector.length - depth) * slope
    c, s = cos_sin(around)
    outward = array(collector.frame.turn((-s, c, 0.0)))
    along = array(collector.frame.z)
    wall = array(collector.frame.at) + depth * along + radius * outward
    c, s = cos_sin(aim)
    axis = unit(c * along + s * outward)
    if float(axis @ unit(outward + slope * along)) <= 0:
        raise GeometryError(
            f"a branch aimed {aim:g}° does not leave the cone (half angle {collector.cone_half_angle:.1f}°); aim wider"
        )
    back = min(radius / s, 2 * radius) if s > 0 else 2 * radius
    return Exit(vec(wall - back * axis), vec(axis), back)


def _wall(parent: Path, root: Array, axis: Array, radius: float) -> float:
    """Distance along the axis to where it leaves the parent's outer wall, mm.

    From a point at depth d inside the wall the axis cannot get out within d mm, so stepping by the depth
    closes in on the exit without passing it.
    """
    reach = 4 * radius + 2 * max((b.clr for b in parent.bends), default=0.0)
    s = 0.0
    while s < reach:
        depth = radius - float(nearest(parent, (root + s * axis)[None])[0][0])
        if depth < WALL_TOLERANCE:
            return s
        s += depth
    raise GeometryError(
        f"the branch axis stays inside its tube for {reach:.0f} mm: aim it wider or shift it outwards"
    )
