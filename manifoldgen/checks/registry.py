"""Every check and every kind of finding there is: what `examine` asks, and what `explain`, docs and page tell.

A new check is a line in one of the three lists; kinds of findings that no check makes are added in `KINDS`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from types import MappingProxyType

from manifoldgen.checks import (
    bend_not_in_stock,
    bend_too_tight,
    drain_fall,
    dxf_read,
    end_straights,
    firing_order,
    flange_room,
    flange_web,
    foreign,
    heat_gap,
    length_spread,
    making,
    not_used,
    obstacle_gap,
    other_gap,
    path_ends,
    runner_gap,
    scan_mended,
    self_gap,
    size_assumed,
    slide_off,
    stud_length,
    stud_reach,
    survey_doubtful,
    survey_gap,
    survey_joint,
    wastegate_aim,
    wastegate_area,
    weld_reach,
)
from manifoldgen.checks.check import Check, GapCheck, HandCheck
from manifoldgen.checks.finding import FindingKind

CHECKS: tuple[Check, ...] = (
    path_ends.CHECK,
    bend_too_tight.CHECK,
    bend_not_in_stock.CHECK,
    firing_order.CHECK,
    length_spread.CHECK,
    end_straights.CHECK,
    flange_web.CHECK,
    stud_length.CHECK,
    wastegate_aim.CHECK,
    wastegate_area.CHECK,
    drain_fall.CHECK,
    scan_mended.CHECK,
    dxf_read.CHECK,
    survey_doubtful.CHECK,
    survey_joint.CHECK,
    not_used.CHECK,
)
GAP_CHECKS: tuple[GapCheck, ...] = (
    runner_gap.CHECK,
    self_gap.CHECK,
    other_gap.CHECK,
    obstacle_gap.CHECK,
    flange_room.CHECK,
    heat_gap.CHECK,
)
HAND_CHECKS: tuple[HandCheck, ...] = (
    stud_reach.CHECK,
    slide_off.CHECK,
    weld_reach.CHECK,
    size_assumed.CHECK,
)


def by_name(kinds: Iterable[FindingKind]) -> Mapping[str, FindingKind]:
    """Kinds under their names; one kind may come several times, one name for two kinds is refused (ValueError)."""
    found: dict[str, FindingKind] = {}
    for kind in kinds:
        if found.setdefault(kind.name, kind) != kind:
            raise ValueError(f"there are two findings called {kind.name}")
    return MappingProxyType(found)


KINDS: Mapping[str, FindingKind] = by_name(
    [
        *(kind for check in CHECKS for kind in check.kinds),
        *(kind for check in GAP_CHECKS for kind in check.kinds),
        *(kind for check in HAND_CHECKS for kind in check.kinds),
        *survey_gap.KINDS,
        *making.KINDS,
        *foreign.KINDS,
    ]
)


def known() -> Mapping[str, FindingKind]:
    """All kinds by name: ours, and those of the checks that other packages add."""
    added = foreign.checks(KINDS).made
    return by_name([*KINDS.values(), *(kind for check in added for kind in check.kinds)])
