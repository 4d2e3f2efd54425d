"""The strict check of a layout: paths walked anew from their rows, every limit measured with certified distances.

Whether hands reach the studs is looked at apart (`hands`): the keep-outs of the search only stand in for it.

Nothing of the solver is used here but its corners: they become straights, bends and rolls, are landed on
their inlets, and measured as the checks measure a file.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from manifoldgen.errors import PathError
from manifoldgen.geometry.corners import from_corners
from manifoldgen.geometry.distance import between_tubes, to_shape, within_tube
from manifoldgen.geometry.gap import Asked, Gap
from manifoldgen.geometry.path import Bend, Path, Straight
from manifoldgen.geometry.shapes import Shape, Tube
from manifoldgen.geometry.snap import LANDED, miss, snap
from manifoldgen.geometry.vectors import array
from manifoldgen.manifold.asked import asked_along
from manifoldgen.manifold.bodies import flange_bodies
from manifoldgen.manifold.clear_of import clearance
from manifoldgen.manifold.model import Collector, Manifold, Run
from manifoldgen.manifold.runners import landed
from manifoldgen.routing.problem import Problem
from manifoldgen.routing.refine import Layout
from manifoldgen.routing.surroundings import HEAD_SPACE, cone_of, engine_block

PASSES = -1e-3  # mm of margin that is let pass: what a gap is certified to
EXACT = -1e-6  # mm: the same for straights, bends and lengths, which are known exactly
SLIVER = 3e-3  # mm: shorter straights are left out and the run landed again
SPREAD = 1e-3  # of the mean length: how equal lengths must come out
_JOINED = -1e4  # mm: asked where a tube is joined and may stand in the other by design


@dataclass(frozen=True)
class Margin:
    """One thing measured: the group of limits, what against what, and mm to spare (negative: short)."""

    group: str
    who: str
    mm: float


def laid(p: Problem, layout: Layout) -> Manifold | None:
    """The manifold with a layout's paths, each landed exactly; None where a path cannot be walked."""
    collector = p.collector_at(layout.ring)
    paths: dict[int, Path] = {}
    for run, x, radii in zip(p.searched, layout.x, layout.radii, strict=True):
        try:
            paths[run.number] = walked(run, collector, x, radii)
        except PathError:
            return None
    runs = []
    for run in p.m.runners:
        target = collector.inlet(run.number)
        if run.number in paths:
            path = paths[run.number]
            off, turned = miss(path, target)
            runs.append(
                replace(run, path=path, target=target, todo=None, trouble=None, miss_mm=off, miss_deg=turned)
            )
        else:
            runs.append(landed(replace(run, target=target), p.m.limits) if p.collector.clock_free else run)
    return replace(p.m, runners=tuple(runs), collectors=(collector,))


def walked(run: Run, collector: Collector, x: np.ndarray, radii: np.ndarray) -> Path:
    """A runner's path from its corner variables; raises PathError where it has none."""
    target = collector.inlet(run.number)
    first = array(run.start.at) + x[0] * array(run.start.direction)
    last = array(target.at) - x[1] * array(target.direction)
    corners = [first, *x[2:].reshape(-1, 3), last]
    whole = from_corners(run.start, corners, target.at, [float(r) for r in radii])
    kept = tuple(e for e in whole.elements if not isinstance(e, Straight) or e.length > SLIVER)
    path = Path(run.start, kept)
    return path if max(miss(path, target)) < LANDED else snap(path, target)


def verified(p: Problem, m: Manifold, spread: float | None = SPREAD) -> tuple[Margin, ...]:
    """Every limit of the searched runners, the shortest first; none negative is a verified answer.

    spread : of the runners found, as a share of their length; None holds them only to what the job allows.
    """
    found = [margin for run in m.runners if run.number in p.numbers for margin in _run(p, m, run)]
    found += _lengths(p, m, spread)
    return tuple(sorted(found, key=lambda g: (round(g.mm, 6), g.group, g.who)))


def passes(margins: tuple[Margin, ...]) -> bool:
    """Whether nothing is short."""
    return all(g.mm >= (EXACT if g.group in {"bends", "length"} else PASSES) for g in margins)


