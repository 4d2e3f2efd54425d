"""The readings worked out: search, leave out what cannot be right, search again, and name the place taken."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from manifoldgen.geometry.vectors import Array
from manifoldgen.manifold.survey.fit import Fit, fit
from manifoldgen.manifold.survey.net import Measured, Net
from manifoldgen.manifold.survey.rows import Rows, States
from manifoldgen.manifold.survey.search import apart, relax, search, start

LEAVE_OUT = 0.25  # at most this share of the readings
RIVAL_COST = 10.0  # a second place whose residuals are no worse than this fits as well


@dataclass(frozen=True)
class Adjusted:
    """A net worked out.

    rows : of the readings used.  state : the one taken.  rivals : other places that fit as well.
    left_out : readings that cannot be right.  torn : readings of which one cannot be right, untold which.
    """

    net: Net
    rows: Rows
    state: States
    fit: Fit
    rivals: States
    left_out: tuple[Measured, ...]
    torn: tuple[Measured, ...]

    @property
    def turbo_fixed(self) -> bool:
        """Whether the pose is to be found and the readings fix it."""
        return self.net.turbo_open and self.fit.fixed(slice(0, 6))

    def point_fixed(self, i: int) -> bool:
        """Whether the readings fix a free point."""
        return self.fit.fixed(slice(6 + 3 * i, 9 + 3 * i))

    @property
    def covariance(self) -> Array:
        """Of the unknowns; larger than the stated errors give where the residuals say so."""
        return self.fit.covariance * max(1.0, self.fit.level) ** 2


def adjust(net: Net) -> Adjusted:
    """Work out a net: one reading after another is left out while it cannot be right."""
    used = list(net.readings)
    out: list[Measured] = []
    while True:
        rows = Rows.of(net, used)
        state, found, rivals = _solve(net, rows)
        suspects = [rows.readings[i] for i in found.suspects()]
        told = len(suspects) == 1 and found.spare > 1 and len(out) < LEAVE_OUT * len(net.readings)
        if not told:
            return Adjusted(net, rows, state, found, rivals, tuple(out), tuple(suspects))
        used.remove(suspects[0])
        out.append(suspects[0])


def _solve(net: Net, rows: Rows) -> tuple[States, Fit, States]:
    """The state taken, its fit, and the other places that fit as well."""
    near = start(net)
    none = near.take([])
    if not net.turbo_open and not net.free:
        return near, fit(rows, near), none
    states, cost = search(net, rows, near)
    found = fit(rows, states.take([0]))
    if net.turbo_open and not found.fixed(slice(0, 6)):
        state, _ = relax(rows, near)  # one of many places: the one nearest the guess
        return state, fit(rows, state), none
    level = max(1.0, found.level) ** 2
    likely = np.flatnonzero(cost <= cost[0] + RIVAL_COST * level)
    order = sorted(likely.tolist(), key=lambda i: (_behind(net, states, i), cost[i]))
    taken = states.take([order[0]])
    found = fit(rows, taken)
    fixed = [i for i in range(len(net.free)) if found.fixed(slice(6 + 3 * i, 9 + 3 * i))]
    rivals = [i for i in order[1:] if apart(states.take([i]), taken, fixed)]
    return taken, found, states.take(rivals)


def _behind(net: Net, states: States, i: int) -> int:
    """How many of the things to be found lie behind the flange's engine side."""
    turbo = net.turbo_open and states.at[i, 2] < 0
    return int((states.points[i, :, 2] < 0).sum() + turbo)
