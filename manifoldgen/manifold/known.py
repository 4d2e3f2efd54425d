"""How well places are known: what rests on the survey, how far it may be off, and which joints have to take that up.

The bench frame is exact, and so is what is made in it: head flange, runners, collector. What stands on the car where
tape and gauge put it may be elsewhere by its expected error (95 %): a surveyed turbo with its flange and body, and
obstacles on surveyed points. The manifold meets a surveyed turbo in the joint that closes on it: the outlet's last,
where its last piece is a straight that can be trimmed; or else every runner's last, and then collector, outlet and
branch go with the turbo.
"""

from __future__ import annotations

import math

from manifoldgen.geometry.path import Straight
from manifoldgen.geometry.vectors import Vec
from manifoldgen.manifold.model import Manifold, Run
from manifoldgen.manifold.rates import rate
from manifoldgen.manifold.survey.result import SurveyedPose


def turbo(m: Manifold) -> SurveyedPose | None:
    """The turbo's pose where it comes from the survey."""
    return m.survey.turbo if m.survey else None


def last_straight(run: Run) -> float:
    """The straight that a run ends with, mm; 0 where it ends with a bend or has no path."""
    last = run.path.elements[-1] if run.path and run.path.elements else None
    return last.length if isinstance(last, Straight) else 0.0


def closing(m: Manifold) -> frozenset[str]:
    """Names of the runs whose last joint closes on a surveyed turbo; none where its place is typed."""
    if turbo(m) is None:
        return frozenset()
    return frozenset({m.outlet.name} if last_straight(m.outlet) else {r.name for r in m.runners})


def with_turbo(m: Manifold) -> frozenset[str]:
    """Names of the parts that stand where a surveyed turbo really stands."""
    if turbo(m) is None:
        return frozenset()
    moving = {m.turbo.name}
    if m.outlet.name not in closing(m):
        moving |= {m.outlet.name, *map(m.part_name, m.collectors), *(f.name for f in m.flanges[1:])}
        moving |= {b.run.name for b in m.branches if not _on_runner(m, b.run)}
    return frozenset(moving | {o.name for o in m.obstacles if moving & set(o.joined)})


def known_to(m: Manifold, part: str, point: Vec) -> float:
    """Within how many mm a part is, at this point of it, where the manifold has it (95 %); 0 where that is exact."""
    if m.survey is None:
        return 0.0
    shapes = {o.name: o.surveyed for o in m.obstacles}
    found = [m.survey.points[p].expected_error_mm for p in shapes.get(part, ()) if p in m.survey.points]
    pose = turbo(m)
    if not found and pose is not None and part in with_turbo(m):
        return pose.error_at(point)
    return max(found, default=0.0)


def apart(m: Manifold, a: str, b: str, points: tuple[Vec, Vec]) -> float:
    """By how many mm the gap between two parts may be off because of the survey (95 %).

    points : where the gap is, on `a` and on `b`. Errors of two parts are taken as independent of each other.
    """
    if {a, b} <= with_turbo(m) or _closes_there(m, a, b, points[0]) or _closes_there(m, b, a, points[1]):
        return 0.0
    return math.hypot(known_to(m, a, points[0]), known_to(m, b, points[1]))


def end_within(m: Manifold, run: Run) -> tuple[float, float]:
    """How near a finished run can be asked to end to where it should, mm and degrees.

    The shop's rates `end_point` and `end_angle`; no better than the survey where the turbo comes from one.
    """
    mm, deg = end_error(m, run)
    return max(rate(m, "end_point"), mm), max(rate(m, "end_angle"), deg)


def end_error(m: Manifold, run: Run) -> tuple[float, float]:
    """The survey's expected error (95 %) of where a run is to end, mm and degrees; 0 where the turbo's place is typed."""
    pose = turbo(m)
    if pose is None or run.path is None or _on_runner(m, run):
        return 0.0, 0.0
    end = run.path.end
    return pose.error_at(end.at), pose.error_of(end.direction)


def _on_runner(m: Manifold, run: Run) -> bool:
    """Whether a run is a branch that leaves a runner."""
    return any(b.run.name == run.name and b.takeoff in {r.name for r in m.runners} for b in m.branches)


def _closes_there(m: Manifold, name: str, other: str, point: Vec) -> bool:
    """Whether a point lies near the end of a run that closes on the turbo: there the two are fitted to each other."""
    run = next((r for r in m.runs if r.name == name), None)
    if run is None or run.path is None or name not in closing(m) or other not in with_turbo(m):
        return False
    near = m.limits.merge_zone if run.kind == "runner" else run.section.od
    return math.dist(run.path.end.at, point) <= near
