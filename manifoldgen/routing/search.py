"""The search: rings in turn, the best choices refined and verified, better ones sought round the best so far.

Everything is limited by counts, and every random number comes from (seed, stage, index): the same seed gives
the same answer on a fast and on a slow machine.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

import numpy as np

from manifoldgen.manifold.model import Manifold
from manifoldgen.manifold.ring import RingFit
from manifoldgen.routing.bound import lower_bound, run_bound
from manifoldgen.routing.choose import Choice, choose, out_of_order
from manifoldgen.routing.hands import lost
from manifoldgen.routing.pool import Candidates, pool
from manifoldgen.routing.problem import Problem
from manifoldgen.routing.refine import Layout, as_layout, crude, refine
from manifoldgen.routing.rings import rings
from manifoldgen.routing.tidy import elbows, tidied
from manifoldgen.routing.verify import Margin, laid, passes, verified

TIDY = 2.0  # cost that an answer without slivers may be dearer
PER_ELBOW = 0.3  # cost of another elbow to be bought
PER_STUCK = 10.0  # cost of a weld that no torch reaches: only where nothing else works
_RINGS = 12  # fewer rings than this are tried several times
_DEEP = 60.0  # mm of clearance that candidates may miss where nothing else is found
_FEW = 3  # near misses that are enough to go on from
_NEAR = 12.0  # mm short: a layout that may still be mended
_CLOSE = 20.0  # mm short, all groups together: a near miss that the second solver may close
_SECOND = 200  # its rounds
_MENDED = ((0.3, 40), (0.7, 60))  # mm of margin and rounds when a layout fails by little


@dataclass(frozen=True)
class Budget:
    """How much is tried; counts, never times.

    first : rings tried for a first answer.  factors : lengths aimed at, as shares of a ring's own bound.
    draws, most : samples and candidates of a pool.  refined : choices refined.  second : near misses that the
    other solver tries.  around : rounds of search about the best.  tidied : answers whose slivers are taken out.  welded : answers whose welds are looked at.
    """

    first: int = 12
    factors: tuple[float, ...] = (1.03, 1.1, 1.2, 1.35)
    draws: int = 3000
    most: int = 45
    refined: int = 16
    second: int = 4
    around: int = 3
    tidied: int = 3
    welded: int = 6

    def times(self, k: int) -> Budget:
        """About `k` times as much."""
        return Budget(
            first=self.first * k, factors=self.factors, draws=self.draws * 3, most=self.most * 2,
            refined=self.refined * k, second=self.second, around=self.around * k, tidied=self.tidied, welded=self.welded * k,
        )  # fmt: skip


@dataclass(frozen=True)
class Depth:
    """How large pools are: samples, candidates kept, mm of clearance that may be missing; tag tells stages apart."""

    draws: int
    most: int
    slack: float
    tag: int


@dataclass(frozen=True)
class Progress:
    """How far the search is.

    stage : what is being done, in words.  length : best so far, mm (mean), None before there is any.
    spread : (longest - shortest) / mean.  above : share above what no layout can beat.
    verified : whether that best keeps every limit.  tried : layouts refined so far.
    """

    stage: str
    length: float | None
    spread: float | None
    above: float | None
    verified: bool
    tried: int


@dataclass(frozen=True, eq=False)
class Answer:
    """A layout that was measured: its manifold, all margins and what it costs."""

    layout: Layout
    manifold: Manifold
    margins: tuple[Margin, ...]
    score: float

    @property
    def good(self) -> bool:
        """Whether every limit is kept."""
        return passes(self.margins)


class Search:
    """One search; `best` is there at any time, `run` goes on until its counts are used up.

    stuck : counts the welds of a layout's manifold that no torch reaches; None: welds are not looked at.
    """

    def __init__(
        self, p: Problem, seed: int, budget: Budget, stuck: Callable[[Manifold], int] | None = None
    ) -> None:
        self.p, self.seed, self.budget, self.stuck = p, seed, budget, stuck
        self.welded = 0
        self.bound = max(lower_bound(p), p.window[0])
        self.rings = rings(p, seed)
        self.good: list[Answer] = []
        self.failed: list[Layout] = []  # the nearest misses, best first
        self.nearest: Answer | None = None
        self.tried = 0
        self.pools: dict[tuple[int, bytes, int, int], Candidates] = {}

    @property
    def best(self) -> Answer | None:
        """The best verified answer, else the one that is short by least."""
        return min(self.good, key=lambda a: a.score) if self.good else self.nearest

    @property
    def blocked(self) -> tuple[str, ...]:
        """Runners that had no candidate in any pool."""
        met = {i for (i, *_), found in self.pools.items() if len(found)}
        return tuple(run.name for i, run in enumerate(self.p.searched) if i not in met)

    def run(self) -> Iterator[Progress]:
        """Search on; yields after every layout that is measured."""
        yield from self._first()
        yield from self._all_rings()
        if not self.good:
            yield from self._rescue()
        if not self.good:
            yield from self._second()
        yield from self._around()
        yield from self._tidy()

    def _told(self, stage: str) -> Progress:
        best = self.best
        if best is None:
            return Progress(stage, None, None, None, verified=False, tried=self.tried)
        lengths = best.layout.lengths
        mean = float(lengths.mean())
        spread = float(np.ptp(lengths)) / mean
        return Progress(stage, mean, spread, mean / self.bound - 1, verified=best.good, tried=self.tried)

    def _estimate(self, ring: RingFit) -> float:
        """What no layout of this ring can beat, mm."""
        inlets = self.p.inlets(ring)[: len(self.p.searched)]
        each = run_bound(self.p.starts, inlets, float(self.p.radii.min()), self.p.first, self.p.last)
        return max(float(each.max() if self.p.equal else each.mean()), self.p.window[0])

    def _pools(self, ring: RingFit, length: float, depth: Depth) -> list[Candidates]:
        """Candidates of every runner; kept, as rings share their inlets."""
        inlets = self.p.inlets(ring)
        found = []
        for i, start in enumerate(self.p.starts):
            where = np.round(inlets[i], 6)
            key = (i, where.tobytes(), round(length * 10), depth.tag)
            if key not in self.pools:
                mark = int(np.abs(where).sum() * 1e4) % 2**31
                rng = np.random.default_rng([self.seed, depth.tag, i, mark, round(length * 10)])
                self.pools[key] = pool(
                    self.p,
                    (start, inlets[i]),
                    length,
                    rng,
                    draws=depth.draws,
                    most=depth.most,
                    slack=depth.slack,
                )
            found.append(self.pools[key])
        return found

    def _choices(self, ring: RingFit, length: float, depth: Depth, count: int = 1) -> list[Choice]:
        return choose(self.p, ring, length, self._pools(ring, length, depth), count)

    def _measure(self, layout: Layout) -> Answer | None:
        """The layout verified, mended where it is short by little; kept where it is good or the nearest."""
        self.tried += 1
        answer = self._verified(layout)
        for margin, rounds in _MENDED:
            if answer is not None and answer.good:
                break
            if -layout.margin > _NEAR or (answer is None and layout.margin < -1):
                break
            layout = refine(self.p, layout, margin=margin, rounds=rounds)
            answer = self._verified(layout)
        if answer is not None and answer.good:
            answer = self._in_hand(answer)
        if answer is not None and answer.good:
            self.good.append(answer)
        else:
            self.failed = sorted([*self.failed, layout], key=lambda a: round(float(a.slack.sum()), 6))[:6]
            if answer is not None and (
                self.nearest is None or answer.margins[0].mm > self.nearest.margins[0].mm
            ):
                self.nearest = answer
        return answer

    def _in_hand(self, answer: Answer) -> Answer:
        """An answer that would be the best: what it takes from hands among its margins, stuck welds as a cost."""
        if self.good and answer.score >= min(a.score for a in self.good):
            return answer
        gone = tuple(Margin("tool", what, -1.0) for what in lost(self.p.before, answer.manifold))
        if gone or self.stuck is None or self.welded >= self.budget.welded:
            return replace(answer, margins=(*gone, *answer.margins))
        self.welded += 1
        return replace(answer, score=answer.score + PER_STUCK * self.stuck(answer.manifold))

    def _verified(self, layout: Layout) -> Answer | None:
        m = laid(self.p, layout)
        if m is None:
            return None
        score = layout.cost + PER_ELBOW * elbows(self.p, m) + out_of_order(self.p, layout.ring)
        return Answer(layout, m, verified(self.p, m), round(score, 6))

    def _first(self) -> Iterator[Progress]:
        """A few promising rings, refined at once, until one answer is verified."""
        stage = "first answer"
        order = sorted((round(self._estimate(r), 6), k) for k, r in enumerate(self.rings))
        yield self._told(stage)
        for _, k in order[: self.budget.first]:
            ring = self.rings[k]
            for factor in (1.12, 1.3):
                length = self._estimate(ring) * factor
                made = self._choices(ring, length, Depth(1500, 30, 8.0, 0))
                if made and made[0].margin > -_NEAR:
                    self._measure(refine(self.p, as_layout(made[0]), rounds=40))
                    yield self._told(stage)
                    if self.good:
                        return
                    break

    def _all_rings(self) -> Iterator[Progress]:
        """Every ring at several lengths; the best choices refined."""
        stage, b = "all rings", self.budget
        queue: list[tuple[float, int, Choice]] = []
        again = max(1, _RINGS // len(self.rings))  # few rings: each with other samples too
        for factor in b.factors:
            for ring in self.rings:
                length = min(self._estimate(ring) * factor, self.p.window[1])
                for tag in range(again):
                    depth = Depth(b.draws, b.most, 8.0, 100 + tag)
                    for choice in self._choices(ring, length, depth, 2):
                        queue.append((choice.score, len(queue), choice))
        yield self._told(stage)
        taken: dict[RingFit, int] = {}
        done = 0
        for _, _, choice in sorted(queue, key=lambda q: q[:2]):
            if taken.get(choice.ring, 0) >= 3 * again:
                continue
            taken[choice.ring] = taken.get(choice.ring, 0) + 1
            self._measure(refine(self.p, as_layout(choice)))
            yield self._told(stage)
            done += 1
            if done >= b.refined:
                break

    def _rescue(self) -> Iterator[Progress]:
        """Nothing verified yet: deeper pools that may clash, longer runs, more rounds, then smaller bends."""
        stage, b = "a way round", self.budget
        order = sorted((round(self._estimate(r), 6), k) for k, r in enumerate(self.rings))
        queue: list[tuple[float, int, Choice]] = []
        for factor in (1.15, 1.4, 1.7):
            for _, k in order[: b.refined]:
                length = min(self._estimate(self.rings[k]) * factor, self.p.window[1])
                for choice in self._choices(self.rings[k], length, Depth(b.draws * 2, 60, _DEEP, 2)):
                    queue.append((choice.score, len(queue), choice))
        for _, _, choice in sorted(queue, key=lambda q: q[:2])[: 2 * b.refined]:
            self._measure(refine(self.p, as_layout(choice), rounds=100))
            yield self._told(stage)
            if len(self.good) > 1:
                return
        starts = self.failed[:4]
        if len(self.failed) < _FEW:
            starts += [crude(self.p, self.rings[k]) for _, k in order[:_FEW]]
        for layout in starts:
            self._measure(refine(self.p, layout, rounds=150, least_bend=math.radians(3.0)))
            yield self._told(stage)

    def _second(self) -> Iterator[Progress]:
        """Still nothing: the nearest misses by the other solver, which ends elsewhere."""
        for layout in self.failed[: self.budget.second]:
            if layout.slack.sum() <= _CLOSE:
                self._measure(refine(self.p, layout, rounds=_SECOND, second=True))
                yield self._told("second solver")

    def _around(self) -> Iterator[Progress]:
        """Shorter lengths at the rings of the best answers, with larger pools."""
        stage, b = "shorter", self.budget
        for turn in range(b.around):
            best = self.best
            if best is None:
                return
            ring, mean = best.layout.ring, best.layout.length
            for factor in (0.94, 0.97, 1.0):
                length = max(mean * factor, self.p.window[0])
                made = self._choices(ring, length, Depth(b.draws * 2, b.most * 2, 8.0, 10 + turn), 3)
                for choice in made:
                    self._measure(refine(self.p, as_layout(choice)))
                    yield self._told(stage)
            if self.best is best:
                break

    def _tidy(self) -> Iterator[Progress]:
        """Short straights taken out, the clock to 0.1°, of the best few; the best of those is the answer."""
        for answer in sorted(self.good, key=lambda a: a.score)[: self.budget.tidied]:
            for layout in tidied(self.p, answer.layout):
                again = self._verified(layout)
                if again is None or not again.good:
                    continue
                # a layout without slivers is taken before any with
                again = self._in_hand(replace(again, score=again.score - TIDY))
                if again.good:
                    self.good.append(again)
                    break
            yield self._told("tidy")
