"""A runner put together from its cut list and roll marks alone, with turns of its own: the bench does it so.

Also random runners with stock to cut them from, for tests and sweeps.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from manifoldgen.geometry.path import Bend, Path, Straight
from manifoldgen.geometry.pose import Pose
from manifoldgen.manifold.model import Manifold, Run, StockItem
from manifoldgen.shop.cuts import CutRow
from manifoldgen.shop.marks import RollMark
from tests import factory

Place = tuple[np.ndarray, np.ndarray]


def turned(v: np.ndarray, axis: np.ndarray, degrees: float) -> np.ndarray:
    """A vector turned right-handed about a unit axis (Rodrigues)."""
    a = math.radians(degrees)
    return v * math.cos(a) + np.cross(axis, v) * math.sin(a) + axis * (axis @ v) * (1 - math.cos(a))


def first_mark(travel: np.ndarray, marks: Sequence[RollMark], pieces: set[str]) -> np.ndarray:
    """The line that a run's first roll is read from, by the axis its words name: ``line facing port 2 (+x)``.

    Square enough to be found by eye: an axis within 45° of the travel would not be.
    """
    first = next((m for m in marks if m.piece in pieces), None)
    if first is None:
        return np.zeros(3)
    sign, axis = first.line[-3], first.line[-2]
    way = np.eye(3)["xyz".index(axis)] * (1 if sign == "+" else -1)
    across = way - (way @ travel) * travel
    assert np.linalg.norm(across) > math.sin(math.radians(45.0))
    return across / np.linalg.norm(across)


def put_together(
    start: Place, line: np.ndarray, rows: Sequence[CutRow], marks: Sequence[RollMark], step: float = 0.0
) -> Place:
    """Where the last piece ends and which way it looks.

    start : place and travel.  line : the mark that the first roll counts from; each bend's back line serves the next.
    step : what the numbers are rounded to, 0 for not at all.
    """

    def read(value: float) -> float:
        return round(value / step) * step if step else value

    at, travel = start
    rolls = {mark.piece: mark.roll for mark in marks}
    for row in rows:
        at = at + travel * read(row.before)
        if row.angle:
            line = turned(line, travel, read(rolls[row.piece]))  # the back line: the bend turns away from it
            axis = np.cross(travel, -line)
            centre = at - line * row.clr
            at = centre + turned(at - centre, axis, read(row.angle))
            travel, line = (turned(v, axis, read(row.angle)) for v in (travel, line))
            at = at + travel * read(row.after)
    return at, travel


def random_runners(rng: np.random.Generator, count: int) -> Manifold:
    """Runners of 2 to 4 bends of 12° to 100°, some without a straight between, and elbows and legged bends for them."""
    clr = float(rng.choice([48.3, 57.2, 63.6, 76.2]))
    runs = []
    for n in range(1, count + 1):
        elements: list[Straight | Bend] = [Straight(float(rng.uniform(10, 90)))]
        for _ in range(int(rng.integers(2, 5))):
            elements.append(Bend(float(rng.uniform(12, 100)), clr, float(rng.uniform(-180, 180))))
            if rng.random() < 0.8:
                elements.append(Straight(float(rng.uniform(8, 150))))
        lean = rng.uniform(-0.4, 0.4, 2)
        start = Pose.heading((150.0 * n, 20.0, factory.FACE), (lean[0], lean[1], 1.0))
        path = Path(start, tuple(elements))
        runs.append(Run(f"runner {n}", "runner", factory.TUBE, start, path, n))
    legs = (float(rng.uniform(20, 110)), float(rng.uniform(20, 110)))
    tube = (factory.TUBE.od, factory.TUBE.wall)
    stock = (
        StockItem("el90", "elbow", "runner", *tube, clr=clr, angle=90.0, price=11.0),
        StockItem("leg90", "bend", "runner", *tube, clr=clr, angle=90.0, legs=legs, price=18.0),
        StockItem("bar", "straight", "runner", *tube, length=1000.0, price=20.0),
    )
    return replace(factory.alone(factory.manifold(), *runs), stock=stock)
