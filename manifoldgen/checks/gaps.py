"""All gaps of a manifold as one table, for the report."""

from __future__ import annotations

from dataclasses import replace

from manifoldgen.checks.pairs import Pair
from manifoldgen.checks.registry import GAP_CHECKS
from manifoldgen.geometry.vectors import vec
from manifoldgen.manifold.known import apart
from manifoldgen.manifold.model import Manifold


def gap_table(m: Manifold) -> tuple[Pair, ...]:
    """Every pair that is checked, with the worst place, the gap there and the gap asked.

    Order: runners, each tube to itself, other parts, obstacles, flanges, heat. `Pair.as_dict` gives the rows of
    report.json's ``gaps``.
    """
    return tuple(_known(m, pair) for check in GAP_CHECKS for pair in check.measure(m))


def _known(m: Manifold, pair: Pair) -> Pair:
    """The pair with what the survey leaves open about its gap."""
    here, there = (vec(p) for p in pair.gap.points)
    return replace(pair, known_to=apart(m, pair.a, pair.b, (here, there)))
