"""The shop's own rows are in force while a job is read; what is wrong with them or missing is said at its place."""

from __future__ import annotations

from pathlib import Path

import pytest

import manifoldgen as mg
from manifoldgen.errors import ParameterError
from manifoldgen.parameters import load, load_text
from tests.jobs import FOUR, four, load_four

M9 = "all_metal_lock_nut: {M9: {s: 14, m: 9}}, washer: {M9: {d1: 9.5, d2: 18, h: 2}}, clearance_hole: {M9: {medium: 10}}"
STUD = "thread: M8, length: 38"


def told(shop: str, folder: Path, *changes: tuple[str, str]) -> list[str]:
    """The problems of `FOUR` with these changes beside a shop file, without the folder."""
    text = FOUR
    for old, new in changes:
        assert old in text
        text = text.replace(old, new, 1)
    (folder / "own.yaml").write_text(shop, "utf-8")
    try:
        load_text(f"{text}shop: own.yaml\n", folder / "job.yaml")
    except ParameterError as error:
        return [p.replace(f"{folder}/", "") for p in error.problems]
    return []


def m9(text: str = STUD) -> tuple[str, str]:
    """The head's studs as M9."""
    return text, text.replace("M8", "M9")


def test_a_thread_of_the_shop_file(tmp_path: Path) -> None:
    """A thread that only the shop file has can be used in the job; without the file it is no thread."""
    shop = f"catalogue: {{fasteners: {{{M9}}}}}\n"

    assert told(shop, tmp_path, m9()) == []
    (problem,) = told("stock: []\n", tmp_path, m9())
    assert problem.startswith(
        "job.yaml:21:19: head_flange.studs.thread: 'M9' is no thread of the catalogue: use M3, M4"
    )
    assert problem.endswith("or add its nut, washer and hole to the shop file")


def test_a_shop_file_with_another_mistake_still_has_its_threads(tmp_path: Path) -> None:
    """What the shop file has right is no mistake of the job."""
    assert told(f"limitss: {{gap: 3}}\ncatalogue: {{fasteners: {{{M9}}}}}\n", tmp_path, m9()) == [
        "own.yaml:1:1: limitss: unknown key 'limitss'; did you mean 'limits'?"
    ]


def test_a_missing_nut_is_one_sentence(tmp_path: Path) -> None:
    """No row for the nut that the job asks for: its place in the job, and what to add to the shop file."""
    shop = "catalogue: {fasteners: {washer: {M9: {d1: 9.5, d2: 18, h: 2}}, clearance_hole: {M9: {medium: 10}}}}\n"

    (problem,) = told(shop, tmp_path, m9())

    assert problem == (
        "job.yaml:21:40: head_flange.studs.nut: there is no all-metal-lock nut of M9 in the catalogue: add it to the "
        "shop file, catalogue: {fasteners: {all_metal_lock_nut: {M9: {s: across flats, m: height}}}}, or name another nut"
    )


@pytest.mark.parametrize(
    ("row", "part", "sentence"),
    [
        ("hex_nut: {M9: {s: 14}}", "{s: 14", "catalogue.fasteners.hex_nut.M9: a new row of hex_nut needs m (height)"),
        ("flange_nut: {M9: {s: 14, m: 9}}", "{s: 14", "needs dc (diameter of its flange)"),
        ("clearance_hole: {M9: {}}", "{}", "needs fine (diameter), medium (diameter), coarse (diameter)"),
        ("hex_nut: {M9: {s: big, m: 7}}", "big", "hex_nut.M9.s: 'big' does not fit: use a number of mm, or text such as '9/16 in'"),
        ("hex_nut: {M9: {s: -14, m: 7}}", "-14", "-14 does not fit"),
        ("hex_nut: {M10: {s: 0}}", "0}}", "0 is not possible: use more than 0"),
        ("thread: {M10: {tpi: 0}}", "0}}", "0 is not possible: use more than 0"),
        ("hex_nut: {M10: {s: true}}", "true", "true does not fit: the catalogue has 16 here"),
        ("hexnut: {M9: {s: 14, m: 7}}", "{M9", "there is no table of fasteners 'hexnut'"),
    ],
)  # fmt: skip
def test_a_row_that_does_not_fit(tmp_path: Path, row: str, part: str, sentence: str) -> None:
    """It stands at its place in the shop file, whatever else is wrong."""
    found = told(
        f"catalogue:\n  fasteners:\n    {row}\n", tmp_path, ("wall: 2.0, material", "wal: 2.0, material")
    )
    place = f"own.yaml:3:{5 + row.index(part)}: "

    assert any(p.startswith(place) and sentence in p for p in found), found
    assert any("wal" in p for p in found)


