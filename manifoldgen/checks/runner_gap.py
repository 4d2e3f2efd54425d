"""Whether there is room between the runners."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from manifoldgen.checks.bodies import whole
from manifoldgen.checks.check import GapCheck
from manifoldgen.checks.finding import Finding, FindingKind
from manifoldgen.checks.pairs import TOLERANCE, Pair, along_runner, short
from manifoldgen.geometry.distance import between_tubes
from manifoldgen.manifold.model import Manifold

RUNNER_GAP = FindingKind(
    name="runner-gap",
    means="Two runners are closer, wall to wall, than the gap required at that place.",
    why="They must be welded, sanded and bolted up, and they move as they heat. The full gap is required in between; less "
    "is required near the head flange (flange_zone) and near the inlets (merge_zone), rising over `ramp`.",
    do="Move one runner by the millimetres given, at the two points given: another roll, a longer straight, or the "
    "other runner first. Runners that are tight everywhere want a smaller tube or tighter bends.",
)
DO = "Move one of them at least {} away from the other there, or let another bend carry it round."


def measured(m: Manifold) -> Iterator[Pair]:
    """Every two runners that have a path, with the worst place between them."""
    laid = [(r, tube, along_runner(r, m.limits)) for r in m.runners if (tube := whole(r)) is not None]
    for (run_a, a, asked_a), (run_b, b, asked_b) in combinations(laid, 2):
        gap = between_tubes(a, b, asked_a, asked_b, TOLERANCE)
        yield Pair(RUNNER_GAP, run_a.name, run_b.name, gap, DO, run_a.where)


def check(m: Manifold) -> tuple[Finding, ...]:
    """`runner-gap`: two runners closer than the gap required at that place."""
    return short(measured(m))


CHECK = GapCheck(kinds=(RUNNER_GAP,), measure=measured)
