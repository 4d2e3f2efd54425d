"""The best way to cut a whole job: fewest pieces (so welds), then least cost, then least waste.

Every part of a bend and every stretch is covered once; a bent piece comes out of one cutting pattern; the
straight pieces out of bars. What stock does not give is a missing piece, taken only where nothing else is left.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from manifoldgen.manifold.allowances import Means
from manifoldgen.manifold.model import StockItem
from manifoldgen.pieces.bars import STUB, StraightPiece, Use, bar_counts, bar_uses, forbid, loads
from manifoldgen.pieces.chain import Chain
from manifoldgen.pieces.choices import ArcPiece, Choices, State
from manifoldgen.pieces.patterns import Pattern, patterns
from manifoldgen.pieces.program import AVOIDED, MISSING, Program
from manifoldgen.pieces.stock import reckoned_price

AGAIN = 25  # times the choice is made anew because lengths do not pack into their bars

Avoided = Callable[[Chain, float], bool]
Supply = dict[int, float]  # columns that give an arc, each once


@dataclass(frozen=True)
class Chosen:
    """What was chosen.

    states : for each chain the state of each stretch.  arcs : all arcs there are to choose from, each with its chain,
    chain by chain.  taken : numbers of the arcs that are chosen.  patterns, bars : the items and what comes
    out of each.  missing : numbers of chosen arcs that stock does not give.
    """

    states: tuple[tuple[State, ...], ...]
    arcs: tuple[tuple[int, ArcPiece], ...]
    taken: tuple[int, ...]
    patterns: tuple[Pattern, ...]
    bars: tuple[tuple[StockItem, tuple[StraightPiece, ...]], ...]
    missing: tuple[int, ...]
    proven: bool


def best(jobs: Sequence[Choices], means: Means, avoided: Avoided) -> Chosen:
    """The best choice over all chains together.

    avoided : whether a weld at an arc length of a chain is to be avoided: it counts as a hundred pieces.
    """
    program = Program()
    arcs = tuple((n, arc) for n, job in enumerate(jobs) for arc in job.arcs)
    cut, supply = _patterns(program, arcs, means)
    missing = _missing(program, arcs, supply)
    states: list[dict[int, list[tuple[int, State]]]] = []
    uses: list[Use] = []
    for n, job in enumerate(jobs):
        mine = [(arc, supply[k]) for k, (chain, arc) in enumerate(arcs) if chain == n]
        _turns(program, job, mine, avoided)
        states.append(_stretches(program, job, mine, avoided))
        uses += bar_uses(program, n, job, states[n], means)
    counts = bar_counts(program, uses, means.stock)
    for again in range(AGAIN):
        values, proven = program.solve()
        bars, misfits = loads(uses, counts, values, means.stock)
        if not misfits:
            break
        for misfit in misfits:
            if again == AGAIN - 2:  # more bars than needed are no harm
                program.bounds[counts[misfit.item]] = float(len(misfit.uses))
            forbid(program, misfit, counts[misfit.item])
    taken = [k for k, columns in enumerate(supply) if any(values[c] for c in columns)]
    return Chosen(
        states=tuple(
            tuple(next(s for c, s in columns if values[c]) for k, columns in job.items() if k != STUB)
            for job in states
        ),
        arcs=arcs,
        taken=tuple(taken),
        patterns=tuple(p for c, p in cut if values[c]),
        bars=tuple(bars),
        missing=tuple(k for k, c in missing.items() if values[c]),
        proven=proven and not misfits,
    )


def _patterns(
    program: Program, arcs: Sequence[tuple[int, ArcPiece]], means: Means
) -> tuple[list[tuple[int, Pattern]], list[Supply]]:
    """A column for every cutting pattern, and by which columns each arc is given."""
    made: list[tuple[int, Pattern]] = []
    supply: list[Supply] = [{} for _ in arcs]
    unlimited = all(i.count is None for i in means.stock)  # then every piece may have an item of its own
    for item in means.stock:
        if item.kind == "straight":
            continue
        price, own = reckoned_price(item, means.stock), {}
        beaten = _beaten(item, price, means.stock)
        for pattern in patterns(item, [a for _, a in arcs], [n for n, _ in arcs], means.allowed):
            if beaten and not any(max(arcs[k][1].legs) for k in pattern.arcs):
                continue
            column = program.column(float(len(pattern.arcs)), price, pattern.waste)
            if unlimited and len(pattern.arcs) > 1:
                program.spare.add(column)
            made.append((column, pattern))
            own[column] = 1.0
            for k in pattern.arcs:
                supply[k][column] = 1.0
        if item.count is not None and own:
            program.row(own, 0, item.count)
    return made, supply


def _beaten(item: StockItem, price: float, stock: Sequence[StockItem]) -> bool:
    """Whether another item gives the same plain arcs for no more, without legs that would be left over."""
    size = (item.tube, item.clr, item.angle, item.od, item.wall)
    return any(item.legs) and any(
        o.kind != "straight"
        and not any(o.legs)
        and o.count is None
        and (o.tube, o.clr, o.angle, o.od, o.wall) == size
        and reckoned_price(o, stock) <= price
        for o in stock
    )


def _missing(program: Program, arcs: Sequence[tuple[int, ArcPiece]], supply: list[Supply]) -> dict[int, int]:
    """A column for every plain arc, that it cannot be had, where what gives it may run out."""
    made: dict[int, int] = {}
    for k, (_, arc) in enumerate(arcs):
        if not max(arc.legs) and all(i.count is not None for i in arc.items):
            made[k] = program.column(1.0 + MISSING)
            supply[k][made[k]] = 1.0
    return made


def _turns(program: Program, job: Choices, mine: Sequence[tuple[ArcPiece, Supply]], avoided: Avoided) -> None:
    """One way of dividing every turn is taken, and each of its parts is one piece."""
    for t, modes in enumerate(job.modes):
        turn = job.chain.turns[t]
        ways: Supply = {}
        for mode, angles in enumerate(modes):
            inner = (turn.start + (turn.end - turn.start) * sum(angles[:i]) / turn.angle for i in range(1, len(angles)))  # fmt: skip
            way = program.column(AVOIDED * sum(avoided(job.chain, s) for s in inner))
            ways[way] = 1.0
            for part in range(len(angles)):
                row: Supply = {way: -1.0}
                for arc, columns in mine:
                    if (arc.turn, arc.mode, arc.part) == (t, mode, part):
                        row |= columns
                program.row(row, 0, 0)
        program.row(ways, 1, 1)


def _stretches(
    program: Program, job: Choices, mine: Sequence[tuple[ArcPiece, Supply]], avoided: Avoided
) -> dict[int, list[tuple[int, State]]]:
    """One state for every stretch (and the stub), and the bent pieces beside it take the legs that it says."""
    made: dict[int, list[tuple[int, State]]] = {}
    for k, states in enumerate(job.states):
        made[k] = [
            (program.column(float(s.bar) + AVOIDED * sum(avoided(job.chain, w) for w in s.welds)), s)
            for s in states
        ]
        program.row({c: 1.0 for c, _ in made[k]}, 1, 1)
        if k > 0:
            _legs_agree(program, made[k], [x for x in mine if _outer(job, x[0], k - 1, last=True)], 1)
        if k < len(job.modes):
            _legs_agree(program, made[k], [x for x in mine if _outer(job, x[0], k, last=False)], 0)
    stub = job.chain.stub
    if stub is not None:
        weld = State(0.0, 0.0, bar=True, welds=(stub.start,))
        made[STUB] = [(program.column(1.0), weld)]
        program.row({made[STUB][0][0]: 1.0}, 1, 1)
    return made


def _outer(job: Choices, arc: ArcPiece, turn: int, *, last: bool) -> bool:
    """Whether an arc is the last (or the first) of a turn."""
    return arc.turn == turn and arc.part == (len(job.modes[turn][arc.mode]) - 1 if last else 0)


def _legs_agree(
    program: Program,
    states: Sequence[tuple[int, State]],
    beside: Sequence[tuple[ArcPiece, Supply]],
    side: int,
) -> None:
    """What a stretch takes of a leg, the bent piece beside it gives; side 0 : its straight before the bend."""
    wanted = {c: round(s.before if side else s.after, 6) for c, s in states}
    for leg in sorted(set(wanted.values())):
        row: Supply = {c: -1.0 for c, w in wanted.items() if w == leg}
        for arc, columns in beside:
            if round(arc.legs[side], 6) == leg:
                row |= columns
        program.row(row, 0, 0)
