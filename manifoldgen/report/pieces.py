"""The pieces of tube in report.json's form: what to saw, measured on back, centre and throat."""

from __future__ import annotations

import math
from typing import Any

from manifoldgen.geometry.path import Arc, Line
from manifoldgen.manifold.model import Manifold, Piece
from manifoldgen.shop.cuts import cut_list


def entries(m: Manifold) -> list[dict[str, Any]]:
    """Every piece of tube of a split job, each with the length it is cut to."""
    cuts = {row.piece: row.cut for row in cut_list(m)}
    return [e for p in m.pieces if (e := entry(p, cuts.get(p.id))) is not None]


def entry(piece: Piece, cut: float | None = None) -> dict[str, Any] | None:
    """One piece as report.json writes it; None for one without a centreline (a lid, a cone).

    Lengths but `cut_mm` are net: along the finished tube, before shrink and trim; an inlet's tube counts to
    its flat cut, down the middle. Back and throat are the outside's and the inside's length, straights
    included; `roll_mm` is the roll measured round the outside.  cut : net and what is added to it, mm; left
    out where it is not known.
    """
    if piece.path is None:
        return None
    segments = piece.path.segments
    arcs = [s for s in segments if isinstance(s, Arc)]
    if len(arcs) > 1:
        return None
    before, after = _straights(segments)
    if arcs:
        after += piece.leg
    else:
        before += piece.leg
    straight = before + after
    angle, clr = (arcs[0].angle, arcs[0].clr) if arcs else (0.0, None)
    roll = piece.path.bends[0].roll if arcs else 0.0
    radius = piece.section.radius

    def along(offset: float) -> float:
        return straight + (math.radians(angle) * (clr + offset) if clr is not None else 0.0)

    return {
        "piece": piece.id,
        "stock": piece.stock,
        "angle_deg": angle,
        "clr_mm": clr,
        "od_mm": piece.section.od,
        "straights_mm": [before, after],
        "back_mm": along(radius),
        "centre_mm": along(0.0),
        "throat_mm": along(-radius),
        "roll_deg": roll,
        "roll_mm": math.radians(roll) * radius,
        "net_mm": piece.path.length + piece.leg,
        **({} if cut is None else {"cut_mm": cut}),
        "joints": list(piece.joints),
    }


def _straights(segments: tuple[Line | Arc, ...]) -> tuple[float, float]:
    """Straight length before the bend and after it; a straight piece has all of it before."""
    lengths = [0.0, 0.0]
    bent = 0
    for segment in segments:
        if isinstance(segment, Arc):
            bent = 1
        else:
            lengths[bent] += segment.length
    return lengths[0], lengths[1]
