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
from manifoldgen.manifold.survey.fit import pose_errors, radius
from manifoldgen.manifold.survey.net import Measured, make_net
from manifoldgen.manifold.survey.plan import following, telling
from manifoldgen.manifold.survey.result import ReadingResult, SurveyedPoint, SurveyedPose, SurveyResult
from manifoldgen.manifold.survey.rows import Rows, States
from manifoldgen.manifold.survey.search import SAME_MM, mirrored, point_shift, pose_apart
from manifoldgen.parameters.job import Parameters
from manifoldgen.wording import fixed

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
        left_out = "".join(f"; {w}" for w in found.warnings if "left out" in w)
        raise GeometryError(
            f"{at}turbo.inlet: {_count(made)} do not fix the turbo's pose: {_listed(found.open)} stay open; "
            f"measure next {_next(made)} (manifoldgen survey lists what helps most){left_out}"
        )
    return found


def result(made: Adjusted) -> SurveyResult:
    """A net worked out, as it is told."""
    net, f = made.net, made.fit
    pose = _pose(made, made.state.frame()) if made.turbo_fixed else None
    points = {
        name: SurveyedPoint(vec(made.state.points[0, i]), radius(_part(made, 6 + 3 * i)))
        for i, name in enumerate(net.free)
        if made.point_fixed(i)
    }
    rival = made.rivals.frame() if pose and len(made.rivals) else None
    return SurveyResult(
        turbo=pose,
        points=points,
        readings=tuple(_readings(made)),
        outliers=tuple(r.label for r in made.left_out),
        open=tuple(open_words(made)),
        spare=f.spare,
        level=f.level,
        other=_pose(made, rival) if rival else None,
        warnings=tuple(_warnings(made)),
    )


def _part(made: Adjusted, first: int) -> Array:
    part: Array = made.covariance[first : first + 3, first : first + 3]
    return part


def _pose(made: Adjusted, frame: Frame) -> SurveyedPose:
    mm, deg = pose_errors(made.covariance, array(frame.z))
    return SurveyedPose(frame.at, frame.z, _clock(frame, made.net.up), mm, deg)


def _clock(frame: Frame, up: Vec) -> float:
    """Degrees from the unclocked face's y to this one's, right-handed about the gas."""
    plain = Frame.facing(frame.at, frame.z, up)
    x, y, _ = plain.into(array(frame.at) + array(frame.y))
    return math.degrees(math.atan2(-x, y)) + 0.0


def _readings(made: Adjusted) -> Iterator[ReadingResult]:
    every = Rows.of(made.net, made.net.readings)
    off = every.evaluate(made.state)[0][0] * every.sigma
    doubts = {r.number: float(d) for r, d in zip(made.rows.readings, made.fit.doubt, strict=True)}
    checked = {r.number: bool(d) for r, d in zip(made.rows.readings, made.fit.doubt, strict=True)}
    out = {r.number for r in made.left_out}
    residuals = {r.number: float(e) for r, e in zip(every.readings, off, strict=True)}
    for r in made.net.readings:
        n = r.number
        doubt = residuals[n] / r.sigma if n in out else doubts[n] if checked[n] else None
        yield ReadingResult(r.label, r.value, r.unit, residuals[n], doubt, n in out, r.where)


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


def _warnings(made: Adjusted) -> Iterator[str]:
    given = {r.label: r for r in _readings(made)}
    for r in made.left_out:
        there = r.value + given[r.label].residual
        yield (
            f"{r.label}: {_told(r, r.value)} cannot be right, the rest gives {_told(r, there)}: measure it again "
            "(it is left out)"
        )
    if len(made.torn) == 1:
        r = made.torn[0]
        yield f"{r.label}: {_told(r, r.value)} is {_told(r, abs(given[r.label].residual))} off: measure it again"
    elif made.torn:
        yield (
            f"one of {_listed([r.label for r in made.torn])} cannot be right, and the others do not tell which: "
            "measure them again"
        )
    yield from _told_fit(made)
    yield from _told_rivals(made)


def _told_fit(made: Adjusted) -> Iterator[str]:
    from scipy.special import gammaincinv

    left, found = (
        tuple(open_words(made)),
        made.turbo_fixed or any(map(made.point_fixed, range(len(made.net.free)))),
    )
    spare, level = made.fit.spare, made.fit.level
    if left and made.rows.readings:
        yield f"{_count(made)} do not fix {_listed(left)}: measure next {_next(made)}"
    if found and not spare:
        yield "no reading is spare, so a wrong one does not show: measure three more or so"
    elif spare and not made.torn and level**2 > 2.0 * gammaincinv(spare / 2.0, UNLIKELY) / spare:
        yield (
            f"the readings differ {level:.1f} times as much as tape and gauge explain; the expected error is scaled "
            "up: look for a point mistaken for another, or a size in the file that is not true"
        )


def _told_rivals(made: Adjusted) -> Iterator[str]:
    """One sentence for the turbo and for each point that has a second place."""
    rivals = [made.rivals.take([i]) for i in range(len(made.rivals))]
    moved = [_moved(made, other) for other in rivals]
    told: set[str] = set()
    for n in sorted(range(len(rivals)), key=lambda n: len(moved[n])):
        new = [name for name in moved[n] if name not in told]
        if new:
            told.update(moved[n])
            yield _told_rival(made, rivals[n], new[0])


def _moved(made: Adjusted, other: States) -> list[str]:
    """What stands in another place in the other state, the turbo first."""
    turbo = ["turbo"] if pose_apart(other, made.state) else []
    shift = point_shift(other, made.state)
    return turbo + [n for i, n in enumerate(made.net.free) if made.point_fixed(i) and shift[i] > SAME_MM]


def _told_rival(made: Adjusted, other: States, name: str) -> str:
    taken = made.state
    settle = telling(made, other)
    rest = f"; measure {settle} to be sure" if settle else ""
    if name == "turbo":
        image = mirrored(made.net, taken)
        mirror = np.linalg.norm(image.at - other.at) < MIRROR
        kind = ", one the mirror image of the other" if mirror else ""
        here, there = taken.at[0], other.at[0]
        places = " and ".join(f"{_at(s.at[0])} facing {_at(s.axes[0, :, 2], 2)}" for s in (taken, other))
    else:
        kind, i = "", made.net.free.index(name)
        here, there = taken.points[0, i], other.points[0, i]
        places = f"{_at(here)} and {_at(there)}"
    front = here[2] > 0 > there[2]
    why = "the one in front of the flange is taken" if front else "which one cannot be told from them"
    return f"the readings fit two places of {'the turbo' if name == 'turbo' else name}{kind}: {places}; {why}{rest}"


def _next(made: Adjusted) -> str:
    return _listed([n.label for n in following(made, NEXT)])


def _count(made: Adjusted) -> str:
    n = len(made.rows.readings)
    return f"{n} reading{'' if n == 1 else 's'}"


def _at(p: Array, digits: int = 1) -> str:
    return "[" + ", ".join(f"{round(float(x), digits) + 0.0:.{digits}f}" for x in p) + "]"


def _told(r: Measured, value: float) -> str:
    return f"{fixed(value)} mm" if r.unit == "mm" else f"{fixed(value)}°"


def _listed(words: tuple[str, ...] | list[str]) -> str:
    return " and ".join(filter(None, (", ".join(words[:-1]), words[-1]))) if words else "nothing"
