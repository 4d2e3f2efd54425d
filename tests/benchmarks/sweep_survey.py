"""Random surveys with errors: how often the truth lies inside the stated error, how often a gross error is named.

Run: python -m tests.benchmarks.sweep_survey [cases] [seed]
"""

from __future__ import annotations

import sys
import time
from dataclasses import dataclass

import numpy as np

from manifoldgen.errors import ManifoldgenError
from manifoldgen.geometry.vectors import angle_between
from manifoldgen.manifold.survey.answer import survey
from manifoldgen.manifold.survey.result import SurveyedPose, SurveyResult
from tests.surveys import Truth, job, readings, truth

GROSS = 30.0  # mm


@dataclass(frozen=True)
class Tally:
    """Counts over the cases, and the stated errors."""

    inside_mm: int
    inside_deg: int
    inside: int
    named: int
    only_named: int
    mm: list[float]
    deg: list[float]
    seconds: list[float]


def inside(t: Truth, pose: SurveyedPose | None) -> tuple[bool, bool]:
    """Whether the true place and the true facing lie inside their stated errors."""
    if pose is None:
        return False, False
    off = float(np.linalg.norm(np.subtract(pose.at, t.face.at)))
    return off <= pose.expected_error_mm, angle_between(pose.facing, t.face.z) <= pose.expected_error_deg


def solved(made: list[dict], **changes: object) -> SurveyResult | None:
    """The survey's answer; None where it has none."""
    try:
        return survey(job(made, **changes))
    except ManifoldgenError as error:
        print(f"  no answer: {error}")
        return None


def sweep(cases: int, seed: int) -> Tally:
    """Each case once clean and once with a gross error in one of 24 distances."""
    rng = np.random.default_rng(seed)
    tally = Tally(0, 0, 0, 0, 0, [], [], [])
    for _ in range(cases):
        t = truth(rng)
        clean, _ = readings(t, rng)
        spoilt, label = readings(t, rng, spoilt=GROSS)
        started = time.perf_counter()
        found, second = solved(clean), solved(spoilt)
        tally.seconds.append(time.perf_counter() - started)
        mm, deg = inside(t, found.turbo if found else None)
        names = second.outliers if second else ()
        tally = Tally(
            tally.inside_mm + mm,
            tally.inside_deg + deg,
            tally.inside + (mm and deg),
            tally.named + (label in names),
            tally.only_named + (names == (label,)),
            tally.mm,
            tally.deg,
            tally.seconds,
        )
        if found and found.turbo:
            tally.mm.append(found.turbo.expected_error_mm)
            tally.deg.append(found.turbo.expected_error_deg)
    return tally


def main(cases: int = 200, seed: int = 1) -> None:
    """Print the counts."""
    t = sweep(cases, seed)
    print(
        f"{cases} surveys, seed {seed}: 24 distances with a standard deviation of 2 mm, 4 angles of 0.5 deg"
    )
    print(f"  truth inside the stated 95 %: place {t.inside_mm}, facing {t.inside_deg}, both {t.inside}")
    print(f"  gross error of {GROSS:g} mm named: {t.named}, and nothing else {t.only_named}")
    for name, values in (("mm", t.mm), ("deg", t.deg)):
        low, mid, high = np.percentile(values, (5, 50, 95))
        print(f"  expected error {name}: median {mid:.1f}, 5 % below {low:.1f}, 5 % above {high:.1f}")
    print(f"  seconds for two surveys: median {np.median(t.seconds):.2f}, most {max(t.seconds):.2f}")


if __name__ == "__main__":
    main(*(int(a) for a in sys.argv[1:3]))
