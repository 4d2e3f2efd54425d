"""What to measure next: the readings that take most off the expected error, one after another.

Each choice lowers the trace of the unknowns' covariance most (A-optimal, greedy), a turn counted as what it
moves `REACH` mm from the turbine's face.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from manifoldgen.geometry.vectors import Array, array
from manifoldgen.manifold.survey.adjust import Adjusted, allowing
from manifoldgen.manifold.survey.bound import SURE, radius, turn_of
from manifoldgen.manifold.survey.fit import LOOSE
from manifoldgen.manifold.survey.net import FACING, Measured, Net, axis
from manifoldgen.manifold.survey.result import Next
from manifoldgen.manifold.survey.rows import Rows, States
from manifoldgen.manifold.survey.solve import TURBO

REACH = 150.0
BLUNT_DEG = 15.0  # nearer to an axis an angle hardly changes with the facing
LEAST = 0.02  # of the trace: a reading that takes off less is not asked for
ABOUT_DEG = 45.0  # how well a turn is known before anything is measured


def candidates(net: Net, state: States) -> tuple[Measured, ...]:
    """Every reading that could be taken and is not in the file."""
    taken = {frozenset((r.a, r.b.lstrip("+-") if r.unit == "deg" else r.b)) for r in net.readings}
    return tuple(r for r in _possible(net, state) if frozenset((r.a, r.b)) not in taken)


def _possible(net: Net, state: States) -> Iterator[Measured]:
    targets = (*net.holes, *net.free) if net.turbo_open else net.free
    for a in net.fixed:
        yield from (Measured(a, b, 0.0, net.tape) for b in targets)
    for a in net.free:
        yield from (Measured(a, b, 0.0, net.tape) for b in net.holes)
    if net.turbo_open:
        facing = array(state.frame().z)
        for b in "xyz":
            off = np.degrees(np.arccos(np.clip(abs(facing @ array(axis(b))), 0.0, 1.0)))
            if off > BLUNT_DEG:
                yield Measured(FACING, b, 0.0, net.gauge, "deg")


def following(
    made: Adjusted, count: int, point: int | None = None, *, turbo: bool = False
) -> tuple[Next, ...]:
    """The next `count` readings to take, the most useful first; before all, one that tells two places apart.

    point, turbo : what they are to help: that free point, or the turbo alone, and then no reading that hardly does;
        everything if neither is given.
    """
    net = made.net
    rows = Rows.of(net, candidates(net, made.state))
    slopes = rows.evaluate(made.state)[1][0]
    known = made.rows.evaluate(made.state)[1][0]
    prior = np.full(slopes.shape[1], LOOSE)
    prior[3:6] = np.radians(ABOUT_DEG)
    covariance = np.linalg.inv(known.T @ known + np.diag(prior**-2.0))
    level = max(1.0, made.fit.level)
    every = point is None and not turbo
    wanted = _wanted(net, slopes.shape[1], point, every=every)
    chosen: list[Next] = []
    open_ = np.ones(len(slopes), dtype=bool)
    rival = _rival(made, point, every=every)
    first = telling(made, rival) if rival else None
    stays = allowing(made.to_torn) + (0.0 if first else allowing(made.to_rivals))
    for _ in range(min(count, len(slopes))):
        pull = slopes @ covariance
        gain = (pull**2 * wanted).sum(axis=1) / (1.0 + (pull * slopes).sum(axis=1))
        if not chosen and first is not None:
            gain = np.where([r.label == first for r in rows.readings], np.inf, 0.0)
        best = int(np.where(open_, gain, -1.0).argmax())
        if not every and gain[best] < LEAST * (np.diag(covariance) * wanted).sum():
            break
        open_[best] = False
        covariance -= np.outer(pull[best], pull[best]) / (1.0 + float(pull[best] @ slopes[best]))
        r = rows.readings[best]
        chosen.append(Next(r.a, r.b, r.unit, *_expected(made, covariance * level**2 + stays, point)))
    return tuple(chosen)


def _rival(made: Adjusted, point: int | None, *, every: bool) -> States | None:
    """The second place of what is to be helped, if it has one."""
    if every:
        return made.rivals[0][1] if made.rivals else None
    return dict(made.rivals).get(TURBO if point is None else point)


def _wanted(net: Net, unknowns: int, point: int | None, *, every: bool) -> Array:
    """What an unknown's square counts: nothing where it is not asked for."""
    weight = np.zeros(unknowns)
    if point is not None:
        weight[6 + 3 * point : 9 + 3 * point] = 1.0
        return weight
    weight[6:] = every
    if net.turbo_open:
        weight[:3], weight[3:6] = 1.0, REACH**2
    return weight


def _expected(made: Adjusted, covariance: Array, point: int | None) -> tuple[float | None, float | None]:
    """Expected error of a point in mm, or of the turbo in mm and degrees; None while it is not fixed."""
    if point is not None:
        off = radius(covariance[6 + 3 * point : 9 + 3 * point, 6 + 3 * point : 9 + 3 * point])
        return (off if off < LOOSE * SURE else None), None
    mm = radius(covariance[:3, :3])
    deg = float(np.degrees(radius(turn_of(covariance, made.state.frame().z))))
    fixed = made.net.turbo_open and mm < LOOSE * SURE and deg < ABOUT_DEG
    return (mm, deg) if fixed else (None, None)


def telling(made: Adjusted, other: States) -> str | None:
    """The reading that tells two places apart best; None where none would."""
    rows = Rows.of(made.net, candidates(made.net, made.state))
    difference = np.abs(rows.evaluate(made.state)[0][0] - rows.evaluate(other)[0][0])
    if not len(difference) or difference.max() < 6.0:
        return None
    return rows.readings[int(difference.argmax())].label
