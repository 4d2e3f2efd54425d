"""Whether there is room between the runners."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from manifoldgen.checks.bodies import whole
from manifoldgen.checks.finding import Finding
from manifoldgen.checks.pairs import TOLERANCE, Pair, along_runner, short
from manifoldgen.geometry.distance import between_tubes
from manifoldgen.manifold.model import Manifold

DO = "Move one of them at least {} away from the other there, or let another bend carry it round."


def measured(m: Manifold) -> Iterator[Pair]:
    """Every two runners that have a path, with the worst place between them."""
    laid = [(r, tube, along_runner(r, m.limits)) for r in m.runners if (tube := whole(r)) is not None]
    for (run_a, a, asked_a), (run_b, b, asked_b) in combinations(laid, 2):
        gap = between_tubes(a, b, asked_a, asked_b, TOLERANCE)
        yield Pair("runner-gap", run_a.name, run_b.name, gap, DO, run_a.where)


def check(m: Manifold) -> tuple[Finding, ...]:
    """`runner-gap`: two runners closer than the gap asked at that place."""
    return short(measured(m))
