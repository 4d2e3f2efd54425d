"""Whether the survey's readings can be trusted: a gross error, a second place, something left open."""

from __future__ import annotations

from manifoldgen.checks.check import Check
from manifoldgen.checks.finding import Finding, FindingKind
from manifoldgen.manifold.model import Manifold

SURVEY_DOUBTFUL = FindingKind(
    name="survey-doubtful",
    severities=("warning",),
    means="The survey's readings contradict each other, fit two places, or leave a named point open.",
    why="Everything is laid out from that pose: a tape hooked on the wrong stud moves the whole outlet.",
    do="Measure the named reading again. manifoldgen survey lists every reading beside what the others give, and "
    "what to measure next.",
)
DO = "manifoldgen survey lists every reading with its residual, and what to measure next."


def check(m: Manifold) -> tuple[Finding, ...]:
    """`survey-doubtful`: each sentence that the survey has to say against itself."""
    if m.survey is None:
        return ()
    where = {r.label: r.where for r in m.survey.readings}
    return tuple(
        SURVEY_DOUBTFUL.finding(
            message=f"{doubt.sentence}.",
            do=DO,
            parts=("survey",),
            where=where.get(doubt.reading),
        )
        for doubt in m.survey.doubts
    )


CHECK = Check(kinds=(SURVEY_DOUBTFUL,), ask=check)
