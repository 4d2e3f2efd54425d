"""The wastegate branch where it leaves its parent: saddle, hole and both together, built about the bend.

Booleans of bends are sound in a local frame with the bend's own torus, so what the mouth touches is taken out
of the parent, built at the origin and moved back; the rest of both tubes joins face to face.

    parent = outer − inner − branch bore        branch = branch outer − parent outer − branch bore
    both   = (outer + branch outer) − (inner + branch bore)
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import cadquery as cq
import numpy as np

from manifoldgen.errors import SolidError
from manifoldgen.geometry.foot import nearest
from manifoldgen.geometry.path import Arc, Line, Path, Segment
from manifoldgen.geometry.pose import Frame
from manifoldgen.geometry.vectors import array, vec
from manifoldgen.manifold.leaving import cone_radius, cone_slope
from manifoldgen.manifold.model import Branch, Collector, Manifold
from manifoldgen.manifold.mouth import Parent, first_straight
from manifoldgen.manifold.mouth_fit import margin_of, sound_mouth
from manifoldgen.pieces.part import part_of
from manifoldgen.solids import _occ

_TIP = 1.0  # mm of radius at which a cone that is run on stops


@dataclass(frozen=True)
class Saddle:
    """What is built round a mouth, in place.

    parent : the parent there, with its hole.  branch : the branch's beginning, saddled onto the parent.
    both : the two as one solid.  lumen : the gas in both.
    before, after : what is left of the parent's path on either side (no element: nothing).
    rest : what is left of the branch's path.
    """

    parent: cq.Shape
    branch: cq.Shape
    both: cq.Shape
    lumen: cq.Shape
    before: Path
    after: Path
    rest: Path


def off_run(m: Manifold, branch: Branch, parent: Parent, laid: Path) -> Saddle:
    """Build a branch off a bend of its parent, whose tube follows `laid` between its neighbours.

    Raises GeometryError where the mouth does not fit (see `mouth_fit`), SolidError where the kernel fails.
    """
    mouth, margin, section = sound_mouth(m, branch), margin_of(m), parent.run.section
    at = parent.bend.point(0.0)[None]
    moved = float(
        nearest(laid, at)[1][0] - nearest(parent.path, at)[1][0]
    )  # sockets and formed ends shift it
    first, last = mouth.first + moved - margin, mouth.last + moved + margin
    zone = part_of(laid, first, last)
    frame = bend_frame(parent.bend)
    here = [_into(frame, s) for s in zone.segments]
    skin, bore = (
        _occ.fuse([_filled(s, radius) for s in here], glue="full")
        for radius in (section.radius, section.bore_radius)
    )
    length = mouth.reach + margin
    outer, inner = _branch_tubes(branch, frame, length)
    gas = _occ.fuse([bore, inner])
    made = Saddle(
        parent=_occ.cut(skin, [gas]),
        branch=_occ.cut(outer, [skin, inner]),
        both=_occ.cut(_occ.fuse([skin, outer]), [gas]),
        lumen=gas,
        before=part_of(laid, 0.0, first),
        after=part_of(laid, last, laid.length),
        rest=_rest(branch, length),
    )
    return _placed(made, frame, branch.run.name)


def off_cone(m: Manifold, branch: Branch, metal: cq.Shape, gas: cq.Shape) -> Saddle:
    """Build a branch off the collector's cone; `metal` and `gas` are the whole collector and its lumen.

    `parent` of the answer is the collector with its hole; its `before` and `after` are empty.
    Raises as `off_run`.
    """
    length = sound_mouth(m, branch).reach + margin_of(m)
    collector = m.collectors[0]
    frame = collector.frame
    back = _occ.location(frame).inverse
    local = metal.moved(back)
    outer, inner = _branch_tubes(branch, frame, length)
    wall = collector.outlet.wall * (1 + cone_slope(collector) ** 2) ** 0.5
    skin, half, inside = (_cone(collector, k * wall) for k in (0.0, 0.5, 1.5))
    inner_outside = _occ.cut(inner, [inside])
    stub = _occ.cut(outer, [half])
    made = Saddle(
        parent=_occ.cut(local, [inner_outside]),
        branch=_occ.cut(outer, [skin, inner]),
        both=_occ.cut(_occ.fuse([local, stub]), [inner_outside]),
        lumen=_occ.fuse([gas.moved(back), inner_outside]),
        before=Path(collector.inlets[0], ()),
        after=Path(collector.inlets[0], ()),
        rest=_rest(branch, length),
    )
    return _placed(made, frame, branch.run.name)


def bend_frame(bend: Arc) -> Frame:
    """Axes at a bend's first tangent point: z with the flow, x away from the bend's centre."""
    y = np.cross(bend.direction, bend.radial)
    return Frame(vec(bend.point(0.0)), bend.radial, vec(y), bend.direction)


def _into(frame: Frame, segment: Segment) -> Segment:
    turned = frame.matrix.T
    if isinstance(segment, Line):
        return replace(
            segment, at=vec(frame.into(segment.at)), direction=vec(turned @ array(segment.direction))
        )
    return replace(
        segment,
        centre=vec(frame.into(segment.centre)),
        radial=vec(turned @ array(segment.radial)),
        direction=vec(turned @ array(segment.direction)),
    )


def _filled(segment: Segment, radius: float) -> cq.Shape:
    if isinstance(segment, Line):
        return _occ.cylinder(segment.at, segment.direction, radius, segment.length)
    return _occ.torus_sector(
        segment.centre, segment.axis, segment.radial, clr=segment.clr, radius=radius, angle=segment.angle
    )


def _branch_tubes(branch: Branch, frame: Frame, length: float) -> tuple[cq.Shape, cq.Shape]:
    root, axis = frame.into(branch.root), frame.matrix.T @ array(branch.axis)
    tube = branch.run.section
    return (
        _occ.cylinder(root, axis, tube.radius, length),
        _occ.cylinder(root, axis, tube.bore_radius, length),
    )


def _rest(branch: Branch, length: float) -> Path:
    path = branch.run.path
    if path is None:
        raise SolidError(branch.run.name, "its path is not known yet")
    behind = float((array(path.start.at) - array(branch.root)) @ array(branch.axis))
    return part_of(path, length - behind, path.length)


def _cone(collector: Collector, under: float) -> cq.Shape:
    """The cone of the collector's outside moved in by `under` mm of radius and run on both ways, filled."""
    slope, reach = cone_slope(collector), 4 * collector.rim_radius
    low, high = collector.merge_depth - reach, collector.length + reach

    def radius(z: float) -> float:
        return float(cone_radius(collector, z)) - under

    if slope > 0:  # stop before its tip
        high = min(high, collector.length + (collector.outlet.radius - under - _TIP) / slope)
    elif slope < 0:
        low = max(low, collector.length + (collector.outlet.radius - under - _TIP) / slope)
    return _occ.cone((0.0, 0.0, low), (0.0, 0.0, 1.0), radius(low), radius(high), high - low)


def _placed(made: Saddle, frame: Frame, part: str) -> Saddle:
    shapes = {what: getattr(made, what) for what in ("parent", "branch", "both", "lumen")}
    for what, shape in shapes.items():
        if (count := len(shape.Solids())) != 1:
            raise SolidError(part, f"the {what} round its mouth came out as {count} solids instead of 1")
    parent, out, both, gas = (_occ.moved(shape, frame) for shape in shapes.values())
    return replace(made, parent=parent, branch=out, both=both, lumen=gas)


def mouth_bore(branch: Branch, frame: Frame) -> cq.Shape:
    """The branch's bore in local coordinates of `frame`, from its root to the end of its first straight."""
    return _branch_tubes(branch, frame, first_straight(branch))[1]