def _run(p: Problem, m: Manifold, run: Run) -> Iterator[Margin]:
    path, limits = run.path, m.limits
    if path is None or run.target is None:
        yield Margin("bends", run.name, -math.inf)
        return
    if (off := max(miss(path, run.target))) > LANDED:
        yield Margin("bends", f"{run.name}'s end to its inlet", -max(off, -2 * PASSES))
    yield from _shape(p, run, path)
    tube = Tube(path, run.section.radius)
    asked = asked_along(path.length, limits)
    for other in m.runners:
        done = other.number in p.numbers and other.number < run.number
        if other.number != run.number and other.path is not None and not done:
            theirs = Tube(other.path, other.section.radius)
            gap = between_tubes(tube, theirs, asked, asked_along(other.path.length, limits))
            yield _margin("runner gap", f"{run.name} to {other.name}", gap)
    itself = within_tube(tube, limits.self_gap)
    if itself is not None:
        yield _margin("self gap", f"{run.name} to itself", itself)
    for obstacle in m.obstacles:
        gap_asked = (
            max(obstacle.clearance, limits.heat_gap) if obstacle.heat_sensitive else obstacle.clearance
        )
        gap = clearance(tube, obstacle, gap_asked, m.engine).gap
        yield _margin("obstacle", f"{run.name} to {obstacle.name}", gap)
    yield from _own_parts(m, run, tube)


def _shape(p: Problem, run: Run, path: Path) -> Iterator[Margin]:
    """Straights at both ends, and bends that the stock gives."""
    first, last = path.elements[0], path.elements[-1]
    ends = (first, p.first, "flange"), (last, p.last, "inlet")
    for element, least, where in ends:
        length = element.length if isinstance(element, Straight) else 0.0
        yield Margin("bends", f"{run.name}'s straight at the {where}", length - least)
    for bend in path.bends:
        k = int(np.argmin(abs(p.radii - bend.clr)))
        over = (math.degrees(p.caps[k]) - bend.angle) * math.radians(bend.clr)
        yield Margin("bends", f"{run.name}'s bend of {bend.angle:.1f}°", over)
    if not all(isinstance(e, Straight | Bend) for e in path.elements):
        yield Margin("bends", run.name, -math.inf)


def _own_parts(m: Manifold, run: Run, tube: Tube) -> Iterator[Margin]:
    limits, length, od = m.limits, tube.path.length, run.section.od
    near = _until(length, (length - limits.merge_zone, limits.gap_other), (length, 0.0))
    joined = _until(
        length, (length - limits.merge_zone, limits.gap_other), (length - od, 0.0), (length, _JOINED)
    )
    for other in (m.outlet, *(b.run for b in m.branches if b.takeoff != run.name)):
        if other.path is not None and other.path.length > 0:
            gap = between_tubes(tube, Tube(other.path, other.section.radius), near)
            yield _margin("own parts", f"{run.name} to {other.name}", gap)
    for c in m.collectors:
        yield _margin("own parts", f"{run.name} to the collector", to_shape(tube, cone_of(c), joined))
        if c.kind == "merge" and c.merge_depth > 0:
            deep = c.merge_depth / math.cos(math.radians(c.half_angle))
            for number, pose in zip(c.order, c.inlets, strict=True):
                if number != run.number:
                    leg = Tube(Path(pose, (Straight(deep),)), c.section.radius)
                    yield _margin(
                        "own parts", f"{run.name} to inlet {number}", between_tubes(tube, leg, joined)
                    )
    full = Asked.flat(limits.gap_other, length)
    from_head = _until(length, (od, _JOINED), (length, 0.0))
    for flange in m.flanges:
        for body in flange_bodies(flange):
            asked = from_head if flange is m.head else full
            yield _margin("own parts", f"{run.name} to the {flange.name}", to_shape(tube, body, asked))
    block: Shape = engine_block()
    clear = _until(length, (od, _JOINED), (length, HEAD_SPACE))
    yield _margin("own parts", f"{run.name} to the engine", to_shape(tube, block, clear))


def _until(length: float, *steps: tuple[float, float]) -> Asked:
    """The gap asked up to each place along the runner, in steps."""
    at, gap, before = [0.0], [steps[0][1]], 0.0
    for place, asked in steps:
        end = min(max(place, before), length)
        if end > before:
            at += [before, end] if before else [end]
            gap += [asked, asked] if before else [asked]
            gap[0] = gap[0] if before else asked
            before = end
    return Asked(tuple(at), tuple(gap))


def _lengths(p: Problem, m: Manifold, spread: float | None) -> Iterator[Margin]:
    """Equal lengths: all found ones as one, and within what is allowed beside fixed ones."""
    found = [r.path.length for r in m.runners if r.path is not None and r.number in p.numbers]
    every = [r.path.length for r in m.runners if r.path is not None]
    if m.equal_within is None or len(every) < 2:
        return
    mean = sum(every) / len(every)
    yield Margin("length", "all runners", m.equal_within * mean - (max(every) - min(every)))
    if spread is not None:
        allowed = min(spread, m.equal_within) * mean
        yield Margin("length", "the runners found", allowed - (max(found) - min(found)))


def _margin(group: str, who: str, gap: Gap) -> Margin:
    """The margin of a gap, less what was not certified."""
    return Margin(group, who, float(gap.margin) - (0.0 if gap.certified else float(gap.slack)))
