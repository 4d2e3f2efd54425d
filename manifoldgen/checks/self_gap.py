"""Whether a tube keeps clear of itself."""

from __future__ import annotations

from collections.abc import Iterator

from manifoldgen.checks.bodies import whole
from manifoldgen.checks.finding import Finding
from manifoldgen.checks.pairs import TOLERANCE, Pair, short
from manifoldgen.geometry.distance import within_tube
from manifoldgen.manifold.model import Manifold

DO = "Open the loop by at least {}: a longer straight between its bends, or a flatter turn."


def measured(m: Manifold) -> Iterator[Pair]:
    """Every run that comes back near itself, with the worst place."""
    for run in m.runs:
        tube = whole(run)
        if tube is None:
            continue
        gap = within_tube(tube, m.limits.self_gap, TOLERANCE)
        if gap is not None:
            yield Pair("self-gap", run.name, run.name, gap, DO, run.where)


def check(m: Manifold) -> tuple[Finding, ...]:
    """`self-gap`: a tube closer to itself than `limits.self_gap`."""
    return short(measured(m))
