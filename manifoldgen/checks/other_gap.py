"""Whether there is room between a tube and the parts it is not joined to.

What is joined may be near within `merge_zone` of the joint, but never overlap: there the gap asked is 0.
One tube diameter at the joint itself is left out, where the two are one by design.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from manifoldgen.checks.bodies import cone, legs, stretch, whole
from manifoldgen.checks.check import GapCheck
from manifoldgen.checks.finding import Finding, FindingKind
from manifoldgen.checks.pairs import TOLERANCE, Pair, short, worst
from manifoldgen.geometry.distance import between_tubes, to_shape
from manifoldgen.geometry.gap import Asked, Gap
from manifoldgen.geometry.shapes import Shape, Tube
from manifoldgen.manifold.bodies import flange_bodies
from manifoldgen.manifold.model import Branch, Manifold, Run

OTHER_GAP = FindingKind(
    name="other-gap",
    means="A tube is too close to a part it is not joined to (collector, outlet, branch, a flange), or runs into one "
    "that it is joined to.",
    why="Torch, nuts and heat need the room. Near its own inlet a runner may be close to the collector, never in it.",
    do="Move the tube by the millimetres given. Often a longer outlet or collector.path makes the room.",
)
DO = "Move it at least {} away there."

Body = Tube | Shape
Ask = tuple[Tube | None, float]  # a stretch of tube and the gap asked of it


def measured(m: Manifold) -> Iterator[Pair]:
    """Every tube against every part it could run into, runners against runners apart."""
    for run in m.runners:
        yield from _runner(m, run)
    yield from _outlet(m)
    for branch in m.branches:
        yield from _branch(m, branch)


def check(m: Manifold) -> tuple[Finding, ...]:
    """`other-gap`: a tube closer than `limits.gap_other` to a part it is not joined to, or in one it is."""
    return short(measured(m))


CHECK = GapCheck(kinds=(OTHER_GAP,), measure=measured)


def _runner(m: Manifold, run: Run) -> Iterator[Pair]:
    if run.path is None:
        return
    full, od, length = m.limits.gap_other, run.section.od, run.path.length
    free: Ask = (stretch(run, 0.0, length - m.limits.merge_zone), full)
    for c in m.collectors:
        joined = run.number in c.order
        asks = [free, (stretch(run, 0.0, length - od), 0.0)] if joined else [(whole(run), full)]
        hub: list[Body] = [cone(c)]
        hub += [tube for cylinder, tube in legs(c) if cylinder != run.number]
        yield from _pair(run, "collector", asks, hub)
    near_merge = [free, (whole(run), 0.0)]
    outlet = whole(m.outlet)
    if outlet is not None:
        yield from _pair(run, m.outlet.name, near_merge, [outlet])
    for branch in m.branches:
        tube = whole(branch.run)
        if tube is not None and branch.takeoff != run.name:
            yield from _pair(run, branch.run.name, near_merge, [tube])
    for flange in m.flanges[1:]:
        yield from _pair(run, flange.name, [(whole(run), full)], flange_bodies(flange))
    yield from _pair(run, m.head.name, [(stretch(run, od, math.inf), 0.0)], flange_bodies(m.head))


def _outlet(m: Manifold) -> Iterator[Pair]:
    run = m.outlet
    if run.path is None:
        return
    full, od, length = m.limits.gap_other, run.section.od, run.path.length
    for c in m.collectors:
        hub: list[Body] = [cone(c), *(tube for _, tube in legs(c))]
        yield from _pair(run, "collector", [(stretch(run, od, math.inf), 0.0)], hub)
    for flange in m.flanges:
        joined = flange.name == m.turbo.name
        ask = (stretch(run, 0.0, length - od), 0.0) if joined else (whole(run), full)
        yield from _pair(run, flange.name, [ask], flange_bodies(flange))


def _branch(m: Manifold, branch: Branch) -> Iterator[Pair]:
    run = branch.run
    if run.path is None:
        return
    full, od = m.limits.gap_other, run.section.od
    free: list[Ask] = [(whole(run), full)]
    beyond = stretch(run, m.limits.merge_zone, math.inf)
    joined: list[Ask] = [(beyond, full), (stretch(run, od, math.inf), 0.0)]
    on_cone = branch.element is None
    for c in m.collectors:
        hub: list[Body] = [cone(c), *(tube for _, tube in legs(c))]
        yield from _pair(run, "collector", joined if on_cone else free, hub)
    for parent in (m.outlet, *m.runners):
        tube = whole(parent)
        if tube is None or (parent.kind == "runner" and branch.takeoff != parent.name):
            continue  # runners have measured themselves against it
        at_joint = branch.takeoff == parent.name or on_cone
        yield from _pair(run, parent.name, joined if at_joint else free, [tube])
    for flange in m.flanges:
        ends_there = m.wastegate_flange is not None and flange.name == m.wastegate_flange.name
        ask = (stretch(run, 0.0, run.path.length - od), 0.0) if ends_there else free[0]
        yield from _pair(run, flange.name, [ask], flange_bodies(flange))


def _pair(run: Run, other: str, asks: list[Ask], bodies: list[Body] | tuple[Body, ...]) -> Iterator[Pair]:
    found = worst(_gap(tube, body, asked) for tube, asked in asks if tube for body in bodies)
    if found is not None:
        yield Pair(OTHER_GAP, run.name, other, found, DO, run.where)


def _gap(tube: Tube, body: Body, asked: float) -> Gap:
    everywhere = Asked.flat(asked, tube.path.length)
    if isinstance(body, Tube):
        return between_tubes(tube, body, everywhere, None, TOLERANCE)
    return to_shape(tube, body, everywhere)
