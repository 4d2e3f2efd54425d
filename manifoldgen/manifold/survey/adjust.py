"""The readings worked out: search, leave out what cannot be right, and name the place taken.

A reading that does not fit is left out, the worst first (Baarda's data snooping). Whether it is that one is then
asked of every other: if the rest fits as well with the other left out in its place, the two cannot be told apart. Each
such question is a least squares of its own, so that it holds for errors of any size, not only for small ones. All that
cannot be told apart are left out where that leaves enough; or else the expected error takes in every place that one of
them may stand for.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from manifoldgen.geometry.vectors import Array
from manifoldgen.manifold.survey.bound import TWO_SIDED
from manifoldgen.manifold.survey.fit import Fit, fit
from manifoldgen.manifold.survey.net import Measured, Net
from manifoldgen.manifold.survey.rows import Rows, States, joined
from manifoldgen.manifold.survey.search import relax
from manifoldgen.manifold.survey.solve import RIVAL_COST, Solved, solved

LEAVE_OUT = 0.25  # at most this share of the readings is named wrong
TIED = 0.3  # least correlation of two readings' tests at which one may be wrong in place of the other
TRIED = 8  # places from which another explanation is looked for


@dataclass(frozen=True)
class Adjusted:
    """A net worked out.

    rows : of the readings used.  state : the one taken.  rivals : other states that fit as well, with what has a second
    place there (`TURBO`, or the number of a free point), each thing once.
    left_out : readings that cannot be right.  torn : readings of which one cannot be right, untold which, group by
    group; where too little is left without all of them, only the first is not used.
    to_torn, to_rivals : steps from the state to others that are as likely, by `torn` and by `rivals`, in the unknowns
    (r, n).
    """

    net: Net
    rows: Rows
    state: States
    fit: Fit
    rivals: tuple[tuple[int, States], ...]
    left_out: tuple[Measured, ...]
    torn: tuple[tuple[Measured, ...], ...]
    to_torn: Array
    to_rivals: Array

    @property
    def turbo_fixed(self) -> bool:
        """Whether the pose is to be found and the readings fix it."""
        return self.net.turbo_open and self.fit.fixed(slice(0, 6))

    def point_fixed(self, i: int) -> bool:
        """Whether the readings fix a free point."""
        return self.fit.fixed(slice(6 + 3 * i, 9 + 3 * i))

    @property
    def covariance(self) -> Array:
        """Of the unknowns; larger than the stated errors give where the residuals or other states say so."""
        found: Array = self.fit.covariance * max(1.0, self.fit.level) ** 2
        return found + allowing(self.to_torn) + allowing(self.to_rivals)


def allowing(steps: Array) -> Array:
    """Covariance that takes in states these steps away: each lies within the expected error (95 %)."""
    found: Array = steps.T @ steps / TWO_SIDED**2
    return found


def adjust(net: Net) -> Adjusted:
    """Work out a net."""
    made = solved(net, net.readings)
    fixed, places = made.fixed, made.places
    wrong: list[Measured] = []
    while made.worst is not None and len(wrong) < LEAVE_OUT * len(net.readings):
        fewer = solved(net, _without(made.rows.readings, [made.worst]))
        if fewer.fixed < fixed:
            break
        wrong.append(made.worst)
        places, made = joined(made.places, fewer.places), fewer
    others = {bad: _instead(net, wrong, bad, made, places) for bad in wrong}
    told = [bad for bad in wrong if not others[bad] and made.fit.spare]
    torn = [(bad, *others[bad]) for bad in wrong if bad not in told]
    torn += [(made.worst,)] if made.worst else []
    to_torn: list[Array] = []
    if torn:
        rest = solved(net, _without(net.readings, [*told, *(r for group in torn for r in group)]))
        if rest.fit.spare and rest.fixed >= fixed and rest.worst is None:
            made = rest
        else:
            to_torn = [made.state.to(state) for bad in wrong for state in others[bad].values()]
    rivals = made.second_places
    to_rivals = [made.step_to(*rival) for rival in rivals]
    steps = (np.array(s).reshape(-1, len(made.fit.covariance)) for s in (to_torn, to_rivals))
    return Adjusted(net, made.rows, made.state, made.fit, rivals, tuple(told), tuple(torn), *steps)


def _without(readings: Sequence[Measured], out: Iterable[Measured]) -> list[Measured]:
    numbers = {r.number for r in out}
    return [r for r in readings if r.number not in numbers]


def _tied(net: Net, wrong: Sequence[Measured], bad: Measured, made: Solved) -> list[Measured]:
    """The readings used whose test is tied to that of `bad`: with it back in, they do not fit either."""
    rows = Rows.of(net, _without(net.readings, [r for r in wrong if r is not bad]))
    state, _ = relax(rows, made.state)
    w2 = fit(rows, state).doubt ** 2
    least = TIED**2 * w2[rows.readings.index(bad)]
    return [r for r, mine in zip(rows.readings, w2, strict=True) if mine >= least and r is not bad]


def _instead(
    net: Net, wrong: Sequence[Measured], bad: Measured, made: Solved, places: States
) -> dict[Measured, States]:
    """The readings that might as well be the wrong one in place of `bad`, each with the state that the rest then has."""
    rows, kept = Rows.of(net, net.readings), _tied(net, wrong, bad, made)
    if not kept:
        return {}
    out = {r.number for r in wrong} - {bad.number}
    use = np.array([[r.number not in out | {other.number} for r in rows.readings] for other in kept], float)
    starts = joined(made.state, places.take(slice(TRIED)))
    several = starts.take(np.tile(np.arange(len(starts)), len(kept)))
    states, cost = relax(rows, several, use=np.repeat(use, len(starts), axis=0))
    best = cost.reshape(len(kept), -1).argmin(axis=1) + np.arange(len(kept)) * len(starts)
    allowed = float((made.fit.off**2).sum()) + RIVAL_COST * max(1.0, made.fit.level) ** 2
    found: dict[Measured, States] = {}
    for other, at in zip(kept, best, strict=True):
        if cost[at] <= allowed:
            used = _without(net.readings, [*(r for r in wrong if r is not bad), other])
            if fit(Rows.of(net, used), states.take([at])).worst() is None:
                found[other] = states.take([at])
    return found
