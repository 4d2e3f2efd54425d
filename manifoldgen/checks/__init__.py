"""One question per file, all listed in `registry`; `run_all` puts the answers together, the worst first."""

from __future__ import annotations

from dataclasses import dataclass

from manifoldgen.access.hands import Hands, hands
from manifoldgen.checks import foreign, survey_gap
from manifoldgen.checks.check import Check, HandCheck
from manifoldgen.checks.finding import Finding, FindingKind, worst_first
from manifoldgen.checks.gaps import gap_table
from manifoldgen.checks.pairs import Pair, short
from manifoldgen.checks.registry import CHECKS, HAND_CHECKS, KINDS
from manifoldgen.extensions import Fault
from manifoldgen.manifold.model import Manifold

__all__ = ["Check", "Examined", "Finding", "FindingKind", "HandCheck", "examine", "run_all", "worst_first"]


@dataclass(frozen=True)
class Examined:
    """What the checks found, what was measured for them, and what hands reach (None while a path is open).

    faults : checks of other packages that failed; each is a finding too.
    """

    findings: tuple[Finding, ...]
    hands: Hands | None
    gaps: tuple[Pair, ...] = ()
    faults: tuple[Fault, ...] = ()


def examine(m: Manifold) -> Examined:
    """Every finding of every check, errors first and the furthest off first, with what was measured for them."""
    reached, gaps = hands(m), gap_table(m)
    found = [
        *short(gaps),
        *survey_gap.check(m, gaps),
        *(finding for check in CHECKS for finding in check(m)),
    ]
    if reached is not None:
        found += [finding for check in HAND_CHECKS for finding in check(m, reached)]
    added = foreign.findings(m, reached, KINDS)
    return Examined(worst_first([*found, *added.made]), reached, gaps, added.faults)


def run_all(m: Manifold) -> tuple[Finding, ...]:
    """Every finding of every check, errors first and the furthest off first."""
    return examine(m).findings
