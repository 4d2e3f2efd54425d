"""The parts of a manifold as shapes that can be measured against each other."""

from __future__ import annotations

import math

from manifoldgen.geometry.path import Path, Straight
from manifoldgen.geometry.pose import Pose
from manifoldgen.geometry.shapes import Cone, Tube
from manifoldgen.geometry.vectors import vec
from manifoldgen.manifold.model import Collector, Run
from manifoldgen.pieces.part import SLIVER, part_of

CONE_STEP = 1.0  # mm of radius: how much a slice of the cone may stand outside it


def stretch(run: Run, start: float, end: float) -> Tube | None:
    """A run's tube from arc length `start` to `end` mm; None where nothing of it is left."""
    if run.path is None:
        return None
    start, end = max(start, 0.0), min(end, run.path.length)
    if end - start <= SLIVER:
        return None
    return Tube(part_of(run.path, start, end), run.section.radius)


def whole(run: Run) -> Tube | None:
    """A run's tube from end to end; None while it has no path."""
    return stretch(run, 0.0, math.inf)


def legs(collector: Collector) -> tuple[tuple[int, Tube], ...]:
    """The collector's inlets below the ring plane, each with its cylinder; none for a bundle."""
    if collector.kind == "bundle" or collector.merge_depth <= 0:
        return ()
    leg = Straight(collector.merge_depth / math.cos(math.radians(collector.half_angle)))
    tubes = (Tube(Path(pose, (leg,)), collector.section.radius) for pose in collector.inlets)
    return tuple(zip(collector.order, tubes, strict=True))


def cone(collector: Collector) -> Cone:
    """The collector's cone, outside."""
    start, end = (vec(collector.frame.out((0, 0, z))) for z in (collector.merge_depth, collector.length))
    return Cone(start, end, collector.rim_radius, collector.outlet.radius)


def cone_slices(collector: Collector) -> tuple[Tube, ...]:
    """The cone as short tubes that enclose it, each at most 1 mm of radius too large."""
    first, last = collector.rim_radius, collector.outlet.radius
    count = max(1, math.ceil(abs(first - last) / CONE_STEP))
    depth = (collector.length - collector.merge_depth) / count
    made: list[Tube] = []
    for k in range(count if depth > SLIVER else 0):
        at = vec(collector.frame.out((0, 0, collector.merge_depth + k * depth)))
        pose = Pose(at, collector.frame.z, collector.frame.y)
        ends = (first + (last - first) * (k + i) / count for i in (0, 1))
        made.append(Tube(Path(pose, (Straight(depth),)), max(ends)))
    return tuple(made)
