"""Candidates of one runner to one inlet at one length: sampled by headings, checked, the best different ones."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from manifoldgen.geometry.vectors import Array, array
from manifoldgen.routing.problem import Problem

COARSE = 40  # stations a candidate is looked at
LEAST_BEND = math.radians(10.0)  # smaller bends are slivers
PER_RADIAN = 1.0  # cost of a radian of bend
PER_BEND = 0.7  # cost of another bend
PER_100_MM = 0.8  # cost of length
PER_MISSING = 0.3  # cost of a millimetre of clearance missing
TIGHT = 1.2  # CLR over OD below which a bend costs a quarter more
_APART = 9.0  # mm between two candidates
_CHECKED = 220  # samples of one number of bends that are looked at


@dataclass(frozen=True, eq=False)
class Candidates:
    """Candidates, the best first.

    bends : (n,).  radii : (n, 4), of as many bends.  x : corner variables (n, 8).
    paths : stations (n, COARSE, 6).  cost, margin : (n,), margin in mm to all that stands (at most 60).
    """

    bends: NDArray[np.int64]
    radii: Array
    x: Array
    paths: Array
    cost: Array
    margin: Array

    def __len__(self) -> int:
        """How many there are."""
        return len(self.cost)


def pool(
    p: Problem, ends: tuple[Array, Array], length: float, rng: np.random.Generator, *, draws: int, most: int, slack: float
) -> Candidates:  # fmt: skip
    """Runners of `length` mm between two poses (point and direction, (2, 3) each) with two to four bends, at most `most`.

    draws : samples of three and of four bends.  slack : mm of clearance that may be missing.
    """
    from manifoldgen.routing import _pool_kernels as kernels

    rows, edges, rules = p.solids
    fixed = p.fixed_stations(COARSE)
    parts = []
    for bends in (2, 3, 4):
        x, radii = _sampled(p, ends, length, rng, bends=bends, draws=draws)
        if not len(x):
            continue
        paths, found = np.empty((len(x), COARSE, 6)), np.empty((len(x), 3))
        kernels.looked_at(x, *ends, radii, p.limits, p.radius, p.m.limits.self_gap, rows, edges, rules, -slack, paths,
                          found)  # fmt: skip
        margin = found[:, 2].copy()
        kernels.with_fixed(paths, fixed, 2 * p.radius, margin)
        tight = (radii < TIGHT * 2 * p.radius).mean(axis=1)
        cost = PER_RADIAN * found[:, 1] * (1 + 0.25 * tight) + PER_BEND * bends
        cost += PER_MISSING * np.maximum(-margin, 0.0)
        if not p.equal:
            cost += PER_100_MM * found[:, 0] / 100
        good = np.flatnonzero(margin >= -slack)
        parts.append((bends, x[good], radii[good], paths[good], cost[good], margin[good]))
    return _gathered(parts, most)


def _sampled(
    p: Problem, ends: tuple[Array, Array], length: float, rng: np.random.Generator, *, bends: int, draws: int
) -> tuple[Array, Array]:
    """Corner variables (n, ·) and radii (n, bends) of samples that land at the length."""
    from manifoldgen.routing import _pool_kernels as kernels

    if bends == 2:
        found, radii = [], []
        reach = length
        firsts, seconds = np.linspace(0.0, reach, 25), np.linspace(0.0, reach, 33)
        for i, a in enumerate(p.radii):
            for j, b in enumerate(p.radii):
                x = np.empty((_CHECKED // 4, 2))
                n = kernels.two_bends(*ends, array((a, b)), p.caps[[i, j]], LEAST_BEND, p.first, p.last, length,
                                      firsts, seconds, x)  # fmt: skip
                found.append(x[:n])
                radii.append(np.tile((a, b), (n, 1)))
        return np.vstack(found), np.vstack(radii)
    numbers = rng.random((draws, 2 * (bends - 1) + 1))
    choice = rng.integers(0, len(p.radii), (draws, bends))
    if len(p.radii) > 1:  # mostly one radius throughout: few kinds of elbow
        same = rng.random(draws) < 0.6
        choice[same] = choice[same, :1]
    x, took = np.empty((_CHECKED, 2 + 3 * (bends - 2))), np.empty(_CHECKED, np.int64)
    n = kernels.directed(
        *ends, p.radii, p.caps, LEAST_BEND, p.first, p.last, length, numbers, choice, x, took
    )
    return x[:n], np.ascontiguousarray(p.radii[choice[took[:n]]])


def _gathered(parts: list[tuple[int, Array, Array, Array, Array, Array]], most: int) -> Candidates:
    """All samples sorted by cost, those too near a better one left out."""
    from manifoldgen.routing import _pool_kernels as kernels

    count = sum(len(part[4]) for part in parts)
    bends, radii, x = np.empty(count, np.int64), np.zeros((count, 4)), np.zeros((count, 8))
    at = 0
    for k, some, rs, *_ in parts:
        bends[at : at + len(some)] = k
        radii[at : at + len(some), :k] = rs
        x[at : at + len(some), : some.shape[1]] = some
        at += len(some)
    paths = np.concatenate([part[3] for part in parts]) if parts else np.empty((0, COARSE, 6))
    cost = np.concatenate([part[4] for part in parts]) if parts else np.empty(0)
    margin = np.concatenate([part[5] for part in parts]) if parts else np.empty(0)
    order = np.argsort(np.round(cost, 9), kind="stable")
    kept = kernels.diverse(paths, order, most, _APART) if count else np.empty(0, np.int64)
    return Candidates(bends[kept], radii[kept], x[kept], paths[kept], cost[kept], margin[kept])
