"""The ways a chain can be cut: what a bent piece may be, and how a stretch is shared between legs and bar.

    state of a stretch:   leg of the bend before │ bar │ leg of the bend after
    a bent piece:         straight before, arc, straight after

A big bend is several arcs: equal ones, or the largest elbow's and the rest, either way round.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from manifoldgen.manifold.allowances import Means
from manifoldgen.manifold.model import StockItem
from manifoldgen.pieces.chain import Chain, Stretch
from manifoldgen.pieces.part import SLIVER
from manifoldgen.pieces.stock import SAME_ANGLE, arcs, fits, with_clr

LEAST_PART = 8.0  # degrees: less is not cut off a big bend as a part of its own
LEAST_LEG = 3.0  # mm: less straight is not left between a weld and a bend or a weld


@dataclass(frozen=True)
class State:
    """How a stretch is shared: mm of the leg before, of the leg after; bar is the rest, where `bar`.

    welds : arc lengths of the welds at its ends or inside it (none on an inlet's ring plane but where its
        tube begins there).
    """

    before: float
    after: float
    bar: bool
    welds: tuple[float, ...]


@dataclass(frozen=True)
class ArcPiece:
    """A bent piece: `part` of `parts` of a turn, degrees, and the straights it takes, net and as cut, mm.

    items : the stock items it can come from.
    """

    turn: int
    mode: int
    part: int
    angle: float
    legs: tuple[float, float]
    cut: tuple[float, float]
    items: tuple[StockItem, ...]


@dataclass(frozen=True)
class Choices:
    """All ways to cut one chain.  modes : for each turn the ways it is divided, degrees each.

    states : for each stretch.  arcs : the bent pieces of all turns.
    """

    chain: Chain
    modes: tuple[tuple[tuple[float, ...], ...], ...]
    states: tuple[tuple[State, ...], ...]
    arcs: tuple[ArcPiece, ...]


def choices(chain: Chain, means: Means, avoided: Callable[[float], bool]) -> Choices:
    """What can be chosen for a chain; `avoided` says of an arc length whether a weld there is to be avoided."""
    run = chain.run
    share = means.allowed.step_share
    had = [i for i in arcs(means.stock, run.kind) if fits(i, run.section, share)]
    items = [with_clr(had, t.clr) for t in chain.turns]
    modes = tuple(_modes(t.angle, i) for t, i in zip(chain.turns, items, strict=True))
    states = tuple(_states(s, *_beside(chain, items, k), avoided) for k, s in enumerate(chain.stretches))
    found: list[ArcPiece] = []
    for t in range(len(chain.turns)):
        found += _arcs(
            t, modes[t], (chain.stretches[t], chain.stretches[t + 1]), (states[t], states[t + 1]), items[t]
        )
    return Choices(chain, modes, states, tuple(found))


def can_be_cut(angle: float, items: Sequence[StockItem], room: tuple[float, float]) -> bool:
    """Whether a bend can be had from items of its radius; `room` : straight before and after it, mm."""
    if any(not i.whole for i in items):
        return True
    return any(
        abs(i.angle - angle) <= SAME_ANGLE
        and any(a <= room[0] + SLIVER and b <= room[1] + SLIVER for a, b in (i.legs, i.legs[::-1]))
        for i in items
    )


def _modes(angle: float, items: Sequence[StockItem]) -> tuple[tuple[float, ...], ...]:
    """The ways a turn is divided into arcs."""
    most = max((i.angle for i in items if not i.whole), default=0.0)
    if not most or most >= angle - SAME_ANGLE or any(abs(i.angle - angle) <= SAME_ANGLE for i in items):
        return ((angle,),)
    count = math.ceil(angle / most - 1e-9)
    ways = [(angle / count,) * count]
    rest = angle - most * (count - 1)
    if LEAST_PART <= rest < most - SAME_ANGLE:
        ways += [((most,) * (count - 1)) + (rest,), (rest, *((most,) * (count - 1)))]
    return tuple(ways)


def _beside(
    chain: Chain, items: Sequence[Sequence[StockItem]], k: int
) -> tuple[list[StockItem], list[StockItem]]:
    """The items that may give a leg to stretch k from the turn before it and from the turn after it."""

    def legged(t: int) -> list[StockItem]:
        if not 0 <= t < len(chain.turns):
            return []
        angle = chain.turns[t].angle
        return [i for i in items[t] if max(i.legs) > SLIVER and (not i.whole or abs(i.angle - angle) <= SAME_ANGLE)]  # fmt: skip

    return legged(k - 1), legged(k)


def _states(
    s: Stretch, before: list[StockItem], after: list[StockItem], avoided: Callable[[float], bool]
) -> tuple[State, ...]:
    length = s.length
    if length <= SLIVER:
        return (State(0.0, 0.0, bar=s.inlet, welds=(s.start,)),)
    free, kept = (
        _free_legs(before),
        _whole_legs(before),
    )  # usable mm of legs that may be cut, of ones that may not
    free_after, kept_after = _free_legs(after), _whole_legs(after)
    pairs: list[tuple[float, float]] = [(0.0, 0.0)]
    pairs += [(w, 0.0) for w in kept] + [(0.0, w) for w in kept_after]
    pairs += [(w, v) for w in kept for v in kept_after]
    if not s.inlet:
        if max(free, default=0.0) >= s.leg_cut(length):
            pairs.append((length, 0.0))
        if max(free_after, default=0.0) >= length + s.before:
            pairs.append((0.0, length))
        pairs += [(w, length - w) for w in kept if max(free_after, default=0.0) >= length - w + s.shrink]
        pairs += [(length - w, w) for w in kept_after if max(free, default=0.0) >= length - w + s.shrink]
        for a in free:
            for b in free_after:
                pairs += _shared(length, a - s.shrink, b - s.shrink, spread=_beset(s, avoided))
    if _beset(s, avoided):  # welds move off the bends: legs as far as they go, bar between
        longest = max(free, default=0.0) - s.shrink, max(free_after, default=0.0) - s.shrink
        pairs += [(longest[0], 0.0), (0.0, longest[1])] + ([] if s.inlet else [longest])
    made: dict[tuple[float, float], State] = {}
    for a, b in pairs:
        rest = length - a - b
        if min(a, b) < 0 or rest < -SLIVER or (SLIVER < rest < LEAST_LEG and (a, b) != (0.0, 0.0)):
            continue
        bar = rest > SLIVER or s.inlet
        welds = (s.start + a, s.end - b) if rest > SLIVER and not s.inlet else (s.start + a,)
        made.setdefault((round(a, 6), round(b, 6)), State(a, b, bar, welds))
    return tuple(made.values())


def _beset(s: Stretch, avoided: Callable[[float], bool]) -> bool:
    """Whether a weld at an end of the stretch, or in its middle, is to be avoided."""
    return any(avoided(x) for x in (s.start, (s.start + s.end) / 2, s.end))


def _free_legs(items: Sequence[StockItem]) -> list[float]:
    return sorted({leg for i in items if not i.whole for leg in i.legs if leg > SLIVER})


def _whole_legs(items: Sequence[StockItem]) -> list[float]:
    return sorted({leg for i in items if i.whole for leg in i.legs if leg > SLIVER})


def _shared(length: float, a: float, b: float, *, spread: bool) -> list[tuple[float, float]]:
    """Legs of `a` and `b` usable mm that meet in a stretch too long for either; the weld as near its middle as it goes.

    spread : also as far to either end as it goes.
    """
    if not (0 < a < length and 0 < b < length <= a + b):
        return []
    first, last = max(length - b, LEAST_LEG), min(a, length - LEAST_LEG)
    if first > last:
        return []
    middle = min(max(length / 2, first), last)
    places = (middle, first, last) if spread else (middle,)
    return [(x, length - x) for x in places]


def _arcs(
    t: int,
    modes: Sequence[Sequence[float]],
    beside: tuple[Stretch, Stretch],
    states: tuple[Sequence[State], Sequence[State]],
    items: Sequence[StockItem],
) -> list[ArcPiece]:
    """The bent pieces of one turn with every share of the stretches beside it that some item gives."""
    s, e = beside
    starts = {round(x.after, 6): x.after for x in states[0]}.values()
    stops = {round(x.before, 6): x.before for x in states[1]}.values()
    made: list[ArcPiece] = []
    for mode, angles in enumerate(modes):
        for part, angle in enumerate(angles):
            for a in starts if part == 0 else (0.0,):
                for b in stops if part == len(angles) - 1 else (0.0,):
                    cut = (
                        a and a + (s.before if a >= s.length - SLIVER else s.shrink),
                        b and (e.leg_cut(b) if b >= e.length - SLIVER else b + e.shrink),
                    )
                    able = tuple(i for i in items if _gives(i, angle, (a, b), cut))
                    if able or not (a or b):
                        made.append(ArcPiece(t, mode, part, angle, (a, b), cut, able))
    return made


def _gives(item: StockItem, angle: float, net: tuple[float, float], cut: tuple[float, float]) -> bool:
    """Whether the item alone gives such a piece."""
    exact = abs(item.angle - angle) <= SAME_ANGLE
    ways = (item.legs, item.legs[::-1])
    if item.whole:
        return exact and any(abs(a - net[0]) <= SLIVER and abs(b - net[1]) <= SLIVER for a, b in ways)
    if net[0] and net[1] and not exact:
        return False
    return angle <= item.angle + SAME_ANGLE and any(cut[0] <= a + SLIVER and cut[1] <= b + SLIVER for a, b in ways)  # fmt: skip
