"""Whether everything that cannot stand heat is far enough from the hot parts."""

from __future__ import annotations

from collections.abc import Iterator

from manifoldgen.checks.finding import Finding
from manifoldgen.checks.obstacle_gap import against
from manifoldgen.checks.pairs import Pair, short
from manifoldgen.manifold.model import Manifold

DO = "Move it at least {} further away, or shield it and say so by lowering limits.heat_gap."


def measured(m: Manifold) -> Iterator[Pair]:
    """Every hot part against everything marked heat_sensitive."""
    for obstacle in m.obstacles:
        if obstacle.heat_sensitive:
            yield from against(m, obstacle, m.limits.heat_gap, "heat-gap", DO)


def check(m: Manifold) -> tuple[Finding, ...]:
    """`heat-gap`: a hot part closer than `limits.heat_gap` to something heat-sensitive."""
    return short(measured(m))
