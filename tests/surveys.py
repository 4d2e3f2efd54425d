"""Surveys made up from a known turbo pose: what tape and gauge would have read, with errors drawn at will."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache
from typing import Any

import numpy as np

import manifoldgen as mg
from manifoldgen.designs import Design
from manifoldgen.geometry.pose import Frame
from manifoldgen.manifold.model import Manifold
from manifoldgen.manifold.survey.result import SurveyedPoint, SurveyedPose, SurveyResult
from manifoldgen.parameters import Parameters, document, load
from tests.jobs import load_four
from tests.worked import JOBS

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


TWO_SIDED = 1.959964  # standard normal: 95 % within, tables
RAIL = Truth(
    Frame.facing((144.0, 373.0, 316.0), (0.0, 0.3, 0.95), UP),
    {
        "tube_left": (-90.0, 330.0, 130.0), "tube_right": (380.0, 330.0, 130.0), "post_a": (-80.0, 300.0, 420.0),
        "post_b": (370.0, 320.0, 420.0), "post_c": (150.0, 100.0, 480.0),
    },
)  # fmt: skip


def every_reading() -> list[dict[str, Any]]:
    """The sand rail measured whole, without errors: the turbo and both ends of the cross tube, from posts as well."""
    from_head = [RAIL.distance(a, b) for a in KNOWN for b in (*HOLES, *RAIL.points)]
    from_points = [RAIL.distance(a, b) for a in RAIL.points for b in HOLES]
    between = [
        RAIL.distance(a, b) for a in ("post_a", "post_b", "post_c") for b in ("tube_left", "tube_right")
    ]
    return [*from_head, *from_points, *between, *(RAIL.angle(a) for a in "xyz")]


def few_readings() -> list[dict[str, Any]]:
    """The same from four places on the head, turbo and cross tube: too few for tape and angle gauge."""
    made = [
        RAIL.distance(a, b) for a in ("S1", "S4", "S8", "P2") for b in (*HOLES, "tube_left", "tube_right")
    ]
    return [*made, RAIL.angle("y"), RAIL.angle("z")]


def sand_rail(readings: list[dict[str, Any]], tape: float | None = None, gauge: float = 0.2) -> Design:
    """The demo of that name with turbo and cross tube by these readings.

    tape, gauge : how good the shop says they are (standard deviations, mm and degrees), where they are not the
    catalogue's.
    """
    raw = document.read((JOBS / "sand_rail_four.yaml").read_text(encoding="utf-8")).data
    raw["turbo"]["inlet"] = {"at": "survey"}
    raw["obstacles"][1]["cylinder"].update({"from": "tube_left", "to": "tube_right"})
    raw["survey"] = readings
    if tape is not None:
        own = {"tape": {"value": tape}, "gauge": {"value": gauge}}
        raw["catalogue"] = {"limits": {"survey": own}}
    return mg.design(load(raw), search=False)


@cache
def within_two() -> Design:
    """The sand rail known to some 2 mm: every reading, by a rule that is good for 0.5 mm."""
    return sand_rail(every_reading(), 0.5)


def pose(face: Frame, mm: float, deg: float = 0.0) -> SurveyedPose:
    """A face whose place is open along x alone and whose facing about its own x alone: `mm` and `deg` at 95 %."""
    shift = np.diag([(mm / TWO_SIDED) ** 2, 0.0, 0.0])
    turn = (np.radians(deg) / TWO_SIDED) ** 2 * np.outer(face.x, face.x)
    covariance = np.block([[shift, np.zeros((3, 3))], [np.zeros((3, 3)), turn]])
    rows = tuple(tuple(row) for row in covariance.tolist())
    return SurveyedPose(face.at, face.z, 0.0, mm, deg, (1.0, 0.0, 0.0), mm, rows)


def by_survey(m: Manifold, turbo: tuple[float, float] | None = None, **points: float) -> Manifold:
    """The manifold with places from a survey, known to these mm (the turbo's to mm and degrees) at 95 %."""
    face = replace(m.turbo.frame, at=tuple(m.turbo.frame.out((0.0, 0.0, m.turbo.thickness))))
    found = SurveyResult(
        turbo=None if turbo is None else pose(face, *turbo),
        points={name: SurveyedPoint((0.0, 0.0, 0.0), mm, (1.0, 0.0, 0.0), mm) for name, mm in points.items()},
        readings=(), outliers=(), torn=(), open=(), spare=9, level=1.0, other=None, doubts=(),
    )  # fmt: skip
    return replace(m, survey=found)
