"""Whether the survey's readings can be trusted: a gross error, a second place, something left open."""

from __future__ import annotations

from manifoldgen.checks.finding import Finding
from manifoldgen.manifold.model import Manifold

DO = "manifoldgen survey lists every reading with its residual, and what to measure next."


def check(m: Manifold) -> tuple[Finding, ...]:
    """`survey-doubtful`: each sentence that the survey has to say against itself."""
    if m.survey is None:
        return ()
    where = {r.label: r.where for r in m.survey.readings}
    return tuple(
        Finding(
            "survey-doubtful",
            "warning",
            f"{sentence}.",
            DO,
            parts=("survey",),
            where=where.get(sentence.partition(":")[0]),
        )
        for sentence in m.survey.warnings
    )
