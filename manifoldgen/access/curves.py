"""The curves welds follow, from pure numbers: rings, feet of tubes on plates, lobes, saddles."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from manifoldgen.geometry.contour import Contour
from manifoldgen.geometry.edges import ArcEdge
from manifoldgen.geometry.pose import Frame
from manifoldgen.geometry.vectors import Array, array, first_square_to
from manifoldgen.manifold import mouth
from manifoldgen.manifold.model import Collector, Joint, Manifold

_STEPS = 400


@dataclass(frozen=True, eq=False)
class WeldCurve:
    """Places of a weld: points, the way it runs, the bisector of the two surface normals; (n, 3) each."""

    points: Array
    along: Array
    bisector: Array

    @classmethod
    def of(cls, points: Array, first: Array, second: Array) -> WeldCurve:
        """A curve between two surfaces with these outward unit normals."""
        return cls(points, _units(np.cross(first, second)), _units(first + second))


def _units(v: Array) -> Array:
    return array(v / np.linalg.norm(v, axis=1, keepdims=True))


def _around(axis: Array, count: int) -> Array:
    """Unit vectors round an axis, right-handed, (count, 3)."""
    u = first_square_to(np.eye(3), axis)
    turn = 2 * math.pi * np.arange(count) / count
    return array(np.outer(np.cos(turn), u) + np.outer(np.sin(turn), np.cross(axis, u)))


def ring(at: ArrayLike, axis: ArrayLike, radius: float, count: int, slope: float = 0.0) -> WeldCurve:
    """A ring round a tube, or round a cone that loses `slope` mm of radius a mm along the axis."""
    a = array(axis)
    out = _around(a, count)
    normals = (out + slope * a) / math.hypot(1.0, slope)
    return WeldCurve(array(at) + radius * out, np.cross(a, out), normals)


def foot(at: ArrayLike, away: ArrayLike, face: ArrayLike, radius: float, count: int) -> WeldCurve:
    """The foot of a round tube on a plate; an ellipse where the tube leans.

    at : where the tube's axis meets the plate.  away : unit, along the tube from the plate.
    face : unit, out of the plate on the tube's side.
    """
    t, n = array(away), array(face)
    out = _around(t, count)
    points = array(at) + radius * out - np.outer(radius * (out @ n) / float(t @ n), t)
    return WeldCurve.of(points, out, np.broadcast_to(n, out.shape))


def outline(contour: Contour, wall: float, frame: Frame, at: ArrayLike, count: int) -> WeldCurve:
    """The foot of a formed tube on a plate square to the frame's z: `wall` mm outside a convex outline.

    at : where the outline's own origin stands, bench frame.
    """
    dense, normals = [], []
    for edge in contour.edges():
        for t in np.linspace(0.0, 1.0, _STEPS // 4):
            x, y = edge.point(float(t))
            if isinstance(edge, ArcEdge):
                nx, ny = (x - edge.centre[0]) / edge.radius, (y - edge.centre[1]) / edge.radius
            else:
                dx, dy = edge.end[0] - edge.start[0], edge.end[1] - edge.start[1]
                nx, ny = dy / math.hypot(dx, dy), -dx / math.hypot(dx, dy)
            dense.append((x + wall * nx, y + wall * ny, 0.0))
            normals.append((nx, ny, 0.0))
    rim, out = array(dense), array(normals)
    s = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(rim, axis=0, append=rim[:1]), axis=1))])
    pick = np.searchsorted(s, s[-1] * np.arange(count) / count).clip(max=len(rim) - 1)
    points = rim[pick] @ frame.matrix.T + array(at)
    sides = out[pick] @ frame.matrix.T
    return WeldCurve.of(points, sides, np.broadcast_to(array(frame.z), sides.shape))


def spaced(dense: Array, step: float, least: int) -> Array:
    """Places in the middles of equal stretches of at most `step` mm along a finely given line."""
    s = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(dense, axis=0), axis=1))])
    count = max(least, math.ceil(float(s[-1]) / step))
    wanted = s[-1] * (np.arange(count) + 0.5) / count
    return array(np.column_stack([np.interp(wanted, s, dense[:, i]) for i in range(3)]))


def lobes(c: Collector, count: int) -> WeldCurve:
    """The inlets' common outline on the lid: between each tube's outside and the lid's upstream face.

    The tubes' normals there lie square to each inlet; the lid looks upstream.
    """
    up = -array(c.frame.z)
    directions = [array(p.direction) for p in c.inlets]
    starts = [array(p.at) for p in c.inlets]
    centre = c.frame.out((0.0, 0.0, c.merge_depth))
    points, normals = [], []
    for out in _around(array(c.frame.z), count):
        far, which = -1.0, 0
        for k, (d, at) in enumerate(zip(directions, starts, strict=True)):
            v, w = centre - at, out - float(out @ d) * d
            v = v - float(v @ d) * d
            a, b, e = float(w @ w), float(v @ w), float(v @ v) - c.section.radius**2
            root = b * b - a * e
            reach = (-b + math.sqrt(root)) / a if root >= 0 else -1.0
            if reach > far:
                far, which = reach, k
        point = centre + far * out
        v = point - starts[which]
        normals.append(v - float(v @ directions[which]) * directions[which])
        points.append(point)
    sides = _units(array(normals))
    return WeldCurve.of(array(points), sides, np.broadcast_to(up, sides.shape))


def saddle(m: Manifold, joint: Joint, count: int) -> WeldCurve:
    """Where a branch's outside meets its parent's; a side that never leaves it is welded where it begins."""
    branch = next(b for b in m.branches if b.run.owner == joint.owner)
    axis = array(branch.axis)
    own = _around(axis, count)
    origins = array(branch.root) + branch.run.section.radius * own
    s = np.nan_to_num(mouth.left(m, branch, origins))
    points = origins + s[:, None] * axis
    return WeldCurve.of(points, own, mouth.normals(m, branch, points))
