"""A length that no layout can beat: the shortest path of bounded curvature from a pose to a point, in closed form.

A runner leaves its port with a straight, bends on no radius smaller than R and ends with a straight. Between
those straights it is no shorter than the shortest path of curvature 1/R from the one pose to the other's
*point*, whichever end is looked at: a turn on the circle that touches the pose, then straight on (Dubins 1957
for the plane; in space the best path to a point stays in the plane of pose and point). Obstacles and the other
runners are left out, so the bound is one-sided. A point inside the touching circle is only as far as the
crow flies.

Over a range of ring angles the bound of the middle is lowered by how far the inlet moves: the length of the
planar path changes by at most 1 mm per mm of its end.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from manifoldgen.geometry.vectors import Array, array
from manifoldgen.manifold.model import Manifold
from manifoldgen.manifold.ring import RingFit
from manifoldgen.routing.problem import Problem, bare

CLOCK_STEP = 0.5  # degrees between the rings that are looked at
ON_CIRCLE = 1e-9  # mm: nearer than this to the touching circle a point lies on it


def one_sided(ends: ArrayLike, point: ArrayLike, radius: float, moves: ArrayLike = 0.0) -> Array:
    """Least length of a path of curvature 1/radius or less from poses to points that move by up to `moves` mm.

    Parameters
    ----------
    ends : (…, 2, 3), points and unit directions.  point : (…, 3).

    Returns
    -------
    array (…,), mm
    """
    e, away = array(ends), array(moves)
    v = array(point) - e[..., 0, :]
    x = (v * e[..., 1, :]).sum(-1)
    far = (v * v).sum(-1)
    y = np.sqrt(np.maximum(far - x * x, 0.0))
    square = x * x + (y - radius) ** 2
    straight = np.sqrt(np.maximum(square - radius**2, 0.0))
    turn = (np.arctan2(x, radius - y) - np.arctan2(straight, radius)) % (2 * math.pi)
    turn = np.where(turn > 2 * math.pi - 1e-9, 0.0, turn)  # straight ahead, rounded to a hair below nothing
    # as long as the point may have come from inside the circle, only the straight way is sure; on the circle
    # itself the arc is the shortest way (and inside it nothing shorter than that arc leads anywhere near)
    inside = np.sqrt(square) < radius + away - ON_CIRCLE
    found: Array = np.maximum(np.where(inside, np.sqrt(far), radius * turn + straight) - away, 0.0)
    return found


def run_bound(
    starts: ArrayLike, targets: ArrayLike, radius: float, first: float, last: float, *, turned: float = 0.0, rho: float = 0.0,
    lean: float = 0.0,
) -> Array:  # fmt: skip
    """Least length of a runner from start to target poses (…, 2, 3), mm.

    turned : how far the ring may be turned either way, rad.  rho : its radius, mm.  lean : sine of the inlets'
    half angle; an inlet then moves by rho · turned and its direction by lean · turned.
    """
    a, b = array(starts), array(targets)
    a, b = np.broadcast_arrays(a, b)
    begin = a[..., 0, :] + first * a[..., 1, :]
    end = b[..., 0, :] - last * b[..., 1, :]
    out = np.stack([begin, a[..., 1, :]], axis=-2)
    back = np.stack([end, -b[..., 1, :]], axis=-2)
    moves = (rho + last * lean) * turned
    apart = np.linalg.norm(end - begin, axis=-1)
    forward = one_sided(out, end, radius, moves)
    backward = one_sided(back, begin, radius, moves + apart * lean * turned)
    longest: Array = first + last + np.maximum(forward, backward)
    return longest


def lower_bound(p: Problem) -> float:
    """No layout's longest runner is shorter than this, mm: the best ring for the worst placed runner.

    Over all clocks (in steps of 0.5°, each with what lies between), ways round and, where it is free, orders.
    """
    smallest = float(p.radii.min())
    every = _rings(p)
    half = math.radians(CLOCK_STEP) / 2 if p.collector.clock_free else 0.0
    rho, lean = p.collector.ring_radius, math.sin(math.radians(p.collector.half_angle))
    n = len(p.searched)
    targets = np.array([p.inlets(r)[:n] for r in every])
    if p.collector.order_rule == "free":
        # any cylinder may take any inlet: the least over the ring, for each on its own
        places = np.array([p.inlets(r) for r in every])
        each = run_bound(
            p.starts[None, :, None],
            places[:, None],
            smallest,
            p.first,
            p.last,
            turned=half,
            rho=rho,
            lean=lean,
        )
        return float(each.min(axis=2).max(axis=1).min())
    each = run_bound(p.starts, targets, smallest, p.first, p.last, turned=half, rho=rho, lean=lean)
    worst = each.max(axis=1) if p.equal else each.mean(axis=1)
    return float(worst.min())


def bound_of(m: Manifold) -> float | None:
    """`lower_bound` of a manifold's runners, whether they have paths or not; None without a single collector."""
    p = bare(m)
    return None if p is None else lower_bound(p)


def _rings(p: Problem) -> list[RingFit]:
    c = p.collector
    clocks = np.arange(0.0, 360.0, CLOCK_STEP) if c.clock_free else [c.clock]
    mirrors = (False, True) if c.mirror_free and c.order_rule != "free" else (c.mirror,)
    return [RingFit(c.order, float(a), mirror) for mirror in mirrors for a in clocks]
