"""All gaps of a manifold as one table, for the report."""

from __future__ import annotations

from manifoldgen.checks import flange_room, heat_gap, obstacle_gap, other_gap, runner_gap, self_gap
from manifoldgen.checks.pairs import Pair
from manifoldgen.manifold.model import Manifold


def gap_table(m: Manifold) -> tuple[Pair, ...]:
    """Every pair that is checked, with the worst place, the gap there and the gap asked.

    Order: runners, each tube to itself, other parts, obstacles, flanges, heat. `Pair.as_dict` gives the rows of
    report.json's ``gaps``.
    """
    rooms = (runner_gap, self_gap, other_gap, obstacle_gap, flange_room, heat_gap)
    return tuple(pair for room in rooms for pair in room.measured(m))
