"""How well the joints that close on a surveyed turbo can be promised, and whether they can be trimmed to it."""

from __future__ import annotations

from manifoldgen.checks.check import Check
from manifoldgen.checks.finding import Finding, FindingKind
from manifoldgen.checks.surveyed import measure_next
from manifoldgen.manifold.known import closing, end_error, last_straight
from manifoldgen.manifold.model import Manifold, Run
from manifoldgen.manifold.rates import rate
from manifoldgen.pieces.added import added_to
from manifoldgen.wording import compared, fixed

SURVEY_JOINT = FindingKind(
    name="survey-joint",
    severities=("warning", "note"),
    means="A run closes on a turbo whose place comes from the survey: its end cannot be promised better than that place is "
    "known. A warning where the last piece has no straight to be trimmed, or one that is too short.",
    why="The turbo flange on its post stands where the survey puts the turbo. The real one may be that much further off, "
    "and a joint that is pulled together cracks.",
    do="Trim the last piece on the engine, with the turbo flange bolted to the turbo itself, and tack that joint there. "
    "The piece is left longer for it, in the cut list and in the cutting plan.",
)


def check(m: Manifold) -> tuple[Finding, ...]:
    """`survey-joint`: a run that closes on the turbo no better than the survey; a warning where it cannot be trimmed."""
    return tuple(f for run in m.runs if run.name in closing(m) and (f := _joint(m, run)) is not None)


CHECK = Check(kinds=(SURVEY_JOINT,), ask=check)


def _joint(m: Manifold, run: Run) -> Finding | None:
    mm, deg = end_error(m, run)
    most_mm, most_deg = rate(m, "end_point"), rate(m, "end_angle")
    if run.path is None or (mm <= most_mm and deg <= most_deg):
        return None
    last = next((p for p in reversed(m.pieces) if p.owner == run.owner), None)
    trim = sum(added_to(m)[last.id].trim) if last else 0.0
    straight = last_straight(run)
    end, turn = compared(mm, most_mm), compared(deg, most_deg)
    message = (
        f"{run.name} closes on a turbo whose place is from the survey: its end can be promised to ±{end.value} mm and "
        f"±{turn.value}° (95 %), not to {end.limit} mm and {turn.limit}°."
    )
    wide = mm > most_mm
    fits = bool(trim) and straight >= mm
    if fits and last:
        do = f"{last.id} is left {fixed(trim)} mm longer: trim it on the engine, to the turbo itself."
    elif not straight:
        do = f"It ends with a bend, which cannot be trimmed: give it a straight of {mm:.0f} mm or more."
    else:
        do = f"Its last straight is {fixed(straight)} mm and {fixed(trim)} mm is left on: give it {mm:.0f} mm or more, cut from tube."
    return SURVEY_JOINT.finding(
        severity="note" if fits else "warning",
        message=message,
        do=f"{do} {measure_next(m, (m.turbo.name,))}",
        value=mm if wide else deg,
        limit=most_mm if wide else most_deg,
        unit="mm" if wide else "deg",
        parts=(run.name, m.turbo.name),
        points=(run.path.end.at,),
        where=run.where,
    )
