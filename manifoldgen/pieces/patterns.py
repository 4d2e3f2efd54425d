"""Cutting patterns: which bent pieces come out of one stock item together.

    leg │ piece │ kerf │ piece │ kerf │ piece │ leg        at most three pieces

A kerf with parallel sides between two radial faces takes asin((kerf + 2 truing) / (CLR - OD/2)) of the arc.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from manifoldgen.manifold.allowances import Allowances
from manifoldgen.manifold.model import StockItem
from manifoldgen.pieces.choices import ArcPiece
from manifoldgen.pieces.stock import SAME_ANGLE

MOST = 3  # pieces of one item; more hardly ever fit, and the patterns become too many
MANY = 4000  # patterns of one item, from where on only two pieces are taken of it
Numbered = tuple[int, int, ArcPiece]  # number, chain, arc


@dataclass(frozen=True)
class Pattern:
    """One item and what is cut from it: numbers of the arcs; degrees left over; waste in mm of centreline."""

    item: StockItem
    arcs: tuple[int, ...]
    left: float
    waste: float


def patterns(
    item: StockItem, arcs: Sequence[ArcPiece], chains: Sequence[int], allowed: Allowances
) -> list[Pattern]:
    """Every pattern of one item, in a fixed order.

    arcs : of all chains, chain by chain.  chains : the chain each of them belongs to.
    """
    mine = [k for k, arc in enumerate(arcs) if any(i is item for i in arc.items)]
    alone = [k for k in mine if _takes_all(item, arcs[k])]
    rest = (k for k in mine if not _takes_all(item, arcs[k]))
    shared = [(k, chains[k], arcs[k]) for k in sorted(rest, key=lambda k: (arcs[k].angle, k))]
    kerf = allowed.angle_between(item.clr, item.od)
    found = [Pattern(item, (k,), 0.0, _legs_left(item, (arcs[k],))) for k in alone]
    for most in (MOST, 2):
        groups = list(_groups(item, shared, kerf, most))
        if len(groups) <= MANY or most == 2:
            break
    for group in groups:
        left = max(0.0, item.angle - sum(arcs[k].angle for k in group) - kerf * (len(group) - 1))
        arc = math.radians(left) * item.clr
        waste = (arc / 2 if left >= allowed.offcut else arc) + _legs_left(item, [arcs[k] for k in group])
        found.append(Pattern(item, group, left, waste))
    return found


def _takes_all(item: StockItem, arc: ArcPiece) -> bool:
    """Whether the piece is the item uncut: nothing else comes out of it."""
    return item.whole or abs(arc.angle - item.angle) <= SAME_ANGLE


def _groups(item: StockItem, shared: Sequence[Numbered], kerf: float, most: int) -> Iterator[tuple[int, ...]]:
    """Groups of up to `most` pieces that fit together, depth first; `shared` by growing angle."""
    stack: list[tuple[tuple[Numbered, ...], int, float]] = [((), 0, item.angle + 1e-9)]
    while stack:
        group, first, room = stack.pop()
        if group:
            yield tuple(k for k, _, _ in group)
        if len(group) == most:
            continue
        for n in range(first, len(shared)):
            rest = room - shared[n][2].angle - (kerf if group else 0.0)
            if rest < 0:
                break  # the ones after it are larger
            more = (*group, shared[n])
            if _together(group, shared[n]) and _legs_fit(item, [arc for _, _, arc in more]):
                stack.append((more, n + 1, rest))


def _together(group: Sequence[Numbered], one: Numbered) -> bool:
    """Whether a piece can stand beside the others in one job: another bend, or another part of the same way."""
    _, chain, new = one
    return not any(
        c == chain and old.turn == new.turn and (old.mode != new.mode or old.part == new.part)
        for _, c, old in group
    )


def _legs_fit(item: StockItem, group: Sequence[ArcPiece]) -> bool:
    """Whether the straights that the pieces take are in the item's two legs, one piece a leg."""
    wanted = sorted((max(arc.cut) for arc in group if max(arc.cut) > 0), reverse=True)
    if len(wanted) > 2:
        return False
    return all(w <= leg + 1e-9 for w, leg in zip(wanted, sorted(item.legs, reverse=True), strict=False))


def _legs_left(item: StockItem, group: Sequence[ArcPiece]) -> float:
    return max(0.0, sum(item.legs) - sum(sum(arc.cut) for arc in group)) if not item.whole else 0.0
