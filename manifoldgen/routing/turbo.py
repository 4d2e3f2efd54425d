"""The manifold with its turbo, and all that hangs on it, moved by a few millimetres."""

from __future__ import annotations

from dataclasses import replace

from numpy.typing import ArrayLike

from manifoldgen.geometry.path import Path
from manifoldgen.geometry.pose import Frame, Pose
from manifoldgen.geometry.shapes import Box, Capsule, Cone, Cylinder, HalfSpace, Plate, Shape
from manifoldgen.geometry.vectors import Vec, array, vec
from manifoldgen.manifold.model import Manifold, Obstacle, Run
from manifoldgen.readers import Scan


def moved(m: Manifold, shift: ArrayLike) -> Manifold:
    """Collector, outlet, branches, their flanges, bolts and bodies moved by `shift` mm; head and runners stay.

    Runners that have a path keep it: their inlets move away from them.
    """

    def point(at: Vec) -> Vec:
        return vec(array(at) + array(shift))

    def pose(p: Pose) -> Pose:
        return replace(p, at=point(p.at))

    def frame(f: Frame) -> Frame:
        return replace(f, at=point(f.at))

    def run(r: Run) -> Run:
        path = r.path and Path(pose(r.path.start), r.path.elements)
        return replace(r, start=pose(r.start), path=path)

    def solid(shape: Shape | Scan) -> Shape | Scan:
        if isinstance(shape, Box | Plate):
            return replace(shape, frame=frame(shape.frame))
        if isinstance(shape, Cylinder | Capsule | Cone):
            return replace(shape, start=point(shape.start), end=point(shape.end))
        return replace(shape, at=point(shape.at)) if isinstance(shape, HalfSpace) else shape

    def body(o: Obstacle) -> Obstacle:
        return replace(o, shape=solid(o.shape)) if o.joined else o

    gate = m.wastegate_flange
    return replace(
        m,
        turbo=replace(m.turbo, frame=frame(m.turbo.frame)),
        wastegate_flange=gate and replace(gate, frame=frame(gate.frame)),
        studs=tuple(s if s.flange == m.head.name else replace(s, at=point(s.at)) for s in m.studs),
        collectors=tuple(
            replace(c, frame=frame(c.frame), inlets=tuple(pose(i) for i in c.inlets)) for c in m.collectors
        ),
        runners=tuple(r if r.target is None else replace(r, target=pose(r.target)) for r in m.runners),
        outlet=run(m.outlet),
        branches=tuple(replace(b, run=run(b.run), root=point(b.root)) for b in m.branches),
        obstacles=tuple(body(o) for o in m.obstacles),
    )
