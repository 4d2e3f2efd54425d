"""What was chosen as spans of the runs, and as the plan that the saw follows."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from manifoldgen.manifold.allowances import Allowances
from manifoldgen.manifold.model import CuttingPlan, Slice, StockItem, Taken
from manifoldgen.pieces.added import Added
from manifoldgen.pieces.bars import STUB
from manifoldgen.pieces.chain import Chain
from manifoldgen.pieces.choices import ArcPiece
from manifoldgen.pieces.cuts import Span
from manifoldgen.pieces.optimum import Chosen
from manifoldgen.pieces.patterns import Pattern

Source = tuple[str, int, int]  # ("arc", its number, 0) or ("bar", chain, stretch)


@dataclass(frozen=True)
class Sources:
    """What every piece to be is cut from: an arc out of a pattern, a straight out of a bar."""

    arcs: Mapping[int, Pattern]
    bars: Mapping[tuple[int, int], StockItem]

    @classmethod
    def of(cls, chosen: Chosen) -> Sources:
        """The sources of a choice."""
        arcs = {k: p for p in chosen.patterns for k in p.arcs}
        return cls(arcs, {(b.chain, b.stretch): item for item, load in chosen.bars for b in load})

    def item(self, source: Source) -> StockItem | None:
        """The stock item of one source."""
        kind, a, b = source
        if kind == "bar":
            return self.bars.get((a, b))
        return self.arcs[a].item if a in self.arcs else None


def spans_of(n: int, chain: Chain, chosen: Chosen, sources: Sources) -> list[tuple[Span, Source]]:
    """The pieces to be of chain `n`, in order, and what each is cut from."""
    arcs = [(k, chosen.arcs[k][1]) for k in chosen.taken if chosen.arcs[k][0] == n]
    made: list[tuple[Span, Source]] = []

    def add(start: float, end: float, source: Source) -> None:
        item = sources.item(source)
        made.append((Span(start, end, item.name if item else None), source))

    for k, stretch in enumerate(chain.stretches):
        state = chosen.states[n][k]
        if state.bar:
            add(stretch.start + state.before, stretch.end - state.after, ("bar", n, k))
        if k == len(chain.turns):
            continue
        turn = chain.turns[k]
        at = turn.start
        for i, arc in sorted(((i, a) for i, a in arcs if a.turn == k), key=lambda x: x[1].part):
            last = arc.part == max(a.part for _, a in arcs if a.turn == k)
            end = turn.end if last else at + (turn.end - turn.start) * arc.angle / turn.angle
            add(at - arc.legs[0], end + arc.legs[1], ("arc", i, 0))
            at = end
    if chain.stub is not None:
        add(chain.stub.start, chain.stub.end, ("bar", n, STUB))
    return made


def plan_of(
    chosen: Chosen,
    ids: Mapping[Source, str],
    lengths: Mapping[str, float],
    grown: Mapping[str, Added],
    allowed: Allowances,
) -> CuttingPlan:
    """The cutting plan.

    ids : the piece made from each source.  lengths : net centreline of each piece with its inlet's leg, mm.
    grown : what is added to each.
    """
    arcs = [
        _from_arc(p, [(ids["arc", k, 0], chosen.arcs[k][1]) for k in p.arcs], grown, allowed)
        for p in chosen.patterns
    ]
    bars = [
        _from_bar(
            item,
            {p: grown[p].sawn(lengths[p]) for b in load for p in (ids["bar", b.chain, b.stretch],)},
            allowed,
        )
        for item, load in chosen.bars
    ]
    order = list(ids.values())
    counted: dict[str, int] = {}
    taken: list[Taken] = []
    for one in (*_in_order(arcs, order), *_in_order(bars, order)):
        counted[one.item.name] = counted.get(one.item.name, 0) + 1
        taken.append(Taken(one.item, counted[one.item.name], one.slices, one.kerf, one.kerf_deg, one.left))
    given = {s.piece for t in taken for s in t.slices}
    prices = [t.item.price for t in taken]
    cost = None if None in prices else float(sum(p for p in prices if p is not None))
    return CuttingPlan(tuple(taken), tuple(p for p in order if p not in given), cost, chosen.proven)


def _in_order(taken: Sequence[Taken], order: Sequence[str]) -> list[Taken]:
    """By the item, as the stock first needs it, then by the first piece that comes out of it."""
    first = {id(t): min(order.index(s.piece) for s in t.slices) for t in taken}
    by_item: dict[str, int] = {}
    for t in sorted(taken, key=lambda t: first[id(t)]):
        by_item.setdefault(t.item.name, len(by_item))
    return sorted(taken, key=lambda t: (by_item[t.item.name], first[id(t)]))


def _from_arc(
    pattern: Pattern, pieces: Sequence[tuple[str, ArcPiece]], grown: Mapping[str, Added], allowed: Allowances
) -> Taken:
    """The slices of one elbow: a legged one at either end, the others from its beginning, the largest first."""
    item = pattern.item
    kerf = allowed.angle_between(item.clr, item.od)
    legged = sorted((p for p in pieces if max(p[1].legs) > 0), key=lambda p: -max(p[1].cut))
    plain = sorted((p for p in pieces if max(p[1].legs) <= 0), key=lambda p: (-p[1].angle, p[0]))
    first, last = [*legged, None, None][:2]
    if item.legs[1] > item.legs[0] and first is not None and not min(first[1].legs):
        first, last = last, first
    slices: list[Slice] = []
    at = 0.0
    for piece in (*((first,) if first else ()), *plain):
        slices.append(_slice(item, piece, at, grown, at_end=False))
        at += piece[1].angle + kerf
    if last is not None:
        slices.append(_slice(item, last, max(0.0, item.angle - last[1].angle), grown, at_end=True))
    return Taken(item, 0, tuple(slices), allowed.between, kerf, pattern.left)


def _slice(
    item: StockItem, piece: tuple[str, ArcPiece], at: float, grown: Mapping[str, Added], *, at_end: bool
) -> Slice:
    name, arc = piece
    more, blank = grown[name].ends, grown[name].blank
    legs = (arc.legs[0] and arc.legs[0] + more[0], arc.legs[1] and max(arc.legs[1] + more[1], blank))
    if min(arc.legs) > 0:
        turned = not (arc.cut[0] <= item.legs[0] + 1e-9 and arc.cut[1] <= item.legs[1] + 1e-9)
    else:
        turned = arc.legs[0] > 0 if at_end else arc.legs[1] > 0
    return Slice(name, at, arc.angle, legs, turned)


def _from_bar(item: StockItem, cut: Mapping[str, float], allowed: Allowances) -> Taken:
    """The pieces of one bar with their lengths as cut, the longest first."""
    slices: list[Slice] = []
    at = 0.0
    for piece, length in sorted(cut.items(), key=lambda c: (-round(c[1], 6), c[0])):
        slices.append(Slice(piece, at, 0.0, (length, 0.0)))
        at += length + allowed.between
    return Taken(item, 0, tuple(slices), allowed.between, 0.0, max(0.0, item.length - at))
