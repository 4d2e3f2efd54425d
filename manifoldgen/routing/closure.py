"""Find the last bends of a run: from where it stands to an inlet, with the radii that can be had.

The run is written by its corners, so both ends hold by construction. Every run given back lands below
1e-9 mm and 1e-9 degrees.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np

from manifoldgen.errors import PathError
from manifoldgen.geometry.corners import from_corners, to_corners
from manifoldgen.geometry.path import Path, Straight
from manifoldgen.geometry.pose import Pose
from manifoldgen.geometry.snap import LANDED, miss, snap
from manifoldgen.geometry.vectors import Array, angle_between, array
from manifoldgen.routing.guess import LARGEST_BEND, Guess, Task, guesses
from manifoldgen.routing.shortfall import shortfall

APART = 15.0  # mm between two closures at a quarter, half and three quarters: else they are one
_SLIVER = 1e-4  # mm: shorter straights are left out and the run landed again


def closures(
    start: Pose,
    target: Pose,
    radii: Sequence[tuple[float, float]],
    inlet_straight: float = 0.0,
    *,
    limit: int = 20,
    lead: float = 0.0,
) -> list[Path]:
    """Runs of one to three bends (four if there is none) that land on the target, best first.

    Parameters
    ----------
    start : end of what is there; its normal is what the first roll counts from.
    target : point and direction of the inlet.
    radii : (CLR in mm, largest bend in degrees) of every radius that can be had.
    inlet_straight, lead : least straight at the inlet and before the first bend, mm.
    limit : at most so many, different from each other by 15 mm somewhere.

    Returns
    -------
    list of Path
        sorted by total bend (to 0.1°), then number of bends, then length; the same list every time.

    Raises
    ------
    PathError
        when there is none; says which value misses by how much.
    """
    usable = tuple((float(clr), min(float(cap), LARGEST_BEND)) for clr, cap in dict.fromkeys(radii))
    if not usable:
        raise PathError("no bend radius to close the run with; add an elbow or a bend to the stock")
    task = Task(start, target, usable, lead, inlet_straight)
    plain = [*_straight_on(task), *_one_bend(task)]
    pool = [*guesses(task, 2), *guesses(task, 3)]
    if not plain and not any(g.short == 0 for g in pool):
        pool += guesses(task, 4)
    found = _different(task, plain, pool, limit)
    if not found:
        raise PathError(shortfall(task))
    return found


def _straight_on(task: Task) -> Iterator[Path]:
    """No bend at all, where the inlet lies straight ahead."""
    ahead = float((array(task.target.at) - array(task.start.at)) @ array(task.start.direction))
    if ahead >= max(task.lead, task.inlet_straight, LANDED):
        path = Path(task.start, (Straight(ahead),))
        if max(miss(path, task.target)) < LANDED:
            yield path


def _one_bend(task: Task) -> Iterator[Path]:
    """One bend, where the two axes meet ahead of the start and before the inlet."""
    u, v = array(task.start.direction), array(task.target.direction)
    between = array(task.target.at) - array(task.start.at)
    square = 1 - float(u @ v) ** 2
    if square < 1e-12:
        return
    s = float(between @ (u - float(u @ v) * v)) / square
    t = float(between @ (v - float(u @ v) * u)) / square
    angle = angle_between(u, v)
    corner = array(task.start.at) + s * u
    if float(np.linalg.norm(between - s * u - t * v)) > 1e-6:
        return
    for clr, cap in task.radii:
        take = clr * math.tan(math.radians(angle) / 2)
        if angle <= cap and s - take >= task.lead - LANDED and t - take >= task.inlet_straight - LANDED:
            path = from_corners(task.start, [corner], task.target.at, clr)
            if max(miss(path, task.target)) < LANDED:
                yield path


def _different(task: Task, plain: list[Path], pool: list[Guess], limit: int) -> list[Path]:
    """The best exact runs of the pool, each different from those before it."""
    found: list[Path] = []
    seen: list[Array] = []  # of every run found, marks along its corners and along its centreline

    def new(marks: Array) -> bool:
        return all(np.linalg.norm(marks - other, axis=1).max() > APART for other in seen)

    def keep(path: Path, corners: Sequence[Array]) -> None:
        marks = np.array([path.point(path.length * f) for f in (0.25, 0.5, 0.75)])
        if new(marks):
            found.append(path)
            seen.extend((marks, _marks(corners)))

    for path in plain:
        keep(path, [array(p) for p in to_corners(path)[0]])
    for guess in sorted((g for g in pool if g.short == 0 and math.isfinite(g.bend)), key=lambda g: g.rank):
        if len(found) >= limit:
            break
        corners = [array(task.start.at), *_corners(task, guess), array(task.target.at)]
        exact = _exact(task, guess) if new(_marks(corners)) else None
        if exact is not None:
            keep(exact, corners)
    return sorted(found, key=_rank)[:limit]


def _rank(path: Path) -> tuple[float, int, float]:
    return round(path.bend_deg, 1), len(path.bends), round(path.length, 6)


def _marks(corners: Sequence[Array]) -> Array:
    """Points at a quarter, half and three quarters of the way along the corners (3, 3)."""
    ring = np.array(corners)
    far = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(ring, axis=0), axis=1))])
    at = far[-1] * np.array([0.25, 0.5, 0.75])
    return np.column_stack([np.interp(at, far, ring[:, c]) for c in range(3)])


def _corners(task: Task, guess: Guess) -> list[Array]:
    first = array(task.start.at) + guess.x[0] * array(task.start.direction)
    last = array(task.target.at) - guess.x[1] * array(task.target.direction)
    return [first, *guess.x[2:].reshape(-1, 3), last]


def _exact(task: Task, guess: Guess) -> Path | None:
    """The path over the guess's corners, its slivers of straights left out, landed on the target."""
    try:
        whole = from_corners(task.start, _corners(task, guess), task.target.at, [c for c, _ in guess.choice])
    except PathError:
        return None
    kept = tuple(e for e in whole.elements if not isinstance(e, Straight) or e.length > _SLIVER)
    for elements in (kept, whole.elements):
        least = [0.0] * len(elements)
        if isinstance(elements[-1], Straight):
            least[-1] = task.inlet_straight
        if isinstance(elements[0], Straight):
            least[0] = task.lead
        try:
            return snap(Path(task.start, elements), task.target, least)
        except PathError:
            continue
    return None
