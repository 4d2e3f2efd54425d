"""Straight pieces in the program of a job: which bar each is cut from, and how many bars that takes.

Bars are first reckoned by the length of everything cut from them together; whether the lengths really pack
into that many is seen afterwards (`loads`), and what does not pack is forbidden (`forbid`).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from manifoldgen.manifold.allowances import Means
from manifoldgen.manifold.model import StockItem
from manifoldgen.pieces.chain import Stretch
from manifoldgen.pieces.choices import Choices, State
from manifoldgen.pieces.packing import packed
from manifoldgen.pieces.part import SLIVER
from manifoldgen.pieces.program import MISSING, Program
from manifoldgen.pieces.stock import bars, reckoned_price

STUB = -1  # the stretch of a stub


@dataclass(frozen=True)
class StraightPiece:
    """A straight piece: of which chain and stretch, in which state; mm as cut, and with its kerf."""

    chain: int
    stretch: int
    state: State
    length: float
    takes: float


@dataclass(frozen=True)
class Use:
    """The column that says: this straight piece is cut from this item (None: it cannot be had)."""

    column: int
    item: StockItem | None
    bar: StraightPiece


@dataclass(frozen=True)
class TooLong:
    """Pieces that do not pack into the bars they were given."""

    item: int
    uses: tuple[Use, ...]
    bars: int


def bar_uses(
    program: Program,
    chain: int,
    job: Choices,
    states: Mapping[int, Sequence[tuple[int, State]]],
    means: Means,
) -> list[Use]:
    """The columns for the straight pieces of one chain; `states` : each stretch's columns, `STUB` its stub's."""
    run = job.chain.run
    listed = bars(means.stock, run.kind, run.section, means.allowed.step_share)
    made: list[Use] = []
    for k, columns in states.items():
        stretch = job.chain.stub if k == STUB else job.chain.stretches[k]
        for column, state in columns:
            if stretch is None or not state.bar:
                continue
            length = bar_length(stretch, state)
            bar = StraightPiece(chain, k, state, length, length + means.allowed.between)
            able = [i for i in listed if i.length >= bar.takes]
            uses = [Use(program.column(), i, bar) for i in able]
            if not able or all(i.count is not None for i in able):
                uses.append(Use(program.column(MISSING if listed else 0.0), None, bar))
            program.row({u.column: 1.0 for u in uses} | {column: -1.0}, 0, 0)
            made += uses
    return made


def bar_counts(program: Program, uses: Sequence[Use], stock: Sequence[StockItem]) -> dict[int, int]:
    """Columns for how many of each bar are taken, by the item's place in the stock."""
    made: dict[int, int] = {}
    for n, item in enumerate(stock):
        mine = {u.column: u.bar.takes for u in uses if u.item is item}
        if mine:
            most = float(len(mine)) if item.count is None else float(item.count)
            made[n] = program.column(0.0, reckoned_price(item, stock), 0.0, most=most)
            program.row(mine | {made[n]: -item.length}, -math.inf, 0)
    return made


def loads(
    uses: Sequence[Use], counts: Mapping[int, int], values: Sequence[int], stock: Sequence[StockItem]
) -> tuple[list[tuple[StockItem, tuple[StraightPiece, ...]]], list[TooLong]]:
    """The bars with what is cut from each, longest first; and what does not pack."""
    made: list[tuple[StockItem, tuple[StraightPiece, ...]]] = []
    misfits: list[TooLong] = []
    for n, column in counts.items():
        taken = [u for u in uses if u.item is stock[n] and values[u.column]]
        count = values[column]
        found = packed([u.bar.takes for u in taken], stock[n].length, count)
        if found is None:
            misfits.append(TooLong(n, tuple(taken), count))
        else:
            made += [(stock[n], tuple(taken[k].bar for k in load)) for load in found if load]
    return made, misfits


def forbid(program: Program, misfit: TooLong, count: int) -> None:
    """As long as all these pieces are cut from that item, one bar more is taken; `count` : the item's column."""
    more = float(misfit.bars + 1)
    row = {count: 1.0} | {u.column: -more for u in misfit.uses}
    program.row(row, more * (1 - len(misfit.uses)), math.inf)


def bar_length(s: Stretch, state: State) -> float:
    """A straight piece as it is cut, mm: net, its inlet's leg, and what is added at both ends; or its blank."""
    rest = max(0.0, s.length - state.before - state.after)
    first = s.before if state.before <= SLIVER else s.shrink
    last = s.after if state.after <= SLIVER else s.shrink
    cut = rest + s.leg + first + last
    return cut if s.blank is None else max(cut, s.blank.length(rest, min(first, s.shrink) + s.trim))
