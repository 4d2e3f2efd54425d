"""How long the solids take: our way against the plain way, on the same manifold in the same run.

    python -m tests.benchmarks.bench_solids [job.yaml] [runs]

Plain: every tube outer sweep less inner sweep, the inlets the same way round, flanges drilled hole by hole,
everything fused one after the other with default booleans. Both make the parts, the whole and the gas side;
ours carries the collector's acceptance on top, neither that of the rest. Both volumes are printed: they agree.
"""

from __future__ import annotations

import pathlib
import sys
import time

import cadquery as cq

import manifoldgen as mg
from manifoldgen.geometry.path import Path
from manifoldgen.geometry.vectors import array
from manifoldgen.manifold.collector import OVERRUN, inlet_lead, local_inlets
from manifoldgen.manifold.collector_profile import bore_profile, outer_profile
from manifoldgen.manifold.model import Collector, Flange, Manifold
from manifoldgen.solids import _occ, ruled
from manifoldgen.solids.collector import build_collector
from manifoldgen.solids.flange import flange_solid, passages
from manifoldgen.solids.parts import run_tube, saddle_of
from manifoldgen.solids.runs import Laid, axes_of, laid_to

JOB = pathlib.Path(__file__).parent.parent.parent / "cq_scripts" / "jobs" / "sand_rail_four.yaml"
PAST = 5.0  # mm


def ours(m: Manifold) -> tuple[cq.Shape, cq.Shape]:
    """Parts face to face, glued."""
    collectors = {c.name: build_collector(c) for c in m.collectors}
    saddles = {b.takeoff: saddle_of(m, b, collectors) for b in m.branches}
    tubes = [made.metal for made in collectors.values()]
    gas = [made.gas for made in collectors.values()]
    for run in (*m.runners, m.outlet):
        laid, saddle = run_tube(m, run), saddles.get(run.name)
        if saddle is None:
            tubes += laid.metal()
            gas += laid.gas()
            continue
        before, after = laid.upto(saddle.before), Laid(saddle.after, run.section)
        _occ.fuse([saddle.parent, *before.metal(), *after.metal()], glue="full")  # the part
        tubes += [saddle.both, *before.metal(), *after.metal()]
        gas += [saddle.lumen, *before.gas(), *after.gas()]
    for b in m.branches:
        rest = laid_to(m.wastegate_flange, saddles[b.takeoff].rest, b.run.section)
        _occ.fuse([saddles[b.takeoff].branch, *rest.metal()], glue="full")  # the part
        tubes += rest.metal()
        gas += rest.gas()
    flanges = [flange_solid(f, axes_of(m, f)) for f in m.flanges]
    ends = [p.lumen for f in m.flanges for p in passages(f, axes_of(m, f))]
    whole = _occ.fuse([_occ.fuse(tubes, glue="full"), *flanges], glue="full")
    return whole, _occ.fuse([_occ.fuse(gas, glue="full"), *ends], glue="full")


def plain(m: Manifold) -> tuple[cq.Shape, cq.Shape]:
    """Every tube outer sweep less inner sweep, then everything fused one after the other."""
    parts: list[cq.Shape] = []
    gas = [p.lumen for f in m.flanges for p in passages(f, axes_of(m, f))]
    for run in (*m.runners, m.outlet):
        laid = run_tube(m, run)
        metal, bores = [_swept(laid.path, run.section.radius)], [_swept(laid.path, run.section.bore_radius)]
        for b in (b for b in m.branches if b.takeoff == run.name and b.run.path is not None):
            for shapes, radius in ((metal, b.run.section.radius), (bores, b.run.section.bore_radius)):
                shapes += [_occ.cylinder(b.root, b.axis, radius, b.wall_length), _swept(b.run.path, radius)]  # type: ignore[arg-type]
        parts.append(_hollow(metal, bores))
        gas += bores
        if len(metal) > 1:  # with a branch: the two parts on their own
            _hollow(metal[:1], bores)
            _hollow(metal[1:], [metal[0], *bores[1:]])
    for c in m.collectors:
        metal, bores = [], []
        _plain_collector(c, metal, bores)
        parts.append(_hollow(metal, bores))
        gas += bores
    parts += [_plain_flange(m, flange) for flange in m.flanges]
    return _hollow(parts, []), _hollow(gas, [])


def _hollow(metal: list[cq.Shape], bores: list[cq.Shape]) -> cq.Shape:
    solid = metal[0]
    for shape in metal[1:]:
        solid = solid.fuse(shape)
    for shape in bores:
        solid = solid.cut(shape)
    return solid


def _swept(path: Path, radius: float) -> cq.Shape:
    return _occ.pipe(_occ.wire(path.segments), _occ.annulus(path.start.at, path.start.direction, radius))


def _plain_collector(c: Collector, metal: list[cq.Shape], bores: list[cq.Shape]) -> None:
    lid, lead = c.merge_depth + c.section.wall, inlet_lead(c)
    for at, along in local_inlets(c):
        begin = array(at) - lead * array(along)
        for shapes, radius, depth in (
            (metal, c.section.radius, c.merge_depth + OVERRUN),
            (bores, c.section.bore_radius, lid + OVERRUN),
        ):
            leg = _occ.cylinder(begin, along, radius, lead + depth + 3 * c.section.radius)
            flat = _occ.half_space((0.0, 0.0, depth), (0.0, 0.0, 1.0))
            shapes.append(_occ.moved(leg.intersect(flat), c.frame))
    for shapes, profile in ((metal, outer_profile(c)), (bores, bore_profile(c))):
        closed = [(0.0, profile[0][1]), *profile, (0.0, profile[-1][1])]
        shapes.append(_occ.moved(_occ.revolved(closed), c.frame))


def _plain_flange(m: Manifold, flange: Flange) -> cq.Shape:
    if flange.outline is None:
        return flange_solid(flange)
    height = array(flange.frame.z) * flange.thickness
    plate: cq.Shape = _occ.prism(ruled.cap(ruled.outline(flange.outline, flange.frame, 0.0)), height)
    for hole in flange.holes:
        at = flange.frame.out((*hole.at, 0.0))
        plate = plate.cut(_occ.cylinder(at, flange.frame.z, hole.diameter / 2, flange.thickness))
    for passage in passages(flange, axes_of(m, flange)):
        plate = plate.cut(passage.lumen)
    return plate


def main(job: str, runs: int) -> None:
    """Time both, best of `runs`."""
    m = mg.route(mg.assemble(mg.load(job)))
    best: dict[str, float] = {}
    for name, make in (("ours", ours), ("plain", plain)) * runs:
        begun = time.perf_counter()
        solid, lumen = make(m)
        took = time.perf_counter() - begun
        best[name] = min(took, best.get(name, took))
        found = f"{len(solid.Solids())} solid, valid {_occ.is_valid(solid)}, {_occ.volume(solid):.1f} and {_occ.volume(lumen):.1f} mm³"
        print(f"{name}: {took:.2f} s, {found}", flush=True)
    print(f"plain / ours = {best['plain'] / best['ours']:.1f}")


if __name__ == "__main__":
    main(sys.argv[1] if len(sys.argv) > 1 else str(JOB), int(sys.argv[2]) if len(sys.argv) > 2 else 2)
