"""Sizes without their unit, sizes of pipe and shapes by other names: refused with what was meant; just sizes are taken."""

from __future__ import annotations

from typing import Any

import pytest

from manifoldgen.errors import ParameterError
from tests.jobs import four, load_four

STOCK = {"name": "el", "kind": "elbow", "tube": "runner", "clr": 63.6, "angle": 90}


def refused(**changes: object) -> str:
    """What the loader says of `FOUR` with these changes: one sentence."""
    with pytest.raises(ParameterError) as caught:
        load_four(**changes)
    (sentence,) = caught.value.problems
    return sentence


def obstacle(**shape: object) -> dict[str, Any]:
    """`FOUR` with one obstacle of this shape."""
    return {"obstacles": [{"name": "thing", **shape}]}


# 1 in = 25.4 mm exactly; what is the least of each thing: common practice, no source
@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"head_flange__ports__pitch": 3.78}, "ports.pitch: a pitch of 3.78 mm: did you mean '3.78 in' (96.01 mm)? if it is millimetres, write '3.78 mm'"),
        ({"head_flange__ports__pitch": -3.78}, "a pitch of -3.78 mm: did you mean '-3.78 in' (-96.01 mm)?"),
        ({"head_flange__ports__shape": {"round": 1.5}}, "shape.round: an opening of 1.5 mm: did you mean '1.5 in' (38.10 mm)?"),
        ({"head_flange__ports__shape": {"oval": [41, 1.4]}}, "an opening of 1.4 mm: did you mean '1.4 in' (35.56 mm)?"),
        ({"head_flange__thickness": 0.5}, "thickness: a flange thickness of 0.5 mm: did you mean '0.5 in' (12.70 mm)?"),
        ({"turbo__flange__thickness": 0.5}, "a flange thickness of 0.5 mm: did you mean '0.5 in' (12.70 mm)?"),
        ({"head_flange__studs__length": 1.5}, "studs.length: a stud length of 1.5 mm: did you mean '1.5 in' (38.10 mm)?"),
        ({"wastegate__seat": 1.5}, "seat: a valve seat of 1.5 mm: did you mean '1.5 in' (38.10 mm)?"),
        ({"wastegate__flange__bolts__circle": 2.5}, "a bolt circle of 2.5 mm: did you mean '2.5 in' (63.50 mm)?"),
        ({"stock": [{**STOCK, "clr": 2.5}]}, "clr: a CLR of 2.5 mm: did you mean '2.5 in' (63.50 mm)?"),
        ({"collector__path": [{"bend": 65, "clr": 3, "toward": "+z"}]}, "a CLR of 3 mm: did you mean '3 in' (76.20 mm)?"),
        ({"tubes__runner__od": "1-1/2"}, "od: '1-1/2' has no unit: did you mean '1-1/2 in' (38.10 mm), or '48.3 mm', the outside of pipe of size 1-1/2?"),
        ({"tubes__runner__od": "NPS 1-1/2"}, "od: 'NPS 1-1/2' is a size of pipe: did you mean '48.3 mm', its outside?"),
        ({"tubes__runner__od": "1-5/8"}, "od: '1-5/8' has no unit: did you mean '1-5/8 in' (41.27 mm)?"),
        ({"stock": [{**STOCK, "clr": "2-1/2"}]}, "clr: '2-1/2' has no unit: did you mean '2-1/2 in' (63.50 mm)?"),
        ({"tubes__runner__wall": "sch10"}, "wall: 'sch10' is a schedule of pipe: did you mean '2.77 mm' (10S of 42.2 mm)?"),
        ({"tubes__outlet__wall": "40S"}, "wall: '40S' is a schedule of pipe: did you mean '3.91 mm' (40S of 60.3 mm)?"),
        ({"tubes__outlet__wall": "schedule 5"}, "did you mean '1.65 mm' (5S of 60.3 mm)?"),
        ({"tubes__outlet__wall": "sch 80"}, "'sch 80' is a schedule of pipe that the catalogue does not have: write the wall in mm"),
        ({"tubes__wastegate__wall": "Sch. 10s"}, "'Sch. 10s' is a schedule of pipe, and 44.5 mm is no size of pipe here: write the wall in mm, or by gauge"),
        ({"stock": [{**STOCK, "wall": "sch10"}]}, "'sch10' is a schedule of pipe, and the tube's od is not known: write the wall in mm"),
        (obstacle(sphere={"at": [0, 0, 0], "radius": 9}), "obstacles.1.sphere: unknown key 'sphere': there are box, cylinder and mesh; a sphere is a cylinder as long as it is wide"),
        (obstacle(capsule={}), "there are box, cylinder and mesh; a capsule is a cylinder from tip to tip"),
        (obstacle(plane={}), "there are box, cylinder and mesh; a plane is a box"),
        (obstacle(stl="bay.stl"), "there are box, cylinder and mesh; give it as mesh: file"),
        (obstacle(radius=3), "there are box, cylinder and mesh; radius stands in cylinder: {from: …, to: …, radius: …}"),
        ({"turbo__body": [{"name": "housing", "ball": {}}]}, "turbo.body.1.ball: unknown key 'ball': there are box, cylinder and mesh"),
        (obstacle(cilinder={}), "unknown key 'cilinder'; did you mean 'cylinder'?"),
        (obstacle(), "an obstacle is one of box: {…}, cylinder: {…} and mesh: file"),
    ],
)  # fmt: skip
def test_what_was_meant(changes: dict[str, Any], sentence: str) -> None:
    """A slip is one sentence at its place that says what was surely meant.

    Walls and outsides of pipe: ASME B36.19M, from the tables of the `fluids` library.
    """
    assert sentence in refused(**changes)


@pytest.mark.parametrize(
    ("changes", "at", "mm"),
    [
        ({"head_flange__ports__pitch": "3.78 in"}, ("head_flange", "ports", "pitch"), 96.012),
        ({"head_flange__ports__pitch": "3.78 mm"}, ("head_flange", "ports", "pitch"), 3.78),
        ({"head_flange__ports__pitch": 20}, ("head_flange", "ports", "pitch"), 20),
        ({"head_flange__thickness": 1.5}, ("head_flange", "thickness"), 1.5),
        ({"head_flange__thickness": "1/2 in"}, ("head_flange", "thickness"), 12.7),
        ({"wastegate__seat": 12}, ("wastegate", "seat"), 12),
        ({"wastegate__seat": "1.5 mm"}, ("wastegate", "seat"), 1.5),
        ({"tubes__runner__wall": 0.3}, ("tubes", "runner", "wall"), 0.3),
    ],
)
def test_what_was_written(changes: dict[str, Any], at: tuple[str, ...], mm: float) -> None:
    """Just inside the least, or with its unit, a size is taken as written."""
    found: Any = load_four(**changes)
    for key in at:
        found = getattr(found, key)

    assert found == pytest.approx(mm)


@pytest.mark.parametrize(
    ("changes", "least"),
    [
        ("head_flange__ports__pitch", 20), ("head_flange__thickness", 1.5), ("wastegate__seat", 12),
        ("head_flange__studs__length", 6), ("wastegate__flange__bolts__circle", 20),
    ],
)  # fmt: skip
def test_just_outside(changes: str, least: float) -> None:
    """A hundredth under the least it is asked about."""
    assert "did you mean" in refused(**{changes: least - 0.01})


def test_four_is_sound() -> None:
    """The job that the changes are made to reads."""
    assert load_four().name == four()["name"]
