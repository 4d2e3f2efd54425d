"""Every weld as a curve: points, the way the weld runs, and the bisector of the two surfaces it joins.

One form serves all joints. At each place n1 and n2 are the outward normals of the two surfaces; the torch
looks along their bisector, and the weld runs along their cross product:

    butt ring                both normals are the tube's      tube on a plate   tube and plate face
    `crotch`, `inner seam`   the two inlets                   saddle            branch and parent

A butt ring and a cone ring count from a normal of their frame, right-handed about the gas.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from manifoldgen.access import curves
from manifoldgen.geometry.vectors import Array, array, cos_sin
from manifoldgen.manifold import seams
from manifoldgen.manifold.collector_profile import outer_profile
from manifoldgen.manifold.model import Collector, Flange, Joint, Manifold

RING_PLACES = 36
RING_STEP = 10.0  # mm, longest step between places of a ring
SEAM_STEP = 5.0  # mm, the same for a seam with two ends
LEAST_PLACES = 9  # of a seam


@dataclass(frozen=True, eq=False)
class Weld:
    """One side of a weld.

    points, along, bisector : (n, 3), mm and unit vectors; `along` is square to `bisector`.
    closed : whether the curve runs round.  length : of the whole curve, mm.
    hosts : names of the pieces and flanges it joins.
    side : ``outside``, or ``merge side`` where the torch goes in through the open end of the collector.
    hollow : names of the inlets that are seen as bores from the merge side, not as solid.
    """

    id: str
    points: Array
    along: Array
    bisector: Array
    closed: bool
    length: float
    hosts: tuple[str, ...]
    side: Literal["outside", "merge side"] = "outside"
    hollow: tuple[str, ...] = ()


def welds(m: Manifold) -> dict[str, tuple[Weld, ...]]:
    """The weld curves of every joint of a split manifold, by joint id; inner seams have two sides."""
    return {joint.id: curve_of(m, joint) for joint in m.joints}


def curve_of(m: Manifold, joint: Joint) -> tuple[Weld, ...]:
    """The weld curves of one joint; more than one where it can be welded from either side."""
    collector = m.collector_of(joint.owner)
    if joint.kind == "flange":
        return (_flange(m, joint),)
    if joint.kind == "saddle":
        return (_ring(joint, curves.saddle(m, joint, _count_of(joint))),)
    if collector is None:
        return (_butt(joint),)
    inlets = tuple(p.id for p in m.inlets_of(collector))
    if joint.kind in {"crotch", "inner seam"}:
        return _seam(m, collector, joint, inlets)
    if joint.kind == "star":
        return _star(collector, joint, inlets)
    return (_cone(collector, joint) if joint.kind == "cone" else _lid(collector, joint, inlets),)


def _lid(c: Collector, joint: Joint, inlets: tuple[str, ...]) -> Weld:
    """A plate collector's tube on its plate, or all lobes of a merge collector on its transition plate."""
    if c.kind == "bundle":
        back = -array(joint.direction)
        return _ring(joint, curves.foot(joint.at, back, -array(c.frame.z), joint.radius, _count_of(joint)))
    outline = curves.lobes(c, _count(2 * math.pi * c.rim_radius))
    return replace(_ring(joint, outline), hosts=(*inlets, joint.between[1]))


def _count(length: float) -> int:
    return max(RING_PLACES, math.ceil(length / RING_STEP))


def _count_of(joint: Joint) -> int:
    return _count(2 * math.pi * joint.radius)


def _ring(joint: Joint, shape: curves.WeldCurve) -> Weld:
    steps = np.linalg.norm(np.roll(shape.points, -1, 0) - shape.points, axis=1)
    return _weld(joint, shape, float(steps.sum()), joint.between, closed=True)


def _butt(joint: Joint) -> Weld:
    return _ring(joint, curves.ring(joint.at, joint.direction, joint.radius, _count_of(joint)))


def _flange(m: Manifold, joint: Joint) -> Weld:
    flange = next(f for f in m.flanges if f.name in joint.between)
    face = array(flange.frame.z) * (1.0 if flange.tube_side == "end" else -1.0)
    away = array(joint.direction) * (1.0 if flange.tube_side == "end" else -1.0)
    formed = _formed(m, flange, joint)
    return _ring(joint, formed or curves.foot(joint.at, away, face, joint.radius, _count_of(joint)))


