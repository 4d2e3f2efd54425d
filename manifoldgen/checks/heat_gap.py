"""Whether everything that cannot stand heat is far enough from the hot parts."""

from __future__ import annotations

from collections.abc import Iterator

from manifoldgen.checks.check import GapCheck
from manifoldgen.checks.finding import Finding, FindingKind
from manifoldgen.checks.obstacle_gap import against
from manifoldgen.checks.pairs import Pair, short
from manifoldgen.manifold.model import Manifold

HEAT_GAP = FindingKind(
    name="heat-gap",
    means="Something marked heat_sensitive is closer to a hot part than limits.heat_gap.",
    why="A glowing tube cooks hoses, wiring and paint by radiation alone.",
    do="Move one of them, or put a shield between and set limits.heat_gap to what the shield allows.",
)
DO = "Move it at least {} further away, or shield it and say so by lowering limits.heat_gap."


def measured(m: Manifold) -> Iterator[Pair]:
    """Every hot part against everything marked heat_sensitive."""
    for obstacle in m.obstacles:
        if obstacle.heat_sensitive:
            yield from against(m, obstacle, m.limits.heat_gap, HEAT_GAP, DO)


def check(m: Manifold) -> tuple[Finding, ...]:
    """`heat-gap`: a hot part closer than `limits.heat_gap` to something heat-sensitive."""
    return short(measured(m))


CHECK = GapCheck(kinds=(HEAT_GAP,), measure=measured)