@pytest.mark.parametrize(
    "row",
    ["hex_nut: {M9: {s: 14, m: 7}}", "clearance_hole: {M9: {coarse: 11}}", "hex_nut: {3/8-16: {m: 9}}", "hex_nut: {9/16-12: {s: 13/16 in, m: 12.3}}"],
)  # fmt: skip
def test_a_row_that_fits(tmp_path: Path, row: str) -> None:
    """Just enough columns, one hole alone, a part of a known size, a length in inches."""
    assert told(f"catalogue:\n  fasteners:\n    {row}\n", tmp_path) == []


def test_a_thread_of_no_known_pitch(tmp_path: Path) -> None:
    """A name that says neither diameter nor pitch asks for a row of threads, at the job's thread."""
    rows = M9.replace("M9", "W 3/8")
    (problem,) = told(
        f"catalogue: {{fasteners: {{{rows}}}}}\n", tmp_path, (STUD, "thread: W 3/8, length: 38")
    )

    assert problem.startswith(
        "job.yaml:21:19: head_flange.studs.thread: the diameter and pitch of thread 'W 3/8' are not"
    )
    assert "thread: {W 3/8: {d: diameter, pitch: pitch}}" in problem


def test_a_hexagon_that_no_key_fits(tmp_path: Path) -> None:
    """The largest bit socket of the catalogue is 17 mm: a socket head of 19 needs a key of its own, and takes it."""
    rows = "socket_head: {M24: {dk: 36, k: 24, key: 19}}, washer: {M24: {d1: 25, d2: 44, h: 4}}, clearance_hole: {M24: {medium: 26}}"
    shop = f"catalogue: {{fasteners: {{{rows}}}}}\n"
    change = ("kind: bolt, side: manifold, thread: M10", "kind: socket-head, side: manifold, thread: M24")

    (problem,) = told(shop, tmp_path, change)
    assert problem.startswith(
        "job.yaml:40:19: turbo.flange.bolts.kind: there is no hex key or bit socket of 19 mm"
    )
    assert told(shop + "tools: {hex_key: {19: {long: 199, short: 89}}}\n", tmp_path, change) == []
    assert told(shop.replace("key: 19", "key: 17"), tmp_path, change) == []


@pytest.mark.parametrize("written", ["3/8-16", "3/8-16 UNC", '3/8"-16', "3/8 UNC"])
def test_inch_threads_are_written_out(written: str) -> None:
    """However it is written, the job has the thread's full name."""
    assert load_four(head_flange__studs__thread=written).head_flange.studs.thread == "3/8-16 UNC"


def test_a_wrong_series_names_the_right_ones(tmp_path: Path) -> None:
    """3/8-16 is UNC: the threads of that diameter are named, no others."""
    (problem,) = told("stock: []\n", tmp_path, (STUD, "thread: 3/8-16 UNF, length: 38"))

    assert "use 3/8-16 UNC, 3/8-24 UNF, or add" in problem


def test_tables_are_joined_row_by_row(tmp_path: Path) -> None:
    """`tools` and `catalogue: {tools: …}` of shop file and job add up; the job's value wins."""
    (tmp_path / "own.yaml").write_text("tools: {ratchet: {10: {head_d: 32, head_h: 20}}}\n", "utf-8")
    more = 'shop: own.yaml\ntools: {ratchet: {"10": {head_d: 31}}}\ncatalogue: {tools: {ratchet: {6.3: {head_d: 24}}}}\n'
    tables = load_text(FOUR + more, tmp_path / "job.yaml").tables

    assert (
        tables.row("tools", "ratchet", "10")["head_d"],
        tables.row("tools", "ratchet", "10")["head_h"],
    ) == (31, 20)
    assert tables.row("tools", "ratchet", "6.3")["head_d"] == 24


def test_the_readmes_shop_file(tmp_path: Path) -> None:
    """The rows that the README shows are taken, and count."""
    readme = (Path(__file__).parents[2] / "README.md").read_text("utf-8")
    (tmp_path / "own.yaml").write_text(readme.split("```yaml\n")[1].split("```")[0], "utf-8")
    job = load_text(FOUR.replace(STUD, "thread: M14, length: 48") + "shop: own.yaml\n", tmp_path / "job.yaml")
    tables = job.tables

    assert (tables.nut("all-metal-lock", "M14").across_flats, tables.washer("M14").od) == (21, 28)
    assert (tables.hole("M14", "medium"), tables.hole("M8", "medium")) == (15.5, 9.7)
    assert tables.row("shop", "cutting", "kerf")["value"] == 1.6
    row = tables.across_flats("hand_socket_d1", 14.2875)
    assert row is not None
    assert row["10"] == 20.1


OWN = {
    "limits": {
        "limits": {"gap": {"value": 9}, "ramp": {"value": 41}},
        "print": {"bed_x": {"value": 300}, "fit": {"value": 0.4}},
        "obstacle": {"clearance": {"value": 3}},
        "flange": {"margin": {"value": 14}},
        "survey": {"tape": {"value": 5}, "gauge": {"value": 1.5}},
    }
}


