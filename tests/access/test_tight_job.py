"""The shipped job with a stud out of reach: before the move it asks for, and after."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

import manifoldgen as mg
from manifoldgen.access.hands import hands
from manifoldgen.geometry.shapes import Box
from manifoldgen.geometry.vectors import array, vec
from manifoldgen.manifold.model import Manifold

JOB = Path(__file__).parents[2] / "cq_scripts" / "jobs" / "snow_groomer_tight.yaml"


@pytest.fixture(scope="module")
def tight() -> Manifold:
    """The job with its pieces."""
    return mg.design(JOB, search=False).manifold


def moved(m: Manifold, name: str, way: tuple[float, float, float], share: float) -> Manifold:
    """The same with one box moved by a share of `way`."""
    made = []
    for obstacle in m.obstacles:
        if obstacle.name == name:
            assert isinstance(obstacle.shape, Box)
            at = vec(array(obstacle.shape.frame.at) + share * array(way))
            box = replace(obstacle.shape, frame=replace(obstacle.shape.frame, at=at))
            obstacle = replace(obstacle, shape=box)  # noqa: PLW2901
        made.append(obstacle)
    return replace(m, obstacles=tuple(made))


def test_one_stud_is_out_of_reach_and_some_welds_come_apart(tight: Manifold) -> None:
    """S1 alone is an error; the housing is named; welds to be made apart are warnings."""
    found = mg.check(tight)
    errors = [f for f in found if f.severity == "error"]

    assert [f.name for f in errors] == ["stud-out-of-reach"]
    assert errors[0].parts[0] == "S1"
    assert "filter housing" in errors[0].message
    assert "weld-apart" in {f.name for f in found}


def test_the_move_it_asks_for_frees_the_stud_and_no_less_does(tight: Manifold) -> None:
    """Moved along the vector told, the stud takes a ratchet; moved by nine tenths of it, it does not."""
    measured = hands(tight)
    assert measured is not None
    stud = next(s for s in measured.studs if s.id == "S1")
    assert stud.move is not None
    after = moved(tight, "filter housing", stud.move, 1.02)

    assert [f for f in mg.check(after) if f.severity == "error"] == []
    freed = hands(after)
    assert freed is not None
    assert next(s for s in freed.studs if s.id == "S1").ratchet
    short = [
        f.name for f in mg.check(moved(tight, "filter housing", stud.move, 0.9)) if f.severity == "error"
    ]
    assert short == ["stud-out-of-reach"]
