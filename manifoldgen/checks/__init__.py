"""One question per file; `run_all` puts the answers together, the worst first."""

from __future__ import annotations

from manifoldgen.checks import (
    bend_not_in_stock,
    bend_too_tight,
    drain_fall,
    end_straights,
    firing_order,
    flange_web,
    heat_gap,
    length_spread,
    obstacle_gap,
    other_gap,
    path_ends,
    runner_gap,
    scan_mended,
    self_gap,
    survey_doubtful,
    wastegate_aim,
    wastegate_area,
)
from manifoldgen.checks.finding import Finding, worst_first
from manifoldgen.manifold.model import Manifold

__all__ = ["CHECKS", "Finding", "run_all", "worst_first"]

CHECKS = (
    path_ends.check_miss,
    path_ends.check_auto,
    runner_gap.check,
    self_gap.check,
    other_gap.check,
    obstacle_gap.check,
    heat_gap.check,
    bend_too_tight.check,
    bend_not_in_stock.check,
    firing_order.check,
    length_spread.check,
    end_straights.check,
    flange_web.check,
    wastegate_aim.check,
    wastegate_area.check,
    drain_fall.check,
    scan_mended.check,
    survey_doubtful.check,
)


def run_all(m: Manifold) -> tuple[Finding, ...]:
    """Every finding of every check, errors first and the furthest off first."""
    return worst_first(finding for check in CHECKS for finding in check(m))