def _formed(m: Manifold, flange: Flange, joint: Joint) -> curves.WeldCurve | None:
    """The foot of a formed tube: the port's outline, one wall outside it."""
    if flange.transition != "tube" or flange.tube_side != "end":
        return None
    run = m.run_of(joint.owner)
    port = next((p for p in m.ports if run is not None and p.number == run.number), None)
    if port is None or port.opening.kind == "round":
        return None
    length = port.opening.contour.length + 2 * math.pi * flange.tube.wall
    return curves.outline(port.opening.contour, flange.tube.wall, flange.frame, joint.at, _count(length))


def _seam(m: Manifold, c: Collector, joint: Joint, inlets: tuple[str, ...]) -> tuple[Weld, ...]:
    """An outer valley or an inner seam; the latter also from the merge side, along the edge of the bores' window."""
    held = {p.id: p.inlet for p in m.pieces if p.inlet}
    first, second = (c.order.index(held[name]) for name in joint.between)
    step = c.ring_angles[1] - c.ring_angles[0]
    angle = c.ring_angles[first] + step / 2
    outward = array((-cos_sin(angle)[1], cos_sin(angle)[0], 0.0))
    branch = 0 if joint.kind == "crotch" else 1

    def side(radius: float, end: float, sign: float) -> curves.WeldCurve:
        start = seams.touch_depth(c, radius)

        def point(share: float) -> Array:
            depth = start + (end - start) * share * share  # even steps where the seam turns round
            return array(outward * seams.seam_radius(c, depth, radius)[branch] + (0.0, 0.0, depth))

        return _between(c, (first, second), point, sign)

    bore = c.section.bore_radius
    if joint.kind == "crotch":
        return (_open(joint, side(c.section.radius, c.merge_depth, 1.0), joint.between),)
    outside = _open(joint, side(c.section.radius, seams.star_depth(c), 1.0), joint.between)
    inside = _open(joint, side(bore, min(c.join_depth, c.merge_depth), -1.0), joint.between)
    return outside, replace(inside, side="merge side", hollow=inlets)


def _between(
    c: Collector, pair: tuple[int, int], point: Callable[[float], Array], sign: float
) -> curves.WeldCurve:
    """Places evenly spaced along a seam of two inlets, in the bench frame."""
    dense = array([point(t) for t in np.linspace(1e-3, 1 - 1e-9, 400)])
    local = curves.spaced(dense, SEAM_STEP, LEAST_PLACES)
    points = c.frame.out(local)
    normals = []
    for k in pair:
        at, direction = array(c.inlets[k].at), array(c.inlets[k].direction)
        v = points - at
        v = v - np.outer(v @ direction, direction)
        normals.append(sign * v / np.linalg.norm(v, axis=1, keepdims=True))
    return curves.WeldCurve.of(points, *normals)


def _open(joint: Joint, shape: curves.WeldCurve, hosts: tuple[str, ...]) -> Weld:
    steps = np.linalg.norm(np.diff(shape.points, axis=0), axis=1)
    length = float(steps.sum()) * len(shape.points) / max(len(steps), 1)
    return _weld(joint, shape, length, hosts, closed=False)


def _weld(
    joint: Joint, shape: curves.WeldCurve, length: float, hosts: tuple[str, ...], *, closed: bool
) -> Weld:
    return Weld(joint.id, shape.points, shape.along, shape.bisector, closed, length, hosts)


def _star(c: Collector, joint: Joint, inlets: tuple[str, ...]) -> tuple[Weld, ...]:
    """The point where the inner seams end: one place a seam, looked at along the axis from either side."""
    made = []
    for depth, sign in ((seams.star_depth(c), -1.0), (min(c.join_depth, c.merge_depth), 1.0)):
        turns = np.radians(array(c.ring_angles) + (c.ring_angles[1] - c.ring_angles[0]) / 2)
        across = array([c.frame.turn((-math.sin(a), math.cos(a), 0.0)) for a in turns])
        look = np.repeat(sign * array(c.frame.z)[None], len(turns), axis=0)
        at = np.repeat(c.frame.out((0.0, 0.0, depth))[None], len(turns), axis=0)
        made.append(_weld(joint, curves.WeldCurve(at, across, look), 0.0, inlets, closed=True))
    return made[0], replace(made[1], side="merge side", hollow=inlets)


def _cone(c: Collector, joint: Joint) -> Weld:
    """The ring where the lid's edge and the cone meet, one wall downstream of the flat cut."""
    (rim, start), (radius, end) = outer_profile(c)[:2]
    depth = start + c.section.wall
    slope = (rim - radius) / (end - start)
    at = c.frame.out((0.0, 0.0, depth))
    shape = curves.ring(at, c.frame.z, rim - slope * c.section.wall, _count(2 * math.pi * rim), slope)
    return _ring(joint, shape)
