"""What a survey gives: the pose, the named points, every reading's residual, and what to doubt."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any, Literal

from manifoldgen.errors import Where
from manifoldgen.geometry.vectors import Vec


@dataclass(frozen=True)
class SurveyedPose:
    """The turbine's mating face as the readings have it.

    at : mm.  facing : unit.  clock : degrees, as `turbo.inlet` has them.
    expected_error_mm, expected_error_deg : of `at` and of `facing`, each; the truth lies inside in 95 of 100
        surveys. They hold while small: beyond some 5 degrees the truth lies inside in 85 to 90 of 100.
    """

    at: Vec
    facing: Vec
    clock: float
    expected_error_mm: float
    expected_error_deg: float


@dataclass(frozen=True)
class SurveyedPoint:
    """A named point; `expected_error_mm` as for the pose."""

    at: Vec
    expected_error_mm: float


@dataclass(frozen=True)
class ReadingResult:
    """One reading of the file beside what the survey gives for it.

    label : ``S1 to turbo.B1``.  value : as read, in `unit`.
    residual : computed less read, in `unit`.
    doubt : the residual over what it may be (a standard normal number where the reading is sound); None where
        no other reading checks this one.
    left_out : it cannot be right, and the survey is worked out without it.
    """

    label: str
    value: float
    unit: Literal["mm", "deg"]
    residual: float
    doubt: float | None
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
    outliers : labels of the readings left out.  open : what the readings do not fix, in words.
    spare : readings more than needed.  level : how large the residuals are beside what tape and gauge are
        good for; 1 is as expected, and expected errors are scaled by it where it is more.
    other : a second pose that fits as well (the mirror image, as a rule), or None.
    doubts : what it has to say against itself.
    """

    turbo: SurveyedPose | None
    points: dict[str, SurveyedPoint]
    readings: tuple[ReadingResult, ...]
    outliers: tuple[str, ...]
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
        for reading in content["readings"]:
            place = reading["where"]
            reading["where"] = {"line": place["line"], "column": place["column"]} if place else None
        return content
