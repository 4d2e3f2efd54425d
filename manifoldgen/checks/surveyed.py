"""What the checks of surveyed places share: what a part rests on, whether it can be built on, what to measure next."""

from __future__ import annotations

from manifoldgen.manifold.known import with_turbo
from manifoldgen.manifold.model import Manifold
from manifoldgen.manifold.survey.result import Next, SurveyedPoint, SurveyedPose

Place = SurveyedPose | SurveyedPoint


def most(m: Manifold) -> tuple[float, float]:
    """The largest expected error (95 %) of a place that something may be built on, mm and degrees."""
    rows = m.tables.defaults("survey")
    return rows["most_mm"], rows["most_deg"]


def beyond(m: Manifold, place: Place) -> bool:
    """Whether a place is known too badly for anything to be built on it."""
    most_mm, most_deg = most(m)
    return place.expected_error_mm > most_mm or degrees(place) > most_deg


def degrees(place: Place) -> float:
    """Expected error of a place's facing, degrees; 0 for a point, which has none."""
    return place.expected_error_deg if isinstance(place, SurveyedPose) else 0.0


def measure_next(m: Manifold, parts: tuple[str, ...], margin: float | None = None) -> str:
    """What to measure next for the part of these that is known worst, and what that makes of it.

    margin : mm of its expected error that are harmless; where the readings get there, the sentence says that they settle
    it.
    """
    found = [place for part in parts if (place := rests_on(m, part)) is not None]
    if not found:
        return ""
    name, worst = max(found, key=lambda place: place[1].expected_error_mm)
    return next_words(name, worst.measure_next, margin)


def next_words(name: str, more: tuple[Next, ...], margin: float | None = None) -> str:
    """``Measure next S1 to rail, P4 to rail: then rail is known to ±2.1 mm.``  margin : as for `measure_next`."""
    if not more:
        return "Every reading is taken: measure from further points off the flange's plane."
    enough = next((k for k, n in enumerate(more, 1) if _within(n, margin)), None)
    taken = more[: enough or len(more)]
    labels = ", ".join(n.label for n in taken)
    mm, deg = taken[-1].expected_error_mm, taken[-1].expected_error_deg
    known = f": then {name} is known to ±{mm:.1f} mm" if mm is not None else ""
    known += f" and ±{deg:.1f}°" if deg is not None else ""
    return f"Measure next {labels}{known}{', which settles it' if enough else ''}."


def _within(n: Next, margin: float | None) -> bool:
    return margin is not None and n.expected_error_mm is not None and n.expected_error_mm <= margin


def rests_on(m: Manifold, part: str) -> tuple[str, Place] | None:
    """The surveyed place that a part hangs on, with its name; of several the one known worst."""
    if m.survey is None:
        return None
    names = next((o.surveyed for o in m.obstacles if o.name == part), ())
    points = [(p, m.survey.points[p]) for p in names if p in m.survey.points]
    if points:
        return max(points, key=lambda point: point[1].expected_error_mm)
    return ("the turbo", m.survey.turbo) if m.survey.turbo and part in with_turbo(m) else None