def plain(**changes: object) -> dict[str, object]:
    """`FOUR` that leaves to the catalogue what it can, its paths straight up."""
    paths = {
        n: {"points": [[96 * (n - 1), 0, 12], [96 * (n - 1), 0, 80], [150, 150, 120]], "clr": 63.6}
        for n in range(1, 5)
    }
    raw = four(
        **{
            "limits": {"merge_zone": 85},
            "print": {},
            "head_flange__outline": None,
            "runners__paths": paths,
            **changes,
        }
    )
    for obstacle in raw["obstacles"]:
        obstacle.pop("clearance", None)
    return raw


def test_defaults_are_the_shops() -> None:
    """Defaults of limits, printer, obstacles, margins and survey come from the shop's own rows; written values win."""
    ours, own = mg.assemble(load(plain())), mg.assemble(load(plain(catalogue=OWN)))

    assert (ours.limits.gap, ours.limits.ramp, ours.limits.merge_zone) == (
        12,
        30,
        85,
    )  # common practice, no source
    assert (own.limits.gap, own.limits.ramp, own.limits.merge_zone) == (9, 41, 85)
    assert (own.workshop.bed, own.workshop.fit, own.workshop.wall) == ((300, 220, 250), 0.4, 3.0)
    cleared = {o.name: o.clearance for o in own.obstacles}
    assert (cleared["frame rail"], cleared["wastegate valve"], cleared["turbine housing"]) == (3, 3, 10)
    wide = [m.head.outline.bounds[2] - m.head.outline.bounds[0] for m in (ours, own)]
    assert wide[1] - wide[0] == pytest.approx(2 * 4)  # 14 instead of 10 mm of metal at either end
    assert mg.assemble(load(plain(catalogue=OWN, limits={"gap": 7}))).limits.gap == 7


def test_the_survey_weighs_by_the_shops_tape() -> None:
    """Standard deviations of tape and gauge are the shop's."""
    from manifoldgen.manifold.survey.net import make_net

    net = make_net(load(plain(catalogue=OWN)), turbo_open=False)

    assert {(r.unit, r.sigma) for r in net.readings} == {("mm", 5), ("deg", 1.5)}


def test_rates_of_the_shops_own() -> None:
    """A rate that only the shop's rows have can be set; a name that nobody has is told."""
    rows = {"rates": {"minutes": {"polish": {"value": 12, "per": "job"}}}}

    assert load_four(catalogue=rows, rates={"polish": 15}).rates == {"polish": 15}
    with pytest.raises(ParameterError, match="there is no rate 'polish'"):
        load_four(rates={"polish": 15})


@pytest.mark.parametrize(
    ("od", "wall", "problem"),
    [
        (1.75, 2.0, "tubes.runner.od: a tube of 1.75 mm: did you mean '1.75 in' (44.45 mm)? if it is millimetres, write '1.75 mm'"),
        (42.4, 16, "tubes.runner.wall: a wall of 16 mm: did you mean '16 ga' (1.65 mm)? if it is millimetres, write '16 mm'"),
        (42.4, 0.065, "tubes.runner.wall: a wall of 0.065 mm: did you mean '0.065 in' (1.65 mm)?"),
        (42.4, "15 ga", "tubes.runner.wall: '15 ga' is no gauge of the catalogue: use 20, 18, 16, 14, 13, 12, 11, 10, or mm"),
    ],
)  # fmt: skip
def test_tubes_in_the_wrong_unit(od: object, wall: object, problem: str) -> None:
    """A bare number that reads like inches or a gauge is refused with what was meant."""
    with pytest.raises(ParameterError) as caught:
        load_four(tubes__runner__od=od, tubes__runner__wall=wall)

    assert problem in str(caught.value)


@pytest.mark.parametrize(
    ("od", "wall", "mm"),
    [
        ("1-3/4 in", "16 ga", (44.45, 1.651)),  # Birmingham wire gauge 16: 0.065 in
        ("1.75 in", "16 gauge", (44.45, 1.651)),
        (44.45, "0.065 in", (44.45, 1.651)),
        (60.3, "16 mm", (60.3, 16)),
        ("1.75 mm", "0.3 mm", (1.75, 0.3)),
        (1.8, 0.3, (1.8, 0.3)),  # no size that tubes are sold by
    ],
)
def test_tubes_in_their_unit(od: object, wall: object, mm: tuple[float, float]) -> None:
    """Inches, gauges and millimetres that say so are taken as written."""
    tube = load_four(tubes__runner__od=od, tubes__runner__wall=wall).tubes.runner

    assert (tube.od, tube.wall) == pytest.approx(mm)
