"""The pieces of tube in report.json's form, read off the shop plan."""

from __future__ import annotations

from typing import Any

from manifoldgen.shop.cuts import CutRow
from manifoldgen.shop.marks import RollMark
from manifoldgen.shop.plan import ShopPlan


def entries(shop: ShopPlan) -> list[dict[str, Any]]:
    """Every piece of tube of a split job."""
    rolls = {mark.piece: mark for mark in shop.marks}
    return [_entry(row, rolls.get(row.piece)) for row in shop.cuts]


def _entry(row: CutRow, mark: RollMark | None) -> dict[str, Any]:
    """One piece.

    `straights_mm`, `back_mm`, `centre_mm`, `throat_mm` are net: along the finished tube, before shrink and trim.
    Back, centre and throat are those of the bend alone, null for a straight; an inlet's tube counts to its flat
    cut, down the middle. `net_mm` is straights and bend together, `cut_mm` what it is cut to. The roll is that of
    the roll marks: from `roll_from` to the piece's back line, + clockwise looking downstream.
    """
    bent = bool(row.angle)
    return {
        "piece": row.piece,
        "stock": row.stock,
        "stock_number": row.number or None,
        "angle_deg": row.angle,
        "clr_mm": row.clr if bent else None,
        "od_mm": row.od,
        "wall_mm": row.wall,
        "straights_mm": [row.before, row.after],
        "back_mm": row.back if bent else None,
        "centre_mm": row.centre if bent else None,
        "throat_mm": row.throat if bent else None,
        "roll_deg": mark.roll if mark else None,
        "roll_mm": mark.roll_mm if mark else None,
        "roll_from": mark.start if mark else None,
        "net_mm": row.net,
        "shrink_mm": row.shrink,
        "trim_mm": row.trim,
        "cut_mm": row.cut,
        "joints": list(row.joints),
    }
