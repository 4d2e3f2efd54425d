"""What to measure next: the readings that take most off the expected error, one after another.

Each choice lowers the trace of the unknowns' covariance most (A-optimal, greedy), a turn counted as what it
moves `REACH` mm from the turbine's face.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

import numpy as np

from manifoldgen.geometry.vectors import array
from manifoldgen.manifold.survey.adjust import Adjusted
from manifoldgen.manifold.survey.fit import LOOSE, SURE, pose_errors
from manifoldgen.manifold.survey.net import FACING, Measured, Net, axis
from manifoldgen.manifold.survey.rows import Rows, States

REACH = 150.0
BLUNT_DEG = 15.0  # nearer to an axis an angle hardly changes with the facing
ABOUT_DEG = 45.0  # how well a turn is known before anything is measured


@dataclass(frozen=True)
class Next:
    """A reading to take, and the pose's expected error (95 %) once it and those before it are taken.

    expected_error_mm, expected_error_deg : None while the pose is not fixed.
    """

    a: str
    b: str
    unit: Literal["mm", "deg"]
    expected_error_mm: float | None
    expected_error_deg: float | None

    @property
    def label(self) -> str:
        """As it is named to the user."""
        return f"{self.a} to {self.b}"


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


def following(made: Adjusted, count: int) -> tuple[Next, ...]:
    """The next `count` readings to take, the most useful first; before all, one that tells two places apart."""
    net = made.net
    rows = Rows.of(net, candidates(net, made.state))
    slopes = rows.evaluate(made.state)[1][0]
    known = made.rows.evaluate(made.state)[1][0]
    n = slopes.shape[1]
    prior, weight = np.full(n, LOOSE), np.ones(n)
    prior[3:6], weight[3:6] = np.radians(ABOUT_DEG), REACH**2
    if not net.turbo_open:
        weight[:6] = 0.0
    covariance = np.linalg.inv(known.T @ known + np.diag(prior**-2.0))
    level = max(1.0, made.fit.level)
    facing = array(made.state.frame().z)
    chosen: list[Next] = []
    open_ = np.ones(len(slopes), dtype=bool)
    first = telling(made, made.rivals.take([0])) if len(made.rivals) else None
    for _ in range(min(count, len(slopes))):
        pull = slopes @ covariance
        gain = (pull**2 * weight).sum(axis=1) / (1.0 + (pull * slopes).sum(axis=1))
        if not chosen and first is not None:
            gain = array([r.label == first for r in rows.readings])
        best = int(np.where(open_, gain, -1.0).argmax())
        open_[best] = False
        covariance -= np.outer(pull[best], pull[best]) / (1.0 + float(pull[best] @ slopes[best]))
        mm, deg = (level * e for e in pose_errors(covariance, facing))
        fixed = net.turbo_open and mm < LOOSE * SURE and deg < ABOUT_DEG
        r = rows.readings[best]
        chosen.append(Next(r.a, r.b, r.unit, mm if fixed else None, deg if fixed else None))
    return tuple(chosen)


def telling(made: Adjusted, other: States) -> str | None:
    """The reading that tells two places apart best; None where none would."""
    rows = Rows.of(made.net, candidates(made.net, made.state))
    difference = np.abs(rows.evaluate(made.state)[0][0] - rows.evaluate(other)[0][0])
    if not len(difference) or difference.max() < 6.0:
        return None
    return rows.readings[int(difference.argmax())].label
