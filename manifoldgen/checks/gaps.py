"""All gaps of a manifold as one table, for the report."""

from __future__ import annotations

from manifoldgen.checks.pairs import Pair
from manifoldgen.checks.registry import GAP_CHECKS
from manifoldgen.manifold.model import Manifold


def gap_table(m: Manifold) -> tuple[Pair, ...]:
    """Every pair that is checked, with the worst place, the gap there and the gap asked.

    Order: runners, each tube to itself, other parts, obstacles, flanges, heat. `Pair.as_dict` gives the rows of
    report.json's ``gaps``.
    """
    return tuple(pair for check in GAP_CHECKS for pair in check.measure(m))
