"""A job's survey worked out, as numbers and as sentences."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from manifoldgen.errors import GeometryError
from manifoldgen.geometry.pose import Frame
from manifoldgen.geometry.vectors import Array, Vec, array, vec
from manifoldgen.manifold.place import place
from manifoldgen.manifold.survey.adjust import Adjusted, adjust
from manifoldgen.manifold.survey.bound import radius, turn_of, worst_axis
from manifoldgen.manifold.survey.net import Measured, make_net
from manifoldgen.manifold.survey.plan import following, telling
from manifoldgen.manifold.survey.result import (
    Doubt,
    Next,
    ReadingResult,
    SurveyedPoint,
    SurveyedPose,
    SurveyResult,
)
from manifoldgen.manifold.survey.rows import Rows, States
from manifoldgen.manifold.survey.search import mirrored
from manifoldgen.manifold.survey.solve import TURBO
from manifoldgen.parameters.job import Parameters
from manifoldgen.wording import counted, fixed

UNLIKELY = 0.999  # residuals larger than in this share of surveys are told
MIRROR = 50.0  # mm: a second place nearer than this to the mirror image is it
NEXT = 3  # readings that a sentence names


def survey(job: Parameters) -> SurveyResult | None:
    """The job's survey; None for a job without one.

    Raises GeometryError where `turbo.inlet.at` is ``survey`` and the readings do not fix the pose, or for a
    point that is not there.
    """
    surveyed = job.turbo.inlet.surveyed
    if not job.survey and not surveyed:
        return None
    at = place(job, "turbo", "inlet", "at")
    if surveyed and job.turbo.flange.bolts is None:
        raise GeometryError(
            f"{at}turbo.inlet: the turbo flange is a vband, and a survey needs bolt holes to measure to: "
            "give at: [x, y, z] and facing: [x, y, z]"
        )
    if surveyed and not job.survey:
        raise GeometryError(
            f"{at}turbo.inlet: 'survey' needs the block survey with its measurements: add it (manifoldgen survey "
            "prints a form) or give [x, y, z]"
        )
    made = adjust(make_net(job, turbo_open=surveyed))
    found = result(made)
    if surveyed and found.turbo is None:
        left_out = "".join(f"; {d.sentence}" for d in found.doubts if d.reading in found.outliers)
        raise GeometryError(
            f"{at}turbo.inlet: {_count(made)} do not fix the turbo's pose: {_listed(found.open)} stay open; "
            f"measure next {_next(made)} (manifoldgen survey lists what helps most){left_out}"
        )
    return found


def result(made: Adjusted) -> SurveyResult:
    """A net worked out, as it is told."""
    net, f = made.net, made.fit
    more = following(made, NEXT, turbo=True)
    pose = _pose(made, made.state.frame(), more) if made.turbo_fixed else None
    points = {name: _point(made, i) for i, name in enumerate(net.free) if made.point_fixed(i)}
    rival = dict(made.rivals).get(TURBO) if pose else None
    return SurveyResult(
        turbo=pose,
        points=points,
        readings=tuple(_readings(made)),
        outliers=tuple(r.label for r in made.left_out),
        torn=tuple(tuple(r.label for r in group) for group in made.torn),
        open=tuple(open_words(made)),
        spare=f.spare,
        level=f.level,
        other=_pose(made, rival.frame()) if rival else None,
        doubts=tuple(_doubts(made)),
    )


def _pose(made: Adjusted, frame: Frame, more: tuple[Next, ...] = ()) -> SurveyedPose:
    pose = made.covariance[:6, :6]
    axis, along = worst_axis(pose[:3, :3])
    return SurveyedPose(
        at=frame.at,
        facing=frame.z,
        clock=_clock(frame, made.net.up),
        expected_error_mm=radius(pose[:3, :3]),
        expected_error_deg=math.degrees(radius(turn_of(pose, frame.z))),
        worst_axis=axis,
        worst_axis_mm=along,
        covariance=tuple(tuple(row) for row in pose.tolist()),
        measure_next=more,
    )


def _point(made: Adjusted, i: int) -> SurveyedPoint:
    part = made.covariance[6 + 3 * i : 9 + 3 * i, 6 + 3 * i : 9 + 3 * i]
    axis, along = worst_axis(part)
    return SurveyedPoint(vec(made.state.points[0, i]), radius(part), axis, along, following(made, NEXT, i))


def _clock(frame: Frame, up: Vec) -> float:
    """Degrees from the unclocked face's y to this one's, right-handed about the gas."""
    plain = Frame.facing(frame.at, frame.z, up)
    x, y, _ = plain.into(array(frame.at) + array(frame.y))
    return math.degrees(math.atan2(-x, y)) + 0.0


def _readings(made: Adjusted) -> Iterator[ReadingResult]:
    every = Rows.of(made.net, made.net.readings)
    off = every.evaluate(made.state)[0][0] * every.sigma
    residuals = {r.number: float(e) for r, e in zip(every.readings, off, strict=True)}
    judged = {
        r.number: (float(doubt), float(least) * r.sigma)
        for r, doubt, least in zip(made.rows.readings, made.fit.doubt, made.fit.shows_from, strict=True)
        if least < np.inf
    }
    used = {r.number for r in made.rows.readings}
    for r in made.net.readings:
        residual, out = residuals[r.number], r.number not in used
        doubt, least = judged.get(r.number, (residual / r.sigma if out else None, None))
        yield ReadingResult(r.label, r.value, r.unit, residual, doubt, least, out, r.where)


def open_words(made: Adjusted) -> Iterator[str]:
    """What the readings do not fix."""
    ways = made.fit.open_ways
    if made.net.turbo_open and not made.turbo_fixed:
        shift = np.linalg.norm(ways[:, :3], axis=0)
        along = [name for name, size in zip("xyz", shift, strict=True) if size > 0.05]
        if along:
            yield f"the turbo's place along {', '.join(along)}"
        facing = array(made.state.frame().z)
        turn = ways[:, 3:6]
        if np.linalg.norm(turn - np.outer(turn @ facing, facing)) > 0.05:
            yield "its facing"
        if np.linalg.norm(turn @ facing) > 0.05:
            yield "its clock"
    for i, name in enumerate(made.net.free):
        if not made.point_fixed(i):
            yield f"the place of {name}"


def _doubts(made: Adjusted) -> Iterator[Doubt]:
    residuals = {r.number: told.residual for r, told in zip(made.net.readings, _readings(made), strict=True)}
    for r in made.left_out:
        there = r.value + residuals[r.number]
        yield Doubt(
            f"{r.label}: {_told(r, r.value)} cannot be right, the rest gives {_told(r, there)}: measure it again "
            "(it is left out)",
            r.label,
        )
    used = {r.number for r in made.rows.readings}
    for first, *others in made.torn:
        if others:
            told = _listed([f"{r.label} ({_told(r, r.value)})" for r in (first, *others)])
            all_out = not any(r.number in used for r in others)
            out = "they are left out till then" if all_out else "the expected error allows for each of them"
            yield Doubt(
                f"one of {told} cannot be right, and the others do not tell which: measure them again ({out})"
            )
        else:
            off = _told(first, abs(residuals[first.number]))
            told = f"{first.label}: {_told(first, first.value)} is {off} off: measure it again"
            yield Doubt(told, first.label)
    yield from map(Doubt, _told_fit(made))
    for thing, other in made.rivals:
        yield Doubt(_told_rival(made, other, thing))


def _told_fit(made: Adjusted) -> Iterator[str]:
    from scipy.special import gammaincinv

    left, found = (
        tuple(open_words(made)),
        made.turbo_fixed or any(map(made.point_fixed, range(len(made.net.free)))),
    )
    spare, level = made.fit.spare, made.fit.level
    if left and made.rows.readings:
        yield f"{_count(made)} do not fix {_listed(left)}: measure next {_next(made)}"
    if found and not spare and not made.torn:
        yield "no reading is spare, so a wrong one does not show: measure three more or so"
    elif spare and not made.torn and level**2 > 2.0 * gammaincinv(spare / 2.0, UNLIKELY) / spare:
        yield (
            f"the readings differ {level:.1f} times as much as tape and gauge explain; the expected error is scaled "
            "up: look for a point mistaken for another, or a size in the file that is not true"
        )


def _told_rival(made: Adjusted, other: States, thing: int) -> str:
    taken = made.state
    settle = telling(made, other)
    rest = f"; measure {settle} to be sure" if settle else ""
    if thing == TURBO:
        image = mirrored(made.net, taken)
        mirror = np.linalg.norm(image.at - other.at) < MIRROR
        kind = ", one the mirror image of the other" if mirror else ""
        here, there = taken.at[0], other.at[0]
        places = " and ".join(f"{_at(s.at[0])} facing {_at(s.axes[0, :, 2], 2)}" for s in (taken, other))
    else:
        kind = ""
        here, there = taken.points[0, thing], other.points[0, thing]
        places = f"{_at(here)} and {_at(there)}"
    front = here[2] > 0 > there[2]
    why = "the one in front of the flange is taken" if front else "which one cannot be told from them"
    name = "the turbo" if thing == TURBO else made.net.free[thing]
    return f"the readings fit two places of {name}{kind}: {places}; {why}{rest}"


def _next(made: Adjusted) -> str:
    return _listed([n.label for n in following(made, NEXT)])


def _count(made: Adjusted) -> str:
    n = len(made.rows.readings)
    return counted(n, "reading")


def _at(p: Array, digits: int = 1) -> str:
    return "[" + ", ".join(f"{round(float(x), digits) + 0.0:.{digits}f}" for x in p) + "]"


def _told(r: Measured, value: float) -> str:
    return f"{fixed(value)} mm" if r.unit == "mm" else f"{fixed(value)}°"


def _listed(words: tuple[str, ...] | list[str]) -> str:
    return " and ".join(filter(None, (", ".join(words[:-1]), words[-1]))) if words else "nothing"
