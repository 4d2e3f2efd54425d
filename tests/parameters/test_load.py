"""Loading: every problem at its place, files that may be named, and the shop's own file."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from manifoldgen.errors import ParameterError, Where
from manifoldgen.parameters import load, load_text
from tests.jobs import FOUR, four, load_four, problems


def place(text: str, part: str) -> str:
    """``line:column`` of `part` in `text`, counted by hand."""
    before = text[: text.index(part)]
    return f"{before.count(chr(10)) + 1}:{len(before) - before.rfind(chr(10))}"


@pytest.mark.parametrize(
    ("old", "new", "at", "told"),
    [
        ('wall: 2.0, material', 'wall: 2.0, materiel', 'materiel', "tubes.runner.materiel: unknown key 'materiel'; did you mean 'material'?"),
        ("od: 42.4, wall: 2.0", "od: true, wall: 2.0", "true, wall", "tubes.runner.od: true is not a number"),
        ("od: 42.4, wall: 2.0", "od: 42,4, wall: 2.0", "4, wall", "unknown key '4': after a decimal comma? write a point"),
        ("direction: [0, 0, 1]", "direction: [0, 0,1, 1]", "[0, 0,1, 1]", "has 3 numbers, not 4; a decimal point is written '.'"),
        ("clr: 63.6, roll: 90", "clr: '63,6', roll: 90", "'63,6'", "'63,6' has a decimal comma: use a point"),
        ("{bend: 65,", "{bend: .nan,", ".nan", "collector.path.2.bend: nan is not a finite number"),
        ("kind: merge", "kind: merje", "merje", "use merge or bundle; did you mean 'merge'?"),
        ("half_angle: 12", "half_angle: 40", "40\n  gap", "40° is not possible: use 0 to 25°"),
        ("half_angle: 12", "half_angle: 3", "3\n  gap", "3° is not possible for a merge: use 5 to 25°"),
        ("[1, 3, 4, 2]", "[1, 3, 3, 2]", "[1, 3, 3, 2]", "[1, 3, 3, 2] is no firing order"),
        ("direction: [0, 0, 1]", "direction: [0, 1, 0]", "[0, 1, 0]\n  fit", "leads into the engine"),
        ("    4: auto", "    5: auto", "auto\n\nlim", ""),
        ("toward: up}", "toward: up, roll: 3}", "{bend: 60", "toward or roll, not both"),
        ("toward: +z", "roll: 10", "{bend: 65", "takes toward"),
        ("roll: 90}, close]", "roll: 90}, close, {straight: 3}]", "close, {s", "close stands last"),
        ("clock: 0\n  mirror", "clock: auto\n  mirror", "[{straight: 40}", "give collector.clock in degrees"),
        ("to: [330, 400, 40]", "to: post", "post", "'post' is not measured in the survey"),
        ("name: bench-four", "name: Bench", "Bench", "use small letters"),
        ("format: 1", "format: 2", "2\n", "is no format this version reads"),
        ("thread: M8, length: 38,", "thread: M9, length: 38,", "M9", "use M3, M4, M6, M8, M8x1, M10,"),
        ("nut: all-metal-lock", "nut: wing", "wing", "use hex, flange, all-metal-lock"),
        ("centre_to_end: 30.1", "centre_to_end: 20", "20}", "less than the arc alone needs"),
        ("{equal_within: 1 %}", "{equal_within: 1}", "1}\n  paths", "1 is not possible: use 0 to 0.5"),
        ("run: outlet,", "run: runner 9,", "runner 9", "there is no runner 9"),
        ("- {straight: 25}", "- {stright: 25}", "{stright", "did you mean 'straight'?"),
        ("length: auto", "length: autp", "autp", "'autp' is neither auto nor a number"),
    ],
)  # fmt: skip
def test_one_problem(old: str, new: str, at: str, told: str) -> None:
    """One slip gives a problem that stands first, at the place of the slip."""
    assert old in FOUR
    text = FOUR.replace(old, new, 1)
    found = problems(text)

    if told:
        assert len(found) == 1
        assert found[0].startswith(f"job.yaml:{place(text, at)}: ")
        assert told in found[0]
    else:
        assert [p.split(": ", 1)[1] for p in found] == [
            "runners.paths: a path is missing for cylinder 4 (engine.firing_order has 4 cylinders)",
            "runners.paths.5: there is no cylinder 5: engine.firing_order has 4",
        ]


def test_all_problems_at_once() -> None:
    """Several slips are told together, in the order of the file."""
    text = (
        FOUR.replace("wall: 2.0", "wal: 2.0")
        .replace("kind: merge", "kind: merje")
        .replace("seat: 38", "seat: -1")
    )
    found = problems(text)

    assert [p.split(": ")[1] for p in found] == [
        "tubes.runner",
        "tubes.runner.wal",
        "collector.kind",
        "wastegate.seat",
    ]
    lines = [int(p.split(":")[1]) for p in found]
    assert lines == sorted(lines)


def test_where() -> None:
    """A value's place; a default's place is the block's; a mapping has none."""
    job = load_text(FOUR)

    assert job.where("turbo", "flange", "thickness") == Where(
        *map(int, place(FOUR, "12\n    bolts").split(":"))
    )
    assert job.where("limits", "ramp") == job.where("limits")
    assert job.where("runners", "paths", 2, 1, "clr") is not None
    assert load_four().where("turbo") is None


