"""What a survey gives: the pose, the named points, how well each is known, every reading, and what to doubt."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any, Literal

import numpy as np
from numpy.typing import ArrayLike

from manifoldgen.errors import Where
from manifoldgen.geometry.vectors import Vec, array
from manifoldgen.manifold.survey.bound import radius, shift_at, turn_of


@dataclass(frozen=True)
class Next:
    """A reading to take, and the expected error (95 %) of what it is taken for, once it and those before it are taken.

    expected_error_mm, expected_error_deg : None while the readings do not fix it; a point has no degrees.
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


@dataclass(frozen=True)
class SurveyedPose:
    """The turbine's mating face as the readings have it.

    at : mm.  facing : unit.  clock : degrees, as `turbo.inlet` has them.
    expected_error_mm, expected_error_deg : of `at` and of `facing`, each; the truth lies inside in 95 of 100
        surveys. They hold while small: beyond some 5 degrees the truth lies inside in 85 to 90 of 100.
    worst_axis, worst_axis_mm : the direction in which `at` is known worst, and its expected error along it.
    covariance : of shift (mm) and turn (radians) about `at`, six rows of six.
    measure_next : the readings that help it most, in their order.
    """

    at: Vec
    facing: Vec
    clock: float
    expected_error_mm: float
    expected_error_deg: float
    worst_axis: Vec
    worst_axis_mm: float
    covariance: tuple[tuple[float, ...], ...]
    measure_next: tuple[Next, ...] = ()

    def error_at(self, point: ArrayLike) -> float:
        """Expected error (95 %) of a point that goes with the turbo, mm: a turn of the face swings what is far from it."""
        return radius(shift_at(np.array(self.covariance), array(point) - array(self.at)))

    def error_of(self, direction: ArrayLike) -> float:
        """Expected error (95 %) of a direction that goes with the turbo, degrees."""
        return float(np.degrees(radius(turn_of(np.array(self.covariance), direction))))


@dataclass(frozen=True)
class SurveyedPoint:
    """A named point; how well it is known, and what to measure, as for the pose."""

    at: Vec
    expected_error_mm: float
    worst_axis: Vec
    worst_axis_mm: float
    measure_next: tuple[Next, ...] = ()


@dataclass(frozen=True)
class ReadingResult:
    """One reading of the file beside what the survey gives for it.

    label : ``S1 to turbo.B1``.  value : as read, in `unit`.
    residual : computed less read, in `unit`.
    doubt : the residual over what it may be (a standard normal number where the reading is sound); None where
        no other reading checks this one.
    shows_from : an error of this size, in `unit`, shows in 80 of 100 surveys, and smaller ones less often; None as
        for `doubt`.
    left_out : the place taken is worked out without it: it cannot be right, or it is one of those in `torn`.
    """

    label: str
    value: float
    unit: Literal["mm", "deg"]
    residual: float
    doubt: float | None
    shows_from: float | None
    left_out: bool
    where: Where | None = None


@dataclass(frozen=True)
class Doubt:
    """What a survey has to say against itself.

    sentence : whole.  reading : label of the one reading it is about, or empty.
    """

    sentence: str
    reading: str = ""


@dataclass(frozen=True)
class SurveyResult:
    """A survey worked out.

    turbo : None where the pose was typed or the readings do not fix it.
    points : the named points that the readings fix, and no others.
    outliers : labels of the readings that cannot be right.  torn : labels of readings of which one cannot be
        right, and the others do not tell which; group by group.
    open : what the readings do not fix, in words.
    spare : readings more than needed.  level : how large the residuals are beside what tape and gauge are
        good for; 1 is as expected, and expected errors are scaled by it where it is more.
    other : a second pose that fits as well (the mirror image, as a rule), or None.
    doubts : what it has to say against itself.
    """

    turbo: SurveyedPose | None
    points: dict[str, SurveyedPoint]
    readings: tuple[ReadingResult, ...]
    outliers: tuple[str, ...]
    torn: tuple[tuple[str, ...], ...]
    open: tuple[str, ...]
    spare: int
    level: float
    other: SurveyedPose | None
    doubts: tuple[Doubt, ...]

    @property
    def warnings(self) -> tuple[str, ...]:
        """The doubts as sentences."""
        return tuple(d.sentence for d in self.doubts)

    def as_dict(self) -> dict[str, Any]:
        """The key `survey` of report.json."""
        content = asdict(self)
        del content["doubts"]
        content["warnings"] = self.warnings
        for pose in (content["turbo"], content["other"]):
            if pose is not None:
                del pose["covariance"]  # the errors and the worst axis are what one can act on
        for reading in content["readings"]:
            place = reading["where"]
            reading["where"] = {"line": place["line"], "column": place["column"]} if place else None
        return content
