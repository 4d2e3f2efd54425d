"""Do two parts share space? Asked of the numbers, before anything is glued: glue does not see overlap.

Runs are measured whole, up to the collector joint plane, against each other, against the inlets of others, the cones and
the flanges; what is joined is left out where it is joined. Distances are certified (`geometry.distance`).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from manifoldgen.errors import GeometryError
from manifoldgen.geometry.distance import between_tubes, to_shape, within_tube
from manifoldgen.geometry.path import Path, Straight
from manifoldgen.geometry.shapes import Cone, Cylinder, Plate, Shape, Tube
from manifoldgen.geometry.vectors import array, cos_sin, vec
from manifoldgen.manifold.collector import inlet_lead
from manifoldgen.manifold.model import Collector, Flange, Manifold, Run
from manifoldgen.pieces.part import part_of

LEAST = 1e-3  # mm: what lies nearer is taken to overlap (the distances are proved to that)
TOUCH = 0.005  # mm: less than this is said to touch
_OFF_FACE = 0.25  # share of a bend that stands on a flange which is not measured against that flange


@dataclass(frozen=True)
class Overlap:
    """Two parts that share space.  depth : mm, as `geometry.distance` measures it."""

    a: str
    b: str
    depth: float

    def __str__(self) -> str:
        """One sentence naming both and the depth."""
        if self.a == self.b:
            return f"it runs into itself by {self.depth:.2f} mm; change its path"
        if self.depth < TOUCH:
            return f"it touches the {self.b}, so the two cannot be told apart; move one of them away"
        return f"it runs into the {self.b} by {self.depth:.2f} mm; change one of the two paths"


def overlaps(m: Manifold) -> tuple[Overlap, ...]:
    """All pairs of parts that share space, in the order of the parts; empty if it may be glued."""
    found = list(_between_runs(m))
    for run in _laid(m):
        gap = within_tube(_tube(run))
        if gap is not None and gap.gap < LEAST:
            found.append(Overlap(run.name, run.name, -gap.gap))
        found += _with_collectors(m, run)
        found += _with_flanges(m, run)
    return tuple(found)


def _laid(m: Manifold) -> list[Run]:
    return [run for run in m.runs if run.path is not None and run.path.length > 0]


def _between_runs(m: Manifold) -> Iterator[Overlap]:
    joined = {frozenset((b.takeoff, b.run.name)) for b in m.branches}
    for a, b in combinations(_laid(m), 2):
        if frozenset((a.name, b.name)) not in joined:
            gap = between_tubes(_tube(a), _tube(b)).gap
            if gap < LEAST:
                yield Overlap(a.name, b.name, -gap)


def _with_collectors(m: Manifold, run: Run) -> Iterator[Overlap]:
    tube = _tube(run)
    on_cone = {b.run.name for b in m.branches if b.element is None}
    for c in m.collectors:
        for cylinder in c.order:
            if cylinder == run.number or c.merge_depth <= 0:
                continue
            leg = Path(c.inlet(cylinder), (Straight(c.merge_depth / cos_sin(c.half_angle)[0]),))
            gap = between_tubes(tube, Tube(leg, c.section.radius)).gap
            if gap < LEAST:
                yield Overlap(run.name, "collector", -gap)
                break
        else:
            if run.kind != "outlet" and run.name not in on_cone:
                gap = to_shape(_before_inlet(run, c), _cone(c)).gap
                if gap < LEAST:
                    yield Overlap(run.name, "collector", -gap)


def _with_flanges(m: Manifold, run: Run) -> Iterator[Overlap]:
    own = {"runner": m.head, "outlet": m.turbo, "wastegate": m.wastegate_flange}[run.kind]
    for flange in m.flanges:
        shape = body(flange)
        tube = _off_flange(run) if flange is own else _tube(run)
        if shape is None or tube is None:
            continue
        gap = to_shape(tube, shape).gap
        if gap < LEAST:
            yield Overlap(run.name, flange.name, -gap)


def body(flange: Flange) -> Shape | None:
    """The flange as a plain shape, its holes filled."""
    if flange.outline is not None:
        return Plate(flange.frame, flange.outline, flange.thickness)
    if flange.vband is None:
        return None
    far = vec(flange.frame.out((0.0, 0.0, flange.thickness)))
    return Cylinder(flange.frame.at, far, flange.vband.od / 2)


def _tube(run: Run) -> Tube:
    return Tube(_path(run), run.section.radius)


def _path(run: Run) -> Path:
    if run.path is None:
        raise GeometryError("its path is not known yet", run.name)
    return run.path


def _before_inlet(run: Run, c: Collector) -> Tube:
    path = _path(run)
    lead = inlet_lead(c) if run.number in c.order else 0.0
    return Tube(part_of(path, 0.0, path.length - lead) if lead else path, run.section.radius)


def _off_flange(run: Run) -> Tube | None:
    """The run without the straight, or the part of a bend, that stands on its own flange."""
    path = _path(run)
    elements = path.elements if run.kind == "runner" else path.elements[::-1]
    skipped = 0.0
    for element, segment in zip(
        elements, path.segments if run.kind == "runner" else path.segments[::-1], strict=True
    ):
        if not isinstance(element, Straight):
            skipped += 0.0 if skipped > run.section.radius / 2 else _OFF_FACE * segment.length
            break
        skipped += segment.length
    if skipped >= path.length:
        return None
    span = (skipped, path.length) if run.kind == "runner" else (0.0, path.length - skipped)
    return Tube(part_of(path, *span), run.section.radius)


def _cone(c: Collector) -> Cone:
    at, z = array(c.frame.at), array(c.frame.z)
    start, end = (vec(at + np.multiply(z, depth)) for depth in (c.merge_depth, c.length))
    return Cone(start, end, c.rim_radius, c.outlet.radius)
