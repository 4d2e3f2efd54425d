"""Some readings worked out: every state where they fit, the one taken, and what has a second place."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from manifoldgen.geometry.vectors import Array
from manifoldgen.manifold.survey.fit import Fit, fit
from manifoldgen.manifold.survey.net import Measured, Net
from manifoldgen.manifold.survey.rows import Rows, States
from manifoldgen.manifold.survey.search import SAME_MM, apart, point_shift, pose_apart, relax, search, start

RIVAL_COST = 10.0  # a state or an explanation whose residuals are worse by no more than this fits as well
TURBO = -1  # among the numbers of free points


@dataclass(frozen=True)
class Solved:
    """Some readings of a net worked out.

    state : the one taken.  rivals : other states that fit as well.  places : all states where they fit more or less, the
    best first.
    """

    net: Net
    rows: Rows
    state: States
    fit: Fit
    rivals: States
    places: States

    @property
    def fixed(self) -> set[int]:
        """What the readings fix: the turbo, and numbers of free points."""
        points = {i for i in range(len(self.net.free)) if self.fit.fixed(slice(6 + 3 * i, 9 + 3 * i))}
        return points | ({TURBO} if self.net.turbo_open and self.fit.fixed(slice(0, 6)) else set())

    @property
    def second_places(self) -> tuple[tuple[int, States], ...]:
        """The rivals, those that move least first, each with the first thing in it that no other has moved before."""
        states = [self.rivals.take([i]) for i in range(len(self.rivals))]
        moved = [self._moved(other) for other in states]
        told: set[int] = set()
        found: list[tuple[int, States]] = []
        for n in sorted(range(len(states)), key=lambda n: len(moved[n])):
            new = [thing for thing in moved[n] if thing not in told]
            if new:
                told.update(moved[n])
                found.append((new[0], states[n]))
        return tuple(found)

    def _moved(self, other: States) -> list[int]:
        """What stands in another place in another state: the turbo first, then numbers of free points."""
        turbo = [TURBO] if pose_apart(other, self.state) else []
        shift = point_shift(other, self.state)
        return turbo + [i for i in range(len(shift)) if i in self.fixed and shift[i] > SAME_MM]

    def step_to(self, thing: int, other: States) -> Array:
        """From the state to another in what belongs to one thing, 0 where that is behind the flange, (n,)."""
        step = self.state.to(other)
        if thing == TURBO:
            mine, here, there = slice(0, 6), self.state.at[0, 2], other.at[0, 2]
        else:
            mine = slice(6 + 3 * thing, 9 + 3 * thing)
            here, there = self.state.points[0, thing, 2], other.points[0, thing, 2]
        found = np.zeros(len(step))
        if not here > 0 > there:
            found[mine] = step[mine]
        return found

    @property
    def worst(self) -> Measured | None:
        """The reading that belongs least, if it cannot be right."""
        at = self.fit.worst()
        return None if at is None else self.rows.readings[at]


def solved(net: Net, readings: Sequence[Measured]) -> Solved:
    """Work out some readings: of the states where they fit, the one taken stands in front of the flange if any does."""
    rows = Rows.of(net, readings)
    near = start(net)
    none = near.take([])
    if not net.turbo_open and not net.free:
        return Solved(net, rows, near, fit(rows, near), none, near)
    states, cost = search(net, rows, near)
    found = fit(rows, states.take([0]))
    if net.turbo_open and not found.fixed(slice(0, 6)):
        state, _ = relax(rows, near)  # one of many places: the one nearest the guess
        return Solved(net, rows, state, fit(rows, state), none, state)
    level = max(1.0, found.level) ** 2
    likely = np.flatnonzero(cost <= cost[0] + RIVAL_COST * level)
    order = sorted(likely.tolist(), key=lambda i: (_behind(net, states, i), cost[i]))
    taken = states.take([order[0]])
    found = fit(rows, taken)
    fixed = [i for i in range(len(net.free)) if found.fixed(slice(6 + 3 * i, 9 + 3 * i))]
    rivals = [i for i in order[1:] if apart(states.take([i]), taken, fixed)]
    return Solved(net, rows, taken, found, states.take(rivals), states)


def _behind(net: Net, states: States, i: int) -> int:
    """How many of the things to be found lie behind the flange's engine side."""
    turbo = net.turbo_open and states.at[i, 2] < 0
    return int((states.points[i, :, 2] < 0).sum() + turbo)
