"""Whether the survey's readings can be trusted: a gross error, a second place, something left open or too loose."""

from __future__ import annotations

from collections.abc import Iterator

from manifoldgen.checks.check import Check
from manifoldgen.checks.finding import Finding, FindingKind
from manifoldgen.checks.surveyed import Place, beyond, degrees, most, next_words
from manifoldgen.geometry.vectors import Vec
from manifoldgen.manifold.model import Manifold
from manifoldgen.manifold.survey.result import SurveyResult

SURVEY_DOUBTFUL = FindingKind(
    name="survey-doubtful",
    severities=("error", "warning"),
    means="The survey's readings contradict each other, fit two places, or leave a named point open (a warning). Or a "
    "place that something is built on is known to no better than ±10 mm or ±3° (an error).",
    why="Everything is laid out from that pose: a tape hooked on the wrong stud moves the whole outlet. A place known "
    "no better than that is no place to cut steel for.",
    do="Measure the named reading again. Where the sentence names several, one of them is wrong and the others cannot "
    "tell which: measure all of them again. manifoldgen survey lists every reading beside what the others give, and "
    "what to measure next.",
)
DO = "manifoldgen survey lists every reading with its residual, and what to measure next."


def check(m: Manifold) -> tuple[Finding, ...]:
    """`survey-doubtful`: a warning for each sentence that the survey has to say against itself.

    An error for each place that something is built on and that is known less well than can be built on.
    """
    return (*_loose(m, m.survey), *_told(m.survey)) if m.survey else ()


CHECK = Check(kinds=(SURVEY_DOUBTFUL,), ask=check)


def _told(survey: SurveyResult) -> Iterator[Finding]:
    where = {r.label: r.where for r in survey.readings}
    for doubt in survey.doubts:
        yield SURVEY_DOUBTFUL.finding(
            severity="warning",
            message=f"{doubt.sentence}.",
            do=DO,
            parts=("survey",),
            where=where.get(doubt.reading),
        )


def _loose(m: Manifold, survey: SurveyResult) -> Iterator[Finding]:
    """Of the places that something is built on: the turbo's, and the points that an obstacle hangs on."""
    hung = {name: tuple(o.name for o in m.obstacles if name in o.surveyed) for name in survey.points}
    places: list[tuple[str, Place, tuple[str, ...]]] = [
        (name, point, hung[name]) for name, point in survey.points.items() if hung[name]
    ]
    if survey.turbo:
        places.insert(0, ("the turbo", survey.turbo, (m.turbo.name,)))
    yield from (_beyond(m, *place) for place in places if beyond(m, place[1]))


def _beyond(m: Manifold, name: str, place: Place, parts: tuple[str, ...]) -> Finding:
    """A place that nothing can be built on."""
    (mm, deg), (most_mm, most_deg) = (place.expected_error_mm, degrees(place)), most(m)
    wide = mm / most_mm >= deg / most_deg
    known, allowed = f"±{mm:.1f} mm", f"±{most_mm:g} mm"
    if deg:
        known, allowed = f"{known} and ±{deg:.1f}°", f"{allowed} and ±{most_deg:g}°"
    return SURVEY_DOUBTFUL.finding(
        severity="error",
        message=f"{name} is known to {known} (95 %), worst along {_axis(place.worst_axis)}: no manifold is built on more "
        f"than {allowed}.",
        do=f"{next_words(name, place.measure_next)} manifoldgen survey lists all that helps.",
        value=mm if wide else deg,
        limit=most_mm if wide else most_deg,
        unit="mm" if wide else "deg",
        parts=parts,
        points=(place.at,),
        where=next((o.where for o in m.obstacles if o.name in parts), m.where.get("turbo.flange")),
    )


def _axis(v: Vec) -> str:
    return "[" + ", ".join(f"{round(x, 2) + 0.0:.2f}" for x in v) + "]"
