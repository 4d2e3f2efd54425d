"""The wastegate branch where it leaves its parent: saddle, hole and both together, built about the bend.

Booleans of bends are sound in a local frame with the bend's own torus, so what the mouth touches is taken out
of the parent, built at the origin and moved back; the rest of both tubes joins face to face.

    parent = outer − inner − branch bore        branch = branch outer − parent outer − branch bore
    both   = (outer + branch outer) − (inner + branch bore)
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import cadquery as cq
import numpy as np

from manifoldgen.errors import SolidError
from manifoldgen.geometry.path import Arc, Line, Path, Segment
from manifoldgen.geometry.pose import Frame
from manifoldgen.geometry.vectors import array, vec
from manifoldgen.manifold.model import Branch, Collector, Section
from manifoldgen.solids import _occ
from manifoldgen.solids.mouth import MARGIN, Mouth, cone_slope, first_straight, on_cone, on_run, stretch

PAST = 5.0  # mm that bores stick out of open ends


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


def off_run(branch: Branch, parent: Path, section: Section, name: str) -> Saddle:
    """Build a branch off a bend of the run called `name`.

    Raises GeometryError where the mouth does not fit (see `mouth.on_run`), SolidError where the kernel fails.
    """
    mouth = on_run(branch, parent, section, name)
    zone = _zone(parent, mouth)
    bend = parent.segments[branch.element or 0]
    if not isinstance(bend, Arc):
        raise SolidError(branch.run.name, f"element {(branch.element or 0) + 1} of the {name} is no bend")
    x = -array(bend.radial)
    z = array(bend.direction)
    frame = Frame(vec(bend.point(0.0)), vec(x), vec(np.cross(z, x)), bend.direction)
    here = [_into(frame, s) for s in zone.segments]
    outers = [_filled(s, section.radius) for s in here]
    inners = [_filled(s, section.bore_radius) for s in here]
    ends = _sticking_out(zone, frame, section.bore_radius)
    length = mouth.branch + MARGIN
    outer, inner = _branch_tubes(branch, frame, length)
    whole = _one(outers)
    both = _occ.cut(_occ.fuse([*outers, outer]), [_occ.fuse([*inners, *ends, inner])])
    made = Saddle(
        parent=_occ.cut(whole, [_occ.fuse([*inners, *ends]), inner]),
        branch=_occ.cut(outer, [whole, inner]),
        both=both,
        lumen=_occ.fuse([*inners, _bore(branch, frame, length)]),
        before=stretch(parent, 0.0, mouth.first - MARGIN),
        after=stretch(parent, mouth.last + MARGIN, parent.length),
        rest=_rest(branch, length),
    )
    return _placed(made, frame, branch.run.name)


def off_cone(branch: Branch, collector: Collector, metal: cq.Shape, gas: cq.Shape) -> Saddle:
    """Build a branch off the collector's cone; `metal` and `gas` are the whole collector and its lumen.

    `parent` of the answer is the collector with its hole; its `before` and `after` are empty.
    """
    mouth = on_cone(branch, collector)
    frame = collector.frame
    back = _occ.location(frame).inverse
    local = metal.moved(back)
    outer, inner = _branch_tubes(branch, frame, mouth.branch + MARGIN)
    bore = _bore(branch, frame, mouth.branch + MARGIN)
    wall = collector.outlet.wall * (1 + cone_slope(collector) ** 2) ** 0.5
    skin, half, inside = (_cone(collector, k * wall) for k in (0.0, 0.5, 1.5))
    inner_outside = _occ.cut(inner, [inside])
    stub = _occ.cut(outer, [half])
    made = Saddle(
        parent=_occ.cut(local, [inner_outside]),
        branch=_occ.cut(outer, [skin, inner]),
        both=_occ.cut(_occ.fuse([local, stub]), [inner_outside]),
        lumen=_occ.fuse([gas.moved(back), _occ.cut(bore, [inside])]),
        before=Path(collector.inlets[0], ()),
        after=Path(collector.inlets[0], ()),
        rest=_rest(branch, mouth.branch + MARGIN),
    )
    return _placed(made, frame, branch.run.name)


def _zone(parent: Path, mouth: Mouth) -> Path:
    return stretch(parent, mouth.first - MARGIN, mouth.last + MARGIN)


def _one(shapes: list[cq.Shape]) -> cq.Shape:
    return _occ.fuse(shapes)


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


def _sticking_out(zone: Path, frame: Frame, radius: float) -> list[cq.Shape]:
    turned = frame.matrix.T
    start, end = zone.start, zone.end
    return [
        _occ.cylinder(frame.into(start.at), -(turned @ array(start.direction)), radius, PAST),
        _occ.cylinder(frame.into(end.at), turned @ array(end.direction), radius, PAST),
    ]


def _branch_tubes(branch: Branch, frame: Frame, length: float) -> tuple[cq.Shape, cq.Shape]:
    root, axis = frame.into(branch.root), frame.matrix.T @ array(branch.axis)
    tube = branch.run.section
    return (
        _occ.cylinder(root, axis, tube.radius, length),
        _occ.cylinder(root, axis, tube.bore_radius, length + PAST),
    )


def _bore(branch: Branch, frame: Frame, length: float) -> cq.Shape:
    root, axis = frame.into(branch.root), frame.matrix.T @ array(branch.axis)
    return _occ.cylinder(root, axis, branch.run.section.bore_radius, length)


def _rest(branch: Branch, length: float) -> Path:
    path = branch.run.path
    if path is None:
        raise SolidError(branch.run.name, "its path is not known yet")
    behind = float((array(path.start.at) - array(branch.root)) @ array(branch.axis))
    return stretch(path, length - behind, path.length)


def _cone(collector: Collector, under: float) -> cq.Shape:
    """The cone of the collector's outside moved in by `under` mm of radius and run on both ways, filled."""
    slope, reach = cone_slope(collector), 4 * collector.rim_radius
    low, high = collector.merge_depth - reach, collector.length + reach
    radii = [collector.outlet.radius - under + (collector.length - z) * slope for z in (low, high)]
    for k, (z, r) in enumerate(zip((low, high), radii, strict=True)):
        if r < 1.0:  # its tip lies before that end
            tip = collector.length + (collector.outlet.radius - under - 1.0) / slope
            low, high = (tip, high) if k == 0 else (low, tip)
            radii[k] = 1.0
        del z
    return _occ.cone((0.0, 0.0, low), (0.0, 0.0, 1.0), radii[0], radii[1], high - low)


def _placed(made: Saddle, frame: Frame, part: str) -> Saddle:
    place: Callable[[cq.Shape], cq.Shape] = lambda s: _occ.moved(s, frame)  # noqa: E731
    for what in ("parent", "branch", "both", "lumen"):
        count = len(getattr(made, what).Solids())
        if count != 1:
            raise SolidError(part, f"the {what} round its mouth came out as {count} solids instead of 1")
    return replace(
        made, parent=place(made.parent), branch=place(made.branch), both=place(made.both), lumen=place(made.lumen)
    )


__all__ = ["Saddle", "first_straight", "off_cone", "off_run"]
