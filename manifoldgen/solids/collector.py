"""The collector as a solid: inlet tubes mitred into each other, transition plate, cone; and its pieces.

Built in the collector's own frame (joint plane z = 0, flow +z), then placed: outer shapes fused, inner shapes
fused, one cut. The tubes run a little into the cone and the lumens through the transition plate, so that no two faces
that meet ever coincide. Each inlet begins on a disc square to itself, in the joint plane or `inlet_lead`
upstream of it; the cone ends at `length` with the outlet's own ring.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import cadquery as cq

from manifoldgen.errors import SolidError
from manifoldgen.geometry.path import Path, Straight
from manifoldgen.geometry.shapes import HalfSpace
from manifoldgen.geometry.vectors import Array, array, cos_sin, vec
from manifoldgen.manifold.collector import OVERRUN, inlet_lead, inlet_start, local_inlets
from manifoldgen.manifold.collector_profile import bore_profile, outer_profile
from manifoldgen.manifold.collector_volume import collector_volume
from manifoldgen.manifold.model import Collector
from manifoldgen.solids import _occ
from manifoldgen.solids.acceptance import Acceptance, accept
from manifoldgen.solids.tube import tube_solid

_INTO_CONE = 0.5  # mm the tubes run into the cone
_TURNS = (0.0, 7.0, 23.0)  # degrees the seams are turned by, attempt by attempt


def expected_genus(c: Collector) -> int:
    """Passages of the open collector: N inlets and one outlet make N + 1 openings, one less is its genus."""
    return len(c.order)


@dataclass(frozen=True)
class BuiltCollector:
    """A collector in the bench frame: its metal, the gas inside it, and what the metal was accepted by."""

    metal: cq.Shape
    gas: cq.Shape
    accepted: Acceptance


def collector_solid(c: Collector) -> cq.Shape:
    """The collector as one accepted solid in the bench frame; `c.stub` plays no part here.

    Raises
    ------
    SolidError : the kernel made no acceptable solid, with the last reason.
    """
    return build_collector(c).metal


def build_collector(c: Collector, *, self_intersection: bool = False) -> BuiltCollector:
    """The collector and what it was accepted by; tried again with its seams turned if the kernel fails."""
    volume = collector_volume(c)
    failure = SolidError(c.name, "not built")
    for turn in _TURNS:
        metal, gas = _local(c, turn)
        try:
            found = accept(c.name, metal, expected_genus(c), volume, self_intersection=self_intersection)
        except SolidError as error:
            failure = error
            continue
        return BuiltCollector(_occ.moved(metal, c.frame), _occ.moved(gas, c.frame), found)
    raise failure


def collector_pieces(c: Collector) -> dict[str, cq.Shape]:
    """The collector's pieces in the bench frame: ``inlet <cylinder>`` each, ``lid``, ``cone``."""
    pieces = {}
    for cylinder in c.order:
        straight = Straight(inlet_lead(c) + c.merge_depth / cos_sin(c.half_angle)[0])
        path = Path(inlet_start(c, cylinder), (straight,))
        pieces[f"inlet {cylinder}"] = tube_solid(path, c.section, end=inlet_planes(c, cylinder))
    lid, cone = _lid_and_cone(c)
    pieces["lid"] = _occ.moved(lid, c.frame)
    pieces["cone"] = _occ.moved(cone, c.frame)
    return pieces


def inlet_planes(c: Collector, cylinder: int) -> tuple[HalfSpace, ...]:
    """The planes that cut one inlet's tube: the bisectors to its neighbours and the flat cut.

    Given to `tube_solid` as `end`, they turn a runner's last straight and its inlet into one tube.
    """
    angle, half = c.ring_angles[c.order.index(cylinder)], 180.0 / len(c.order)
    planes = [HalfSpace(vec(c.frame.out((0.0, 0.0, c.merge_depth))), c.frame.z)]
    if c.kind == "merge":
        away = {angle + half + 90.0, angle - half - 90.0} if half < 90.0 else {angle + 180.0}
        planes += [HalfSpace(c.frame.at, vec(c.frame.turn(_outwards(a)))) for a in sorted(away)]
    return tuple(planes)


def _local(c: Collector, turn: float) -> tuple[cq.Shape, cq.Shape]:
    """Metal and gas in the local frame, the seams turned by `turn` degrees."""
    c_g, _ = cos_sin(c.half_angle)
    lead = inlet_lead(c)
    lid = c.merge_depth + c.section.wall
    reach = lead + (lid + OVERRUN) / c_g + 2 * c.section.radius
    outers: list[cq.Shape] = []
    inners: list[cq.Shape] = []
    for (at, along), angle in zip(local_inlets(c), c.ring_angles, strict=True):
        seam = _outwards(angle + turn)
        begin = array(at) - lead * array(along)
        for tubes, radius, depth in (
            (outers, c.section.radius, c.merge_depth + _INTO_CONE),
            (inners, c.section.bore_radius, lid + OVERRUN),
        ):
            tubes.append(_before(_occ.cylinder(begin, along, radius, reach, seam), depth))
    valley = _outwards(c.ring_angles[0] + 180.0 / len(c.order) + turn)
    outers.append(_turned(outer_profile(c), valley))
    inners.append(_turned(bore_profile(c), valley))
    gas = _occ.fuse(inners)
    return _occ.cut(_occ.fuse(outers), [gas]), gas


def _lid_and_cone(c: Collector) -> tuple[cq.Shape, cq.Shape]:
    """Lid and cone in the local frame, parted by the lid's downstream plane."""
    c_g, _ = cos_sin(c.half_angle)
    depth = c.merge_depth + c.section.wall
    valley = _outwards(c.ring_angles[0] + 180.0 / len(c.order))
    shell = _turned(outer_profile(c), valley)
    lid = _before(shell, depth)
    holes = []
    for (at, along), angle in zip(local_inlets(c), c.ring_angles, strict=True):
        below = array(at) + array(along) * (c.merge_depth / c_g - 2 * c.section.radius)
        long = 4 * c.section.radius + c.section.wall / c_g
        holes.append(_occ.cylinder(below, along, c.section.bore_radius, long, _outwards(angle)))
    bore = _turned(bore_profile(c), valley)
    behind = _occ.half_space((0.0, 0.0, depth), (0.0, 0.0, 1.0), 4 * (c.rim_radius + c.length))
    return _occ.cut(lid, [_occ.fuse(holes)]), _occ.cut(_occ.cut(shell, [behind]), [bore])


def _before(shape: cq.Shape, depth: float) -> cq.Shape:
    """What lies upstream of a depth."""
    size = 8 * (abs(depth) + 200.0)
    return _occ.common(shape, [_occ.half_space((0.0, 0.0, depth), (0.0, 0.0, 1.0), size)])


def _outwards(ring_angle: float) -> Array:
    ca, sa = cos_sin(ring_angle)
    return array((-sa, ca, 0.0))


def _turned(profile: Sequence[tuple[float, float]], seam: Array) -> cq.Shape:
    """An outline turned about the axis, closed at both ends."""
    first, last = profile[0], profile[-1]
    return _occ.revolved([(0.0, first[1]), *profile, (0.0, last[1])], seam)
