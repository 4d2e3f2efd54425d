"""What the groups of printed parts take (`shop.aid_worth`), and the parts group by group."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import Any

from manifoldgen.prints.part import PrintedPart
from manifoldgen.shop.aid_worth import GROUPS, Group, rank


@dataclass(frozen=True)
class GroupSum:
    """What a group takes.  why : what it is worth.  parts : how many.  grams, hours : estimated."""

    group: Group
    why: str
    parts: int
    grams: float
    hours: float


def in_order(parts: Sequence[PrintedPart]) -> tuple[PrintedPart, ...]:
    """The parts group by group, in a group as they come."""
    return tuple(sorted(parts, key=lambda p: rank(p.group)))


def sums(parts: Sequence[PrintedPart]) -> tuple[GroupSum, ...]:
    """What each group takes; a group without parts is left out."""
    made = []
    for group, why in GROUPS.items():
        own = [p for p in parts if p.group == group]
        if own:
            made.append(GroupSum(group, why, len(own), sum(p.grams for p in own), sum(p.hours for p in own)))
    return tuple(made)


def told(parts: Sequence[PrintedPart]) -> dict[str, Any]:
    """The parts and their groups as report.json's `prints` holds them."""
    rows = [
        {
            "part": p.name,
            "group": p.group,
            "kind": p.kind,
            "step": p.step,
            "mark": p.mark,
            "grams": p.grams,
            "hours": p.hours,
            "what_for": p.purpose,
        }
        for p in parts
    ]
    return {"groups": [asdict(s) for s in sums(parts)], "parts": rows}
