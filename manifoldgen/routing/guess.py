"""Guesses of a closure: corners sampled between two poses, and polished to the least total bend.

Fixing the directions between the corners makes the straights linear, so many samples are cheap; the polish
moves the corners, which keeps both ends exact, under inequalities only: straights not too short, bends
not too large.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import product
from typing import Any

import numpy as np

from manifoldgen.geometry.pose import Pose
from manifoldgen.geometry.vectors import Array, array

Choice = tuple[tuple[float, float], ...]  # of every bend: CLR mm, largest angle degrees

LEAST_BEND = 3.0  # degrees: no smaller bend is cut from an elbow (common practice, no source)
LARGEST_BEND = 170.0  # degrees: nearer to 180 a bend has no usable corner; it is found as two bends
PER_MM = 0.01  # degrees of bend that a millimetre of length is worth: breaks near ties
LONGEST = 1000.0  # mm beyond twice the way: longer runs are no use (common practice, no source)
_MARGIN = 1e-7  # mm kept by the polish, so that no straight comes out below its least
_DRAWS = {2: 20_000, 3: 60_000, 4: 120_000}  # samples, shared by all choices of radii
_STARTS = {2: 16, 3: 36, 4: 40}  # samples polished
_MISSING = {
    2: 1.0,
    5: 1.0,
    8: 5.0,
}  # degrees that a millimetre missing counts; four bends are the last resort
_KEPT = 40  # samples of one choice of radii that are looked at further (four times as many of an only one)
_REACH = 400.0  # mm: the longest free straight that is tried first


@dataclass(frozen=True)
class Task:
    """One closure to be found.  ends : start and target, point and direction (2, 3) each.

    radii : (CLR mm, largest bend degrees).  lead, inlet_straight : least first and last straight, mm.
    """

    start: Pose
    target: Pose
    radii: tuple[tuple[float, float], ...]
    lead: float
    inlet_straight: float

    @property
    def ends(self) -> tuple[Array, Array]:
        """Start and target as arrays (2, 3)."""
        return (
            array((self.start.at, self.start.direction)),
            array((self.target.at, self.target.direction)),
        )

    @property
    def longest(self) -> float:
        """The longest run that is of use, mm."""
        return LONGEST + 2 * math.dist(self.start.at, self.target.at)

    def least(self, bends: int) -> Array:
        """Shortest straights, mm (bends + 1)."""
        return array([self.lead, *[0.0] * (bends - 1), self.inlet_straight])


@dataclass(frozen=True)
class Guess:
    """Corners of a closure: its bends' (CLR, largest bend), the variables, total bend, length, mm missing."""

    choice: Choice
    x: Array
    bend: float
    length: float
    short: float = 0.0

    @property
    def rank(self) -> tuple[float, int, float]:
        """Least total bend first (to 0.1°), then fewer bends, then the shorter."""
        return round(self.bend, 1), len(self.choice), round(self.length, 6)


def guesses(task: Task, bends: int) -> list[Guess]:
    """Polished and raw closures with this number of bends (2 to 4); `short` tells those that miss."""
    raw = sampled(task, bends)
    return [*(_polished(task, guess) for guess in spread(raw, _STARTS[bends])), *raw]


def _choices(task: Task, bends: int) -> list[Choice]:
    """Which radius at which bend; with four bends only the smallest and the largest."""
    radii = sorted(task.radii)
    if bends > 3:
        radii = sorted({radii[0], radii[-1]})
    return list(product(radii, repeat=bends))


