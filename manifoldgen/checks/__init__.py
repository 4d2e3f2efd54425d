"""One question per file; `run_all` puts the answers together, the worst first."""

from __future__ import annotations

from dataclasses import dataclass

from manifoldgen.access.hands import Hands, hands
from manifoldgen.checks import (
    bend_not_in_stock,
    bend_too_tight,
    drain_fall,
    dxf_read,
    end_straights,
    firing_order,
    flange_web,
    length_spread,
    not_used,
    path_ends,
    scan_mended,
    size_assumed,
    slide_off,
    stud_length,
    stud_reach,
    survey_doubtful,
    wastegate_aim,
    wastegate_area,
    weld_reach,
)
from manifoldgen.checks.finding import Finding, worst_first
from manifoldgen.checks.gaps import gap_table
from manifoldgen.checks.pairs import Pair, short
from manifoldgen.manifold.model import Manifold

__all__ = ["CHECKS", "HAND_CHECKS", "Examined", "Finding", "examine", "run_all", "worst_first"]

CHECKS = (
    path_ends.check_miss,
    path_ends.check_auto,
    bend_too_tight.check,
    bend_not_in_stock.check,
    firing_order.check,
    length_spread.check,
    end_straights.check,
    flange_web.check,
    stud_length.check,
    wastegate_aim.check,
    wastegate_area.check,
    drain_fall.check,
    scan_mended.check,
    dxf_read.check,
    survey_doubtful.check,
    not_used.check,
)
HAND_CHECKS = (stud_reach.check, slide_off.check, weld_reach.check, size_assumed.check)


@dataclass(frozen=True)
class Examined:
    """What the checks found, what was measured for them, and what hands reach (None while a path is open)."""

    findings: tuple[Finding, ...]
    hands: Hands | None
    gaps: tuple[Pair, ...] = ()


def examine(m: Manifold) -> Examined:
    """Every finding of every check, errors first and the furthest off first, with what was measured for them."""
    reached, gaps = hands(m), gap_table(m)
    found = [*short(gaps), *(finding for check in CHECKS for finding in check(m))]
    if reached is not None:
        found += [finding for check in HAND_CHECKS for finding in check(m, reached)]
    return Examined(worst_first(found), reached, gaps)


def run_all(m: Manifold) -> tuple[Finding, ...]:
    """Every finding of every check, errors first and the furthest off first."""
    return examine(m).findings
