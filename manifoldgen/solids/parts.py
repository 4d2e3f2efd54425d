"""Every part of a manifold as its own accepted solid: flanges, runners, collectors, outlet, branches.

A part also says what it brings to the joined solid (`joins`) and to the gas side (`gas`): a parent and its
branch are joined by the one solid built round their mouth, not by their two separate ones.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import cadquery as cq

from manifoldgen.errors import SolidError
from manifoldgen.geometry import contour
from manifoldgen.geometry.vectors import Array
from manifoldgen.manifold.model import Branch, Collector, Flange, Manifold, Opening, Run
from manifoldgen.manifold.mouth import parent_of
from manifoldgen.solids import _occ, branch
from manifoldgen.solids.acceptance import VOLUME_TOLERANCE, Acceptance, accept
from manifoldgen.solids.branch import Saddle
from manifoldgen.solids.collector import BuiltCollector
from manifoldgen.solids.flange import flange_genus, flange_solid, flange_volume, passages
from manifoldgen.solids.runs import Laid, axes_of, laid_runner, laid_to, path_of


@dataclass(frozen=True)
class SolidPart:
    """One part.  shape : accepted on its own.  joins, gas : what it brings to the whole and to the lumen."""

    name: str
    shape: cq.Shape
    joins: tuple[cq.Shape, ...]
    gas: tuple[cq.Shape, ...]
    accepted: Acceptance


def flange_part(m: Manifold, flange: Flange) -> SolidPart:
    """A flange with its holes and passages."""
    axes = axes_of(m, flange)
    shape = flange_solid(flange, axes)
    found = accept(
        flange.name, shape, flange_genus(flange), flange_volume(flange, axes), self_intersection=False
    )
    return SolidPart(flange.name, shape, (shape,), tuple(p.lumen for p in passages(flange, axes)), found)


def run_part(name: str, tube: Laid, saddle: Saddle | None) -> SolidPart:
    """A runner or the outlet, with the hole of its branch if it has one."""
    if saddle is None:
        shapes = tube.metal()
        shape = _occ.fuse(shapes, glue="full")
        found = accept(name, shape, 1, tube.volume, self_intersection=False)
        return SolidPart(name, shape, (shape,), tuple(tube.gas()), found)
    before, after = tube.upto(saddle.before), Laid(saddle.after, tube.section)
    rest = [*before.metal(), *after.metal()]
    shape = _occ.fuse([saddle.parent, *rest], glue="full")
    volume = before.volume + after.volume + _occ.volume(saddle.parent)
    found = accept(name, shape, 2, volume, self_intersection=False)
    return SolidPart(name, shape, (saddle.both, *rest), (*before.gas(), saddle.lumen, *after.gas()), found)


def branch_part(m: Manifold, b: Branch, saddle: Saddle) -> SolidPart:
    """The branch from its saddle to its flange."""
    rest = laid_to(m.wastegate_flange, saddle.rest, b.run.section)
    shape = _occ.fuse([saddle.branch, *rest.metal()], glue="full")
    volume = _occ.volume(saddle.branch) + rest.volume
    found = accept(b.run.name, shape, 1, volume, self_intersection=False)
    return SolidPart(b.run.name, shape, tuple(rest.metal()), tuple(rest.gas()), found)


def collector_part(c: Collector, name: str, made: BuiltCollector, saddle: Saddle | None) -> SolidPart:
    """A collector, with the hole of its branch if it has one."""
    if saddle is None:
        return SolidPart(name, made.metal, (made.metal,), (made.gas,), made.accepted)
    found = accept(name, saddle.parent, len(c.order) + 1, None, self_intersection=False)
    return SolidPart(name, saddle.parent, (saddle.both,), (saddle.lumen,), found)


def run_tube(m: Manifold, run: Run) -> Laid:
    """The tube of a runner or of the outlet between its neighbours."""
    if run.kind == "runner":
        return laid_runner(m, run)
    return laid_to(m.turbo, path_of(run), run.section)


def saddle_of(m: Manifold, b: Branch, collectors: Mapping[str, BuiltCollector]) -> Saddle:
    """Build a branch and its parent round their mouth, whole branch and parent checked against each other.

    collectors : the built collectors by name, for a branch off a cone.
    """
    path_of(b.run)
    parent = parent_of(m, b)
    if parent is None:
        c = m.collectors[0]
        if c.name not in collectors:
            raise SolidError(b.run.name, "the collector it leaves was not made")
        saddle = branch.off_cone(m, b, collectors[c.name].metal, collectors[c.name].gas)
    else:
        saddle = branch.off_run(m, b, parent, run_tube(m, parent.run).path)
    apart, both = _occ.volume(saddle.parent) + _occ.volume(saddle.branch), _occ.volume(saddle.both)
    if abs(apart - both) > VOLUME_TOLERANCE * both:
        raise SolidError(
            b.run.name, f"with its parent {both:.2f} mm³ where saddle and hole make {apart:.2f} mm³ together"
        )
    return saddle


def mating_outline(flange: Flange, opening: Opening) -> Array:
    """Points of an opening's outline on the flange's mating face (n, 3), mm, within 0.01 mm of it."""
    height = 0.0 if flange.tube_side == "end" else flange.thickness
    flat = contour.points(opening.contour.moved(*opening.at))
    return flange.frame.out([(x, y, height) for x, y in flat])