def sampled(task: Task, bends: int) -> list[Guess]:
    """The best samples of every choice of radii."""
    from manifoldgen.routing import _closure_kernels as kernels

    begin, end = task.ends
    choices = _choices(task, bends)
    count = max(_DRAWS[bends] // len(choices), 1500)
    draws = _even(count, {2: 2, 3: 5, 4: 7}[bends])
    reach = _REACH + math.dist(task.start.at, task.target.at)
    least = task.least(bends)
    kept: list[Guess] = []
    for choice in choices:
        clr, caps = array([c for c, _ in choice]), np.radians([a for _, a in choice])
        if bends == 2:  # two corners on two known axes: nothing to solve, parallel axes too
            x = least[[0, -1]] + draws**2 * reach
        else:
            x = np.empty((count, 2 + 3 * (bends - 2)))
            kernels.sample(begin, end, clr, caps, least, draws, reach, x)
        if bends == 3:  # every third by its corners: ways round between ends on one axis lie in one plane
            x[::3] = _by_corners(begin, end, least, draws[::3], reach)
        found = np.empty((count, 3))
        kernels.measure(x, begin, end, clr, caps, least, math.radians(LEAST_BEND), found)
        for k in _best(task, x, found, max(_KEPT, 4 * _KEPT // len(choices))):
            kept.append(Guess(choice, x[k], *found[k].tolist()))
    weight = _MISSING[2 + 3 * (bends - 2)]
    return sorted(kept, key=lambda g: g.bend + 2 * PER_MM * g.length + weight * g.short)


def _by_corners(begin: Array, end: Array, least: Array, draws: Array, reach: float) -> Array:
    """Variables of three bends: the outer corners on the axes, the middle one anywhere about half-way."""
    outer = least[[0, -1]] + draws[:, :2] ** 2 * reach
    first = begin[0] + outer[:, :1] * begin[1]
    last = end[0] - outer[:, 1:] * end[1]
    around = (draws[:, 2:] * 2 - 1) ** 3 * reach / 2
    return np.hstack([outer, (first + last) / 2 + around])


def _best(task: Task, x: Array, found: Array, count: int) -> list[int]:
    """Which samples are looked at further; near ones would only be polished to the same run."""
    cost = found[:, 0] + 2 * PER_MM * found[:, 1] + _MISSING[x.shape[1]] * found[:, 2]
    cost[~(found[:, 1] < task.longest)] = np.inf  # also what could not be solved
    near = _cells(x, cost, 40.0)[:_KEPT]
    sound = np.where(found[:, 2] == 0, cost, np.inf)  # these land already: one for every way round
    return list(dict.fromkeys([*near, *_cells(_middle(task, x), sound, 25.0)[:count]]))


def _middle(task: Task, x: Array) -> Array:
    """Where the runs are half-way, roughly: the middle of their inner corners (n, 3)."""
    if x.shape[1] > 2:
        inner: Array = x[:, 2:].reshape(len(x), -1, 3).mean(axis=1)
        return inner
    begin, end = task.ends
    middle: Array = (begin[0] + x[:, :1] * begin[1] + end[0] - x[:, 1:] * end[1]) / 2
    return middle


def _cells(place: Array, cost: Array, size: float) -> list[int]:
    """The cheapest of every cell of `size` mm, cheapest first; those of infinite cost left out."""
    few = min(10_000, len(cost) - 1)
    order = np.argpartition(cost, few)[:few]
    order = order[np.isfinite(cost[order])]
    order = order[np.argsort(cost[order], kind="stable")]
    _, first = np.unique(np.round(place[order] / size), axis=0, return_index=True)
    return [int(k) for k in order[np.sort(first)]]


def _even(count: int, dimensions: int) -> Array:
    """Evenly spread numbers 0 … 1 (count, dimensions): multiples of the generalised golden ratio."""
    ratio = 2.0
    for _ in range(60):
        ratio = (1 + ratio) ** (1 / (dimensions + 1))
    steps = ratio ** -np.arange(1.0, dimensions + 1)
    even: Array = (0.5 + np.arange(1, count + 1)[:, None] * steps) % 1.0
    return even


def spread(guesses: Sequence[Guess], count: int) -> list[Guess]:
    """The best guesses, no two of one choice of radii with all corners within 30 mm, few per choice."""
    picked: dict[Choice, list[Guess]] = {}
    taken: list[Guess] = []
    choices = len({g.choice for g in guesses})
    share = max(3, 2 * count // max(choices, 1))
    for guess in guesses:
        mine = picked.setdefault(guess.choice, [])
        if len(mine) < share and all(np.abs(guess.x - g.x).max() > 30 for g in mine):
            mine.append(guess)
            taken.append(guess)
            if len(taken) == count:
                break
    return taken


def _polished(task: Task, guess: Guess) -> Guess:
    """The guess moved to the least total bend near it; `short` says by how much it still misses."""
    from scipy.optimize import minimize as untyped

    from manifoldgen.routing import _closure_kernels as kernels

    begin, end = task.ends
    bends = len(guess.choice)
    clr, caps = array([c for c, _ in guess.choice]), np.radians([a for _, a in guess.choice])
    rest = (
        begin,
        end,
        clr,
        caps,
        task.least(bends) + _MARGIN,
        math.radians(LEAST_BEND),
        task.longest,
        PER_MM,
    )
    judge = _last(lambda x: kernels.judge(x, *rest))
    slopes = _last(lambda x: kernels.slopes(x, *rest))
    minimize: Any = untyped  # its stubs do not know conditions that share one evaluation
    found = minimize(
        lambda x: judge(x)[0],
        guess.x,
        jac=lambda x: slopes(x)[0],
        constraints={"type": "ineq", "fun": lambda x: judge(x)[1:], "jac": lambda x: slopes(x)[1:]},
        method="SLSQP",
        options={"maxiter": 80, "ftol": 1e-7},
    )
    x = np.array(found.x)
    short = max(0.0, -float(judge(x)[1:].min()) - _MARGIN / 2) if np.isfinite(x).all() else math.inf
    measured = np.empty((1, 3))
    kernels.measure(x[None], begin, end, clr, caps, task.least(bends), 0.0, measured)
    return Guess(guess.choice, x, float(measured[0, 0]), float(measured[0, 1]), short)


def _last(f: Callable[[Array], Array]) -> Callable[[Array], Array]:
    """`f` that remembers its last answer: the solver asks for cost and conditions of one x in turn."""
    memory: dict[bytes, Array] = {}

    def remembered(x: Array) -> Array:
        key = x.tobytes()
        if key not in memory:
            memory.clear()
            memory[key] = f(x)
        return memory[key]

    return remembered
