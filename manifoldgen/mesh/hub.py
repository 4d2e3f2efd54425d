"""The collector's own pieces: transition plate, cone, and the planes that mitre its inlets; drawn in place."""

from __future__ import annotations

import numpy as np

from manifoldgen.geometry.path import Path, Straight
from manifoldgen.geometry.pose import Pose
from manifoldgen.geometry.shapes import HalfSpace
from manifoldgen.geometry.vectors import Array, array, cos_sin, vec
from manifoldgen.manifold.collector import local_inlets
from manifoldgen.manifold.collector_profile import Profile, bore_profile, outer_profile
from manifoldgen.manifold.model import Collector
from manifoldgen.mesh.cutting import minus
from manifoldgen.mesh.rings import edges_of, filled, ring, sleeve
from manifoldgen.mesh.triangles import Mesh
from manifoldgen.mesh.tubes import rod


def inlet_planes(c: Collector, cylinder: int) -> tuple[HalfSpace, ...]:
    """The planes that cut one inlet: the flat at the merge depth and the bisectors to its neighbours."""
    flat = HalfSpace(vec(c.frame.out((0.0, 0.0, c.merge_depth))), c.frame.z)
    if c.kind == "bundle":
        return (flat,)
    angle, half = c.ring_angles[c.order.index(cylinder)], 180.0 / len(c.order)
    sides = {round(a % 360.0, 9) for a in (angle + half + 90.0, angle - half - 90.0)}
    return (flat, *(HalfSpace(c.frame.at, vec(c.frame.turn(_outwards(a)))) for a in sorted(sides)))


def lid(c: Collector, name: str) -> Mesh:
    """The lid: a disc one wall thick at the merge depth, bored out for every inlet."""
    (rim, start), (radius, end) = outer_profile(c)[:2]
    edge = rim - (rim - radius) * c.section.wall / (end - start)
    disc = filled(name, _turned(c, [(rim, start), (edge, start + c.section.wall)]))
    bores = []
    for at, along in local_inlets(c):
        middle = c.merge_depth / cos_sin(c.half_angle)[0]
        begin = array(at) + (middle - 2 * c.section.radius) * array(along)
        pose = Pose.heading(c.frame.out(begin), c.frame.turn(along))
        bores.append(
            rod("bore", Path(pose, (Straight(4 * c.section.radius + c.section.wall),)), c.section.bore_radius)
        )
    return minus(disc, bores)


def cone(c: Collector, name: str) -> Mesh:
    """The cone behind the lid, to where the outlet tube begins."""
    (rim, start), (radius, end) = outer_profile(c)[:2]
    depth = start + c.section.wall
    edge = rim - (rim - radius) * c.section.wall / (end - start)
    return sleeve(name, _turned(c, [(edge, depth), *outer_profile(c)[1:]]), _turned(c, bore_profile(c)))


def skin(c: Collector) -> Mesh:
    """The outside of lid and cone, full, run on a little at the outlet: what a branch is cut back to."""
    return filled("cone", _turned(c, outer_profile(c)))


def _turned(c: Collector, profile: Profile) -> list[Array]:
    """An outline turned about the collector's axis, as rings."""
    count = edges_of(c.rim_radius)
    x, y, z = (array(a) for a in (c.frame.x, c.frame.y, c.frame.z))
    return [ring(array(c.frame.at) + depth * z, x, y, radius, count) for radius, depth in profile]


def _outwards(ring_angle: float) -> Array:
    ca, sa = cos_sin(ring_angle)
    return np.array([-sa, ca, 0.0])