def test_mapping_is_the_same_job() -> None:
    """A mapping and a text of the same form give equal jobs; problems of a mapping name the keys alone."""
    assert load_four().model_dump() == load_text(FOUR).model_dump()
    with pytest.raises(ParameterError) as caught:
        load(four(tubes__runner__wall=30))

    assert str(caught.value) == "tubes.runner.wall: a wall of 30 mm leaves no bore in a tube of 42.4 mm"


@pytest.mark.parametrize("key", ["collector", "wastegate", "head_flange"])
def test_reserved_lists(key: str) -> None:
    """A list with one entry is that entry; two are not possible yet."""
    entry = four()[key]

    assert load_four(**{key: [entry]}).model_dump() == load_four().model_dump()
    with pytest.raises(ParameterError, match="more than one not yet"):
        load_four(**{key: [entry, entry]})


@pytest.mark.parametrize(
    ("kind", "told"),
    [("folder", "is a folder"), ("pipe", "a pipe"), ("missing", "there is no file"), ("device", "a device")],
)
def test_only_ordinary_files(tmp_path: Path, kind: str, told: str) -> None:
    """Folders, pipes, devices and missing files are refused: as the job, and named inside it."""
    odd = tmp_path / "odd.stl"
    if kind == "folder":
        odd.mkdir()
    elif kind == "pipe":
        os.mkfifo(odd)
    elif kind == "device":
        odd = Path(os.devnull)
    with pytest.raises(ParameterError, match=told):
        load(odd)
    text = FOUR.replace("box: {from: [-90, -130, 60], to: [380, -80, 110]}", f"mesh: {odd}")
    job = tmp_path / "job.yaml"
    job.write_text(text, "utf-8")
    with pytest.raises(ParameterError) as caught:
        load(job)

    assert str(caught.value).startswith(f"{job}:{place(text, str(odd))}: obstacles.1.mesh: ")
    assert told in str(caught.value)


SHOP = """\
stock:
  - {name: shelf elbow, kind: elbow, tube: runner, clr: 48, angle: 90}
  - {name: runner tube, kind: straight, tube: runner, length: 6000}
limits: {gap: 9, ramp: 40}
print: {bed: [250, 210, 210], wall: 2.4}
tools: {ratchet: {10: {head_d: 32}}}
rates: {saw_bend: 6}
catalogue: {fasteners: {flange_nut: {M10: {s: 16}}}}
"""


def test_shop_file(tmp_path: Path) -> None:
    """The shop's blocks join the job's, the job wins, and places name the file they are in."""
    (tmp_path / "own.yaml").write_text(SHOP, "utf-8")
    path = tmp_path / "job.yaml"
    path.write_text(FOUR + "shop: own.yaml\n", "utf-8")
    job = load(path)

    names = [item.name for item in job.stock]
    assert names == ["el90", "el45", "leg90", "runner tube", "out90", "outbar", "gatebar", "shelf elbow"]
    assert job.stock[3].length == 1000
    assert (job.limits.gap, job.limits.ramp) == (12, 40)
    assert job.print_.bed == (220, 220, 250)
    assert job.tables.row("tools", "ratchet", 10)["head_d"] == 32
    assert job.tables.nut("flange", "M10").across_flats == 16
    assert job.where("limits", "ramp") == Where(4, 24, str(tmp_path / "own.yaml"))
    assert job.where("stock", 7, "clr") == Where(2, 57, str(tmp_path / "own.yaml"))
    assert job.where("limits", "gap") == Where(*map(int, place(FOUR, "12, merge").split(":")))


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("ramp: 40", "ramp: x", "own.yaml:4:24: limits.ramp: 'x' is not a length"),
        ("rates", "rate", "own.yaml:7:1: rate: unknown key 'rate'; did you mean 'rates'?"),
        (
            "saw_bend",
            "saw_bent",
            "own.yaml:7:9: rates.saw_bent: there is no rate 'saw_bent'; did you mean 'saw_bend'?",
        ),
        ("saw_bend: 6", "saw_bend: -6", "own.yaml:7:19: rates.saw_bend: -6 is not possible"),
        ("ratchet", "ratchett", "own.yaml:6:19: tools.ratchett: there is no table of tools 'ratchett'"),
        ("head_d: 32", "head_d: .nan", "own.yaml:6:32: tools.ratchet.10.head_d: nan does not fit"),
        ("stock:", "stock: [", "own.yaml:2:3: "),
    ],
)
def test_shop_file_problems(tmp_path: Path, old: str, new: str, told: str) -> None:
    """A slip in the shop's file stands at its place in that file."""
    (tmp_path / "own.yaml").write_text(SHOP.replace(old, new), "utf-8")
    with pytest.raises(ParameterError) as caught:
        load_text(FOUR + "shop: own.yaml\n", tmp_path / "job.yaml")

    assert any(f"{tmp_path}/{told}" in problem for problem in caught.value.problems), str(caught.value)


def test_own_thread() -> None:
    """A thread that only the shop's rows have can be used."""
    rows = {"hex_nut": {"M14": {"pitch": 2, "s": 21, "m": 12.8}}, "clearance_hole": {"M14": {"medium": 15.5}}}
    changes = {
        "head_flange__studs__thread": "M14",
        "head_flange__studs__nut": "hex",
        "head_flange__studs__washer": False,
    }
    job = load_four(**changes, catalogue={"fasteners": rows})

    assert job.tables.hole("M14", "medium") == 15.5
    with pytest.raises(ParameterError, match="'M14' is no thread"):
        load_four(**changes)
