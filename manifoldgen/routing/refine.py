"""All runners moved together to the cheapest layout near a choice, equal length as an equality.

A runner is written by its corners, so both its ends hold whatever the variables are. Further variables: the
collector's clock, the common length, one slack for every group of limits, and (to look for a cure) a shift of
the turbo. The slacks make every start possible; their cost drives them out.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from manifoldgen.geometry.vectors import Array, array
from manifoldgen.manifold.ring import RingFit
from manifoldgen.routing.choose import Choice
from manifoldgen.routing.pool import LEAST_BEND, PER_100_MM, PER_BEND, PER_RADIAN
from manifoldgen.routing.problem import Problem

SLACKS = ("bends", "runner gap", "obstacle", "tool", "own parts", "self gap")
SPACED = 5.0  # mm: a straight between two bends that is worth a piece
FINE = 96  # stations of a runner
MARGIN = 0.12  # mm kept between stations; what is found is verified without it
STRAIGHT_MARGIN = 1e-3  # mm kept by straights and bends, far above what the solver leaves open
PER_SLACK = 6.0  # cost of a millimetre missing in a group
PER_SHIFT = 0.6  # cost of a millimetre the turbo is moved
_UNIT = 20.0  # mm of one unit of the solver
_TURN = 30.0  # degrees of clock of one unit
_LOOKED = 45.0  # mm: places with more margin at the start are left out
_MOVE = 1e-4  # step of the slopes of clock (degrees) and shift (mm)
_REACH = 150.0  # mm the turbo may be moved


@dataclass(frozen=True, eq=False)
class Layout:
    """All searched runners at once.

    x : corner variables of every runner.  radii : CLRs of its bends.
    flush : for every runner the straights that are held at 0 (bend welded to bend); spaced : those that are
        held at SPACED or more.
    lengths, turned : of every runner, mm and rad.  slack : by group, mm.  margin : least of all, mm.
    shift : of the turbo, mm.
    """

    ring: RingFit
    x: tuple[Array, ...]
    radii: tuple[Array, ...]
    lengths: Array
    turned: Array
    slack: Array
    margin: float
    flush: tuple[tuple[int, ...], ...]
    spaced: tuple[tuple[int, ...], ...] = ()
    shift: Array = field(default_factory=lambda: np.zeros(3))

    @property
    def length(self) -> float:
        """Mean length, mm."""
        return float(self.lengths.mean())

    @property
    def cost(self) -> float:
        """What is made small: length, bend and number of bends."""
        bends = sum(len(r) for r in self.radii)
        return float(
            PER_100_MM * self.lengths.sum() / 100 + PER_RADIAN * self.turned.sum() + PER_BEND * bends
        )


def as_layout(choice: Choice) -> Layout:
    """A choice as a start of `refine`."""
    n = len(choice.x)
    return Layout(choice.ring, choice.x, choice.radii, np.full(n, choice.length), np.zeros(n), np.zeros(len(SLACKS)),
                  choice.margin, ((),) * n)  # fmt: skip


def crude(p: Problem, ring: RingFit) -> Layout:
    """A start where there are no candidates: three bends a runner, the middle corner half-way, limits unheeded."""
    radius = float(p.radii[0])
    found = []
    for start, inlet in zip(p.starts, p.inlets(ring), strict=False):
        s, t = p.first + radius, p.last + radius
        middle = (start[0] + s * start[1] + inlet[0] - t * inlet[1]) / 2
        found.append(np.array([s, t, *middle]))
    n = len(found)
    length = float(np.linalg.norm(p.starts[:, 0] - p.inlets(ring)[:n, 0], axis=1).max()) * 1.5
    return Layout(ring, tuple(found), (np.full(3, radius),) * n, np.full(n, length), np.zeros(n), np.zeros(len(SLACKS)), -100.0,
                  ((),) * n)  # fmt: skip


def refine(
    p: Problem, start: Layout, *, rounds: int = 60, margin: float = MARGIN, shifting: bool = False, clock: float | None = None,
    least_bend: float = LEAST_BEND, second: bool = False,
) -> Layout:  # fmt: skip
    """The cheapest layout near `start`.

    rounds : iterations of the solver.  margin : mm kept.  shifting : the turbo may move.
    clock : degrees to hold the ring at.  second : by the second solver.
    """
    return _Joint(p, start, shifting=shifting, clock=clock, least_bend=least_bend).solve(
        start, rounds, margin, second=second
    )


class _Joint:
    """The conditions of one set of bends as functions of the solver's variables."""

    def __init__(
        self, p: Problem, start: Layout, *, shifting: bool, clock: float | None, least_bend: float
    ) -> None:  # fmt: skip
        from manifoldgen.routing import _joint_kernels as kernels

        self.p, self.ring, self.kernels = p, start.ring, kernels
        self.n, most = len(start.x), max(len(r) for r in start.radii)
        self.bends: NDArray[np.int64] = np.array([len(r) for r in start.radii], dtype=np.int64)
        self.first: NDArray[np.int64] = np.concatenate([[0], np.cumsum([len(x) for x in start.x])]).astype(
            np.int64
        )
        self.radii, self.caps = np.ones((self.n, most)), np.full((self.n, most), math.pi)
        self.least = np.zeros((self.n, most + 1))
        caps = {float(r): float(c) for r, c in zip(p.radii, p.caps, strict=True)}
        for i, radii in enumerate(start.radii):
            self.radii[i, : len(radii)] = radii
            self.caps[i, : len(radii)] = [caps[float(r)] for r in radii]
            self.least[i, 0], self.least[i, len(radii)] = p.first, p.last
            if start.spaced:
                self.least[i, list(start.spaced[i])] = SPACED
        self.low, self.start_ = least_bend, start
        self.fixed = p.fixed_stations(FINE)
        self.free_clock = p.collector.clock_free and clock is None and not p.fixed
        self.clock = start.ring.clock if clock is None else clock
        self.shifting = shifting
        at = int(self.first[-1])
        self.at_clock, self.at_length, self.at_slack, self.at_shift = at, at + 1, at + 2, at + 2 + len(SLACKS)
        self.size = self.at_shift + (3 if shifting else 0)
        self.groups = self._groups()
        self.seen: bytes = b""
        self.values: tuple[Array, ...] = ()

    def _groups(self) -> NDArray[np.int64]:
        """The slack every margin belongs to, in the kernels' order."""
        k = self.kernels
        shape = int(3 * self.bends.sum()) + self.n
        pairs = (self.n * (self.n - 1) // 2 + self.n * len(self.fixed)) * k.BLOCKS**2
        solids = np.tile(np.repeat([2, 3, 4], k.BLOCKS), self.n)
        return np.concatenate([np.zeros(shape), np.ones(pairs), solids, np.full(self.n, 5)]).astype(np.int64)

    def start(self, layout: Layout) -> Array:
        """The solver's variables of a layout."""
        z = np.zeros(self.size)
        z[: self.at_clock] = np.concatenate(layout.x) / _UNIT
        z[self.at_clock] = self.clock / _TURN
        z[self.at_length] = min(max(layout.length, self.p.window[0]), self.p.window[1]) / _UNIT
        if self.shifting:
            z[self.at_shift :] = layout.shift / _UNIT
        return z

    def _arguments(self, clock: float, shift: Array) -> tuple[Any, ...]:
        inlets = self.p.inlets(replace(self.ring, clock=clock))
        inlets[:, 0] += shift
        rows, edges, rules = self.p.solids
        p = self.p
        return (self.first, self.bends, self.radii, p.starts, inlets[: self.n], p.limits, self.least, self.caps, self.low,
                p.radius, p.m.limits.self_gap, self.fixed, rows, edges, rules, inlets, p.leg, shift)  # fmt: skip

    def evaluate(self, z: Array) -> tuple[Array, ...]:
        """Margins, lengths, turned, and their slopes over z, remembered for one z."""
        key = z.tobytes()
        if key != self.seen:
            self.seen, self.values = key, self._evaluate(z)
        return self.values

    def _evaluate(self, z: Array) -> tuple[Array, ...]:
        k, n, at = self.kernels, self.n, self.at_clock
        x, clock = np.ascontiguousarray(z[:at] * _UNIT), float(z[at] * _TURN)
        shift = z[self.at_shift :] * _UNIT if self.shifting else np.zeros(3)
        m = k.count(self.bends, len(self.fixed))
        paths, out, which = np.empty((n, FINE, 6)), np.empty(m), np.empty((m, 2), np.int64)
        lengths, turned = np.empty(n), np.empty(n)
        arguments = self._arguments(clock, shift)
        k.margins(x, *arguments, paths, out, which, lengths, turned)
        slopes = np.zeros((m, self.size)), np.zeros((n, self.size)), np.zeros((n, self.size))
        by_x = np.empty((m, at)), np.empty((n, at)), np.empty((n, at))
        k.slopes(x, *arguments, paths, out, which, lengths, turned, *by_x)
        for whole, part in zip(slopes, by_x, strict=True):
            whole[:, :at] = part * _UNIT
        moves = [(self.at_clock, clock + _MOVE, shift, _TURN)] if self.free_clock else []
        if self.shifting:
            moves += [(self.at_shift + c, clock, shift + _MOVE * np.eye(3)[c], _UNIT) for c in range(3)]
        column = np.empty(m), np.empty(n), np.empty(n)
        for place, turned_to, moved, unit in moves:
            arguments = self._arguments(turned_to, moved)
            k.slope_of_move(x, *arguments, out, which, lengths, turned, FINE, _MOVE, *column)
            for whole, part in zip(slopes, column, strict=True):
                whole[:, place] = part * unit
        slopes[0][np.arange(m), self.at_slack + self.groups] = _UNIT
        return (out, lengths, turned, *slopes)

    def solve(self, layout: Layout, rounds: int, margin: float, *, second: bool = False) -> Layout:
        """The solver's answer as a layout, its slacks measured."""
        from scipy.optimize import minimize as untyped

        from manifoldgen.routing.second import interior

        minimize: Any = untyped
        z = self.start(layout)
        first = self.evaluate(z)[0]
        slack = np.array(
            [max(0.0, -float(first[self.groups == g].min(initial=0.0))) for g in range(len(SLACKS))]
        )
        z[self.at_slack : self.at_shift] = slack / _UNIT
        shape = int(3 * self.bends.sum()) + self.n
        active = np.flatnonzero((first < _LOOKED) | (np.arange(len(first)) < shape))
        kept = np.where(self.groups == 0, STRAIGHT_MARGIN, margin)

        def missing(z: Array) -> Array:
            groups = self.groups[active]
            eased: Array = self.evaluate(z)[0][active] + z[self.at_slack + groups] * _UNIT - kept[active]
            return eased / _UNIT

        conditions: list[dict[str, Any]] = [
            {"type": "ineq", "fun": missing, "jac": lambda z: self.evaluate(z)[3][active] / _UNIT}
        ]
        conditions += self._equalities()
        bounds = self._bounds()
        if second:
            z = interior(
                self._cost, z, jac=self._cost_slope, bounds=bounds, constraints=conditions, rounds=rounds
            )
        else:
            found = minimize(
                self._cost, z, jac=self._cost_slope, bounds=bounds, constraints=conditions, method="SLSQP",
                options={"maxiter": rounds, "ftol": 1e-5},
            )  # fmt: skip
            z = np.array(found.x)
        return self._layout(z if np.isfinite(z).all() else self.start(layout))

    def _equalities(self) -> list[dict[str, Any]]:
        """Equal lengths, and straights held at nothing."""
        made: list[dict[str, Any]] = []
        if self.p.equal:
            unit = np.zeros((self.n, self.size))
            unit[:, self.at_length] = 1.0
            made.append({
                "type": "eq", "fun": lambda z: self.evaluate(z)[1] / _UNIT - z[self.at_length],
                "jac": lambda z: self.evaluate(z)[4] / _UNIT - unit,
            })  # fmt: skip
        flush = [
            int(self.bends[:i].sum()) + i + k
            for i, straights in enumerate(self.start_.flush)
            for k in straights
        ]
        if flush:
            made.append({
                "type": "eq", "fun": lambda z: self.evaluate(z)[0][flush] / _UNIT,
                "jac": lambda z: self.evaluate(z)[3][flush] / _UNIT * (np.arange(self.size) < self.at_slack),
            })  # fmt: skip
        return made

    def _bounds(self) -> list[tuple[float | None, float | None]]:
        bounds: list[tuple[float | None, float | None]] = [(None, None)] * self.size
        if not self.free_clock:
            bounds[self.at_clock] = (self.clock / _TURN, self.clock / _TURN)
        low, high = self.p.window
        bounds[self.at_length] = (low / _UNIT, None if math.isinf(high) else high / _UNIT)
        for k in range(self.at_slack, self.at_shift):
            bounds[k] = (0.0, None)
        for k in range(self.at_shift, self.size):
            bounds[k] = (-_REACH / _UNIT, _REACH / _UNIT)
        return bounds

    def _cost(self, z: Array) -> float:
        _, lengths, turned, *_ = self.evaluate(z)
        longest = self.n * z[self.at_length] * _UNIT if self.p.equal else lengths.sum()
        cost = PER_100_MM * longest / 100 + PER_RADIAN * turned.sum()
        cost += PER_SLACK * z[self.at_slack : self.at_shift].sum() * _UNIT
        if self.shifting:
            cost += PER_SHIFT * np.sqrt(1e-4 + z[self.at_shift :] ** 2).sum() * _UNIT
        return float(cost)

    def _cost_slope(self, z: Array) -> Array:
        *_, d_lengths, d_turned = self.evaluate(z)
        slope: Array = PER_RADIAN * d_turned.sum(axis=0)
        if self.p.equal:
            slope[self.at_length] += PER_100_MM * self.n * _UNIT / 100
        else:
            slope += PER_100_MM * d_lengths.sum(axis=0) / 100
        slope[self.at_slack : self.at_shift] += PER_SLACK * _UNIT
        if self.shifting:
            s = z[self.at_shift :]
            slope[self.at_shift :] += PER_SHIFT * _UNIT * s / np.sqrt(1e-4 + s**2)
        return slope

    def _layout(self, z: Array) -> Layout:
        out, lengths, turned, *_ = self.evaluate(z)
        x = z[: self.at_clock] * _UNIT
        slack = array([max(0.0, -float(out[self.groups == g].min(initial=0.0))) for g in range(len(SLACKS))])
        parts = tuple(x[a:b].copy() for a, b in zip(self.first[:-1], self.first[1:], strict=True))
        clock = float(z[self.at_clock] * _TURN)
        shift = z[self.at_shift :] * _UNIT if self.shifting else np.zeros(3)
        return replace(
            self.start_, ring=replace(self.ring, clock=clock), x=parts, lengths=lengths.copy(), turned=turned.copy(),
            slack=slack, margin=float(out.min()), shift=shift.copy(),
        )  # fmt: skip
