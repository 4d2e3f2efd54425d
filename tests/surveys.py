"""Surveys made up from a known turbo pose: what tape and gauge would have read, with errors drawn at will."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from manifoldgen.geometry.pose import Frame
from manifoldgen.parameters import Parameters
from tests.jobs import load_four

TAPE, GAUGE = 2.0, 0.5  # standard deviations, mm and degrees
UP = (0.0, 1.0, 0.0)
HOLES = {f"turbo.B{i}": at for i, at in enumerate([(-37, -32), (37, -32), (37, 32), (-37, 32)], start=1)}
STUDS = {
    f"S{2 * n + k + 1}": (96.0 * n + dx, dy, 38.0)
    for n in range(4)
    for k, (dx, dy) in enumerate([(-41.0, 24.0), (41.0, -24.0)])
}
PORTS = {f"P{n + 1}": (96.0 * n, 0.0, 0.0) for n in range(4)}
KNOWN = {**STUDS, **PORTS}


@dataclass(frozen=True)
class Truth:
    """Where the turbine face and the named points really are."""

    face: Frame
    points: dict[str, tuple[float, float, float]]

    def place(self, name: str) -> np.ndarray:
        """Any point by its name."""
        if name in HOLES:
            x, y = HOLES[name]
            return np.asarray(self.face.at) + x * np.asarray(self.face.x) + y * np.asarray(self.face.y)
        return np.asarray({**KNOWN, **self.points}[name])

    def distance(self, a: str, b: str, error: float = 0.0) -> dict[str, Any]:
        """A reading of the tape."""
        return {"from": a, "to": b, "mm": float(np.linalg.norm(self.place(a) - self.place(b)) + error)}

    def angle(self, axis: str, error: float = 0.0) -> dict[str, Any]:
        """A reading of the gauge on the facing."""
        cosine = float(self.face.z["xyz".index(axis)])
        return {"angle": "turbo.facing", "to": axis, "deg": float(np.degrees(np.arccos(cosine)) + error)}


def truth(rng: np.random.Generator) -> Truth:
    """A turbo above and in front of the head, facing away from it or down, clocked at will."""
    at = rng.uniform((0, 100, 150), (290, 350, 400))
    facing = rng.normal(size=3)
    while np.degrees(np.arccos(np.abs(facing / np.linalg.norm(facing)))).min() < 20:
        facing = rng.normal(size=3)  # a gauge reads nothing on an axis that the facing lies along
    return Truth(Frame.facing(at, facing, UP, rng.uniform(-180, 180)), {})


def readings(
    t: Truth, rng: np.random.Generator, distances: int = 24, *, spoilt: float = 0.0
) -> tuple[list[dict[str, Any]], str]:
    """Distances between points drawn at will and four angles, normal errors; one distance is off by `spoilt`.

    Returns the readings and the label of the spoilt one.
    """
    pairs = [(a, b) for a in KNOWN for b in HOLES]
    chosen = [pairs[i] for i in rng.choice(len(pairs), distances, replace=False)]
    made = [t.distance(a, b, rng.normal(0, TAPE)) for a, b in chosen]
    made[0]["mm"] += spoilt * rng.choice([-1.0, 1.0])
    made += [t.angle(axis, rng.normal(0, GAUGE)) for axis in ("x", "y", "z", "z")]
    return made, f"{chosen[0][0]} to {chosen[0][1]}"


def job(survey: list[dict[str, Any]], **changes: object) -> Parameters:
    """A job whose turbo pose comes from these readings."""
    return load_four(**{"survey": survey, "turbo__inlet": {"at": "survey"}, "obstacles": None, **changes})
