"""Why a run cannot be closed: which one thing would have to give, and by how much."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any, Literal

import numpy as np

from manifoldgen.geometry.vectors import Array, angle_between, array
from manifoldgen.routing.guess import LEAST_BEND, Guess, Task, sampled, spread
from manifoldgen.wording import size

Give = Literal["inlet", "start", "radius"]

CURES: dict[Give, str] = {
    "inlet": "{:.1f} mm more room along the inlet's axis",
    "start": "{:.1f} mm more room before the first bend",
    "radius": "a CLR of {:.1f} mm",
}
_GIVEN = 150.0  # mm of straight that is let give while looking
_TRIED = 12  # guesses of each number of bends that are relaxed
_CLOSED = 1e-4  # mm: a relaxed run that misses by less is taken as closed
_TOLD = 0.05  # mm: less is no cure
_LEAST_CLR = 5.0  # mm: no smaller radius is proposed


def shortfall(task: Task) -> str:
    """One sentence: how many mm at the inlet or at the start, or which CLR, would close the run.

    Each is found by letting that one value give while all others hold.
    """
    turn = angle_between(task.start.direction, task.target.direction)
    cap = max(a for _, a in task.radii)
    if turn > 4 * cap:
        return (
            f"it must turn {turn:.1f}° to the inlet, but four bends of at most {cap:.1f}° turn "
            f"{4 * cap:.1f}°; take stock with larger angles or another bend before it"
        )
    smallest = min(clr for clr, _ in task.radii)
    radii = " or ".join(size(clr) for clr, _ in sorted(task.radii))
    begin = f"no run of up to four bends with CLR {radii} mm and at most {cap:.1f}° each lands on the inlet: "
    cures = []
    for give, text in CURES.items():
        least = _least(task, give)
        if _TOLD < least < math.inf:
            cures.append(text.format(smallest - least if give == "radius" else least))
    if cures:
        return begin + "it needs " + ", or ".join(cures)
    return begin + "move the inlet or the bends before it"


def _least(task: Task, give: Give) -> float:
    """The least mm that this value must give, over the most promising guesses; infinite for none."""
    smallest = min(clr for clr, _ in task.radii)
    loose = {
        "inlet": replace(task, inlet_straight=task.inlet_straight - _GIVEN),
        "start": replace(task, lead=task.lead - _GIVEN),
        "radius": replace(task, radii=tuple((clr - smallest / 2, cap) for clr, cap in task.radii)),
    }[give]
    given = smallest / 2 if give == "radius" else _GIVEN
    best = math.inf
    for bends in (2, 3, 4):
        for guess in spread(sampled(loose, bends), _TRIED):
            choice = (
                tuple((clr + given, cap) for clr, cap in guess.choice) if give == "radius" else guess.choice
            )
            best = min(best, _relaxed(task, replace(guess, choice=choice), give, given))
    return best


def _relaxed(task: Task, guess: Guess, give: Give, given: float) -> float:
    from scipy.optimize import minimize as untyped

    from manifoldgen.routing import _closure_kernels as kernels

    minimize: Any = untyped
    begin, end = task.ends
    clr, caps = array([c for c, _ in guess.choice]), np.radians([a for _, a in guess.choice])
    least = task.least(len(guess.choice))

    def slacks(z: Array) -> Array:
        mm = float(z[-1])
        straights, radii = least.copy(), clr
        if give == "radius":
            radii = clr - mm
        else:
            straights[-1 if give == "inlet" else 0] -= mm
        values = kernels.judge(z[:-1], begin, end, radii, caps, straights, math.radians(LEAST_BEND), 1e6, 0.0)
        room = min(clr) - _LEAST_CLR - mm if give == "radius" else 1.0
        return np.concatenate([values[1:], [mm, room]])

    first = np.append(guess.x, given)
    found = minimize(
        lambda z: float(z[-1]),
        first,
        jac=lambda z: np.append(np.zeros(len(z) - 1), 1.0),
        constraints={"type": "ineq", "fun": slacks},
        method="SLSQP",
        options={"maxiter": 120, "ftol": 1e-7},
    )
    x = np.array(found.x)
    closed = bool(np.isfinite(x).all()) and float(slacks(x).min()) > -_CLOSED
    return max(float(x[-1]), 0.0) if closed else math.inf
