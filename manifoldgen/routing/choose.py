"""One candidate for every runner so that they keep clear of each other as far as they can."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from manifoldgen.geometry.vectors import Array
from manifoldgen.manifold.ring import RingFit, same_ring
from manifoldgen.routing.pool import PER_100_MM, Candidates
from manifoldgen.routing.problem import Problem

PER_ORDER = 1.0  # cost of a free ring that is out of firing order
PER_CLASH = 0.25  # cost of a millimetre missing between two runners
WIDTH = 60


@dataclass(frozen=True, eq=False)
class Choice:
    """A layout that is worth refining: one candidate a runner.

    x, radii : of every runner, corner variables and CLRs.  length : common length aimed at, mm.
    score : lower is better.  margin : least between runners, mm.
    """

    ring: RingFit
    length: float
    x: tuple[Array, ...]
    radii: tuple[Array, ...]
    score: float
    margin: float

    @property
    def bends(self) -> tuple[int, ...]:
        """How many each runner has."""
        return tuple(len(r) for r in self.radii)


def out_of_order(p: Problem, ring: RingFit) -> float:
    """Cost of a ring that was free to follow the firing order and does not."""
    free = p.collector.order_rule == "free"
    return PER_ORDER if free and not same_ring(ring.order, p.m.engine.firing_order) else 0.0


def choose(p: Problem, ring: RingFit, length: float, pools: list[Candidates], count: int = 1) -> list[Choice]:
    """The best layouts out of the pools, soft: millimetres missing cost, they do not forbid."""
    from manifoldgen.routing import _pool_kernels as kernels

    if any(not len(pool) for pool in pools):
        return []
    ends = np.concatenate([[0], np.cumsum([len(q) for q in pools])])
    pairs = np.full((ends[-1], ends[-1]), 60.0)
    for i, a in enumerate(pools):
        for j in range(i + 1, len(pools)):
            found = kernels.pair_matrix(a.paths, pools[j].paths, 2 * p.radius)
            pairs[ends[i] : ends[i + 1], ends[j] : ends[j + 1]] = found
            pairs[ends[j] : ends[j + 1], ends[i] : ends[i + 1]] = found.T
    cost = np.concatenate([q.cost for q in pools])
    picked = kernels.beam(cost, ends, pairs, WIDTH, PER_CLASH)
    made = []
    for row in picked[:count]:
        chosen = [int(c) - int(e) for c, e in zip(row, ends, strict=False)]
        clash = [pairs[a, b] for k, a in enumerate(row) for b in row[:k]]
        missing = sum(max(-m, 0.0) for m in clash)
        score = float(cost[row].sum()) + PER_CLASH * missing
        score += PER_100_MM * len(pools) * length / 100 if p.equal else 0.0
        score += out_of_order(p, ring)
        bends = [int(q.bends[k]) for q, k in zip(pools, chosen, strict=True)]
        made.append(
            Choice(
                ring,
                length,
                tuple(q.x[k, : 2 + 3 * (b - 2)] for q, k, b in zip(pools, chosen, bends, strict=True)),
                tuple(q.radii[k, :b] for q, k, b in zip(pools, chosen, bends, strict=True)),
                round(score, 6),
                float(min(clash, default=60.0)),
            )
        )
    return made
