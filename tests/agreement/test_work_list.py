"""A stranger works the list from its first line to its last: in order, nothing used before it is there, nothing left out."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable
from dataclasses import replace
from functools import cache

import pytest

import manifoldgen as mg
from manifoldgen.drawing.papers import write_papers
from manifoldgen.export.prints import plate_list
from manifoldgen.parameters import load_text
from manifoldgen.prints.all import printed_parts
from manifoldgen.shop.plan import ShopPlan
from tests.agreement.bench import Bench, Row, rows, worked
from tests.agreement.paper import sheets
from tests.worked import JOBS, NAMES, demo, printed, routed

QUICK = "snow_groomer_tight"  # every path is written down, three runners
DEMOS = sorted(p.stem for p in JOBS.glob("*.yaml"))


def also_slow(names: list[str]) -> list[object]:
    """All names, those but the quick one marked slow."""
    return [n if n == QUICK else pytest.param(n, marks=pytest.mark.slow) for n in names]


@pytest.mark.parametrize("name", also_slow(NAMES))
def test_the_list_can_be_worked_from_top_to_bottom(name) -> None:
    """Demo jobs and starters: pieces made ready before they are fitted, tried on, marked, each joint welded once, purged."""
    folder = printed(name)
    bench = worked(folder)

    assert bench.wrong == []
    assert bench.tried
    assert bench.marked
    assert sorted(bench.welded) == sorted(bench.joints)
    assert bench.purged is not None  # all of these are stainless


@pytest.mark.parametrize("name", also_slow(NAMES))
def test_the_order_stands_in_the_list(name) -> None:
    """Numbers from 1 on, every id once, every step after all it needs, nothing cut short with dots."""
    listed = rows(printed(name) / "work-list.csv")

    assert [int(r["number"]) for r in listed] == list(range(1, len(listed) + 1))
    assert len({r["id"] for r in listed}) == len(listed)
    assert too_early(listed) == []
    assert too_early([listed[-1], *listed[:-1]])
    assert [r["id"] for r in listed if "…" in r["what"] or "..." in r["what"]] == []
    assert [r["id"] for r in listed if "nothing" in r["what"]] == []


def too_early(listed: list[Row]) -> list[tuple[str, str]]:
    """Steps, and what they need that stands behind them or nowhere."""
    seen: set[str] = set()
    found = []
    for row in listed:
        found += [(row["id"], n) for n in row["needs"].split() if n not in seen]
        seen.add(row["id"])
    return found


@pytest.mark.parametrize("name", also_slow(NAMES))
def test_paper_and_list_tell_the_same_steps_in_the_same_order(name) -> None:
    """The tables of the PDF, read page by page: ascending numbers, the list's own words; pieces in a grid of their own."""
    folder = printed(name)
    listed = {int(r["number"]): r for r in rows(folder / "work-list.csv")}
    order: list[int] = []
    for sheet in sheets(folder / "build-sheets.pdf"):
        if not sheet.title.startswith("Work list"):
            continue
        for table in sheet.tables:
            if table.heads[0] == "piece":
                order += grid_numbers(table.heads, table.rows, listed)
            for row in table.rows if table.heads[1:3] == ("id", "what") else ():
                if len(row) == len(table.heads):
                    told = listed[int(row[0])]
                    assert told["id"] == row[1]
                    assert " ".join(told["what"].split()) == row[2]
                    order.append(int(row[0]))

    assert order == sorted(order)
    assert set(order) == set(listed)


def grid_numbers(
    heads: tuple[str, ...], body: tuple[tuple[str, ...], ...], listed: dict[int, Row]
) -> list[int]:
    """The steps that a grid of pieces stands for; on its first page its head row says which."""
    if body[0][0] != "step":
        return []
    found: list[int] = []
    for head, cell in zip(heads[1:-1], body[0][1:-1], strict=True):
        ends = [int(n) for n in re.findall(r"\d+", cell)]
        span = range(ends[0], ends[-1] + 1)
        operation = {"mark out": "lay"}.get(head, head)
        assert {listed[n]["id"].split("-")[0] for n in span} == {operation}
        found += span
    return found


@cache
def parts_of(name: str) -> tuple[Row, ...]:
    """What printed-parts.csv of a job holds, without its sum."""
    text = plate_list(printed_parts(routed(name)).parts, "")
    return tuple(row for row in csv.DictReader(io.StringIO(text)) if row["part"] != "all")


def names_it(what: str, part: str) -> bool:
    """Whether words name a part, or the set its name begins with (``model``, ``stud gauge``)."""
    plain = what.replace("-", " ").lower()
    words = part.split("-")
    beginnings = [" ".join(words[:n]) for n in range(len(words), 0, -1)]
    sets = {"model", "stand", "dummy", "stud gauge"} | {b for b in beginnings if b.startswith("drill guide ")}
    return any(
        re.search(rf"\b{re.escape(b)}\b", plain) for b in beginnings if b == " ".join(words) or b in sets
    )


def unused(parts: tuple[Row, ...], listed: list[Row]) -> list[str]:
    """Printed parts that no step prints, or that no later step which needs the printing uses."""
    place = {r["id"]: n for n, r in enumerate(listed)}
    wrong = []
    for part in parts:
        own, step = part["part"], part["step"]
        if step not in place or not names_it(listed[place[step]]["what"], own):
            wrong.append(f"{own} is printed in no step")
            continue
        later = [r for r in listed[place[step] :] if step in r["needs"].split()]
        if not any(names_it(r["what"], own) for r in later):
            wrong.append(f"{own} is used in no step")
    return wrong


@pytest.mark.parametrize("name", also_slow(DEMOS))
def test_every_printed_part_is_printed_in_a_step_and_used_in_a_later_one(name) -> None:
    """Each row of printed-parts.csv; and what a step prints by its own name is a part that there is."""
    listed = rows(printed(name) / "work-list.csv")
    parts = parts_of(name)

    assert unused(parts, listed) == []
    assert len(parts) > 30
    made = {p["part"] for p in parts}
    for row in (r for r in listed if r["station"] == "printer"):
        for word in re.findall(
            r"(?<![\w-])(?:guide|cradle|nest|window|tool|torch|reach-piece)-[a-z0-9-]+", row["what"]
        ):
            assert word in made, row["id"]


@pytest.mark.parametrize("name", also_slow(DEMOS))
def test_printed_parts_come_where_they_are_of_use(name) -> None:
    """Gauge and model before any steel is bought or cut, guides before the saw, the nest before the mill, the stand before set-up."""
    listed = rows(printed(name) / "work-list.csv")
    place = {r["id"]: n for n, r in enumerate(listed)}
    steel = min(n for i, n in place.items() if i.startswith(("cut-", "order-")))

    assert place["print-stud-gauge"] < place["gauge-head"] < place["print-test-fit-model"] < steel
    assert place["print-test-fit-model"] < place["try-model"] < steel
    for first, second in (
        ("print-drill-guides", "drill-"), ("print-saw-guides", "cut-R"), ("print-mill-nests", "mill-"),
        ("print-joint-cradles", "tack-"), ("print-wastegate-window", "hole-"), ("print-bench-stand", "set-up-plate"),
    ):  # fmt: skip
        later = [n for i, n in place.items() if i.startswith(second)]
        if first in place:
            assert place[first] < min(later), first
    for row in listed:
        if row["station"] == "saw" and "guide-" in row["what"]:
            assert "print-saw-guides" in row["needs"].split()


@pytest.mark.parametrize("name", also_slow(DEMOS))
def test_every_opening_that_differs_from_its_bore_is_shaped(name) -> None:
    """A step an opening, after it was cut and before its flange is clean; where nothing is ground there is none."""
    listed = rows(printed(name) / "work-list.csv")
    asked = {
        f"shape-{p.name.replace(' ', '-')}" + (f"-{o.id}" if o.id else "")
        for p in routed(name).shop.plates for o in p.passages if o.ground
    }  # fmt: skip
    found = {r["id"]: r for r in listed if r["id"].startswith("shape-")}

    assert set(found) == asked
    for step, row in found.items():
        flange = re.sub(r"-\d+$", "", step.removeprefix("shape-"))
        assert any(step in r["needs"].split() for r in listed if r["id"] == f"ready-{flange}")
        assert "blend" in row["what"] or "grind" in row["what"]


def test_a_shop_without_a_printer_is_asked_for_none(tmp_path) -> None:
    """print: {printer: false}: no step at the printer, none that takes a printed thing, the rest can be worked all the same."""
    design = replace(demo(QUICK))
    m = replace(design.manifold, workshop=replace(design.manifold.workshop, printer=False))
    design.__dict__["manifold"] = m
    design.__dict__["shop"] = ShopPlan(m, design.hands)
    write_papers(tmp_path, design)
    listed = rows(tmp_path / "work-list.csv")

    assert worked(tmp_path).wrong == []
    assert too_early(listed) == []
    assert [r["id"] for r in listed if r["station"] == "printer"] == []
    assert [r["id"] for r in listed if re.search(r"printed|guide-|cradle|nest-|window-", r["what"])] == []
    assert printed_parts(design).parts == ()


def test_what_no_torch_reaches_in_place_is_strapped_for_the_trial(tmp_path) -> None:
    """A butt joint, an outer valley and the transition plate out of reach: each held as the trial fit says, tacked later."""
    design = replace(demo(QUICK))
    hands = design.hands
    assert hands is not None
    assert hands.welding is not None
    hidden = {"J2.3", "JC.A", "JC.L"}
    welds = tuple(replace(w, tack=w.tack and w.id not in hidden) for w in hands.welding.welds)
    plan = ShopPlan(design.manifold, replace(hands, welding=replace(hands.welding, welds=welds)))
    design.__dict__["shop"] = plan
    write_papers(tmp_path, design)
    listed = rows(tmp_path / "work-list.csv")

    assert worked(tmp_path).wrong == []
    assert too_early(listed) == []
    assert "JC.C held by small tacks; J2.3, JC.A, JC.L held by straps" in by_id(listed, "trial-fit")["what"]
    assert "straps off J2.3, JC.A, JC.L" in by_id(listed, "free-joints")["what"]


@pytest.mark.slow
def test_a_branch_off_the_cone_has_its_hole_after_the_cone_is_there(tmp_path) -> None:
    """The cone is rolled, welded and clean before the branch's hole is scribed on it."""
    text = (JOBS / "sand_rail_four.yaml").read_text("utf-8")
    for old, new in (
        ("{run: outlet, bend: 1, shift: 0}", "{run: cone, at: 0.5, around: 90}"),
        ("aim: 0 ", "aim: 60 "),
    ):
        assert old in text
        text = text.replace(old, new)
    write_papers(tmp_path, mg.design(load_text(text, JOBS / "cone.yaml")))
    listed = rows(tmp_path / "work-list.csv")

    assert worked(tmp_path).wrong == []
    assert too_early(listed) == []
    assert "on C-P2" in by_id(listed, "hole-JW.1")["what"]
    assert "print-wastegate-window" not in {r["id"] for r in listed}


Edit = Callable[[list[Row]], None]


def gone(step: str) -> Edit:
    """The list without a step."""

    def edit(listed: list[Row]) -> None:
        listed.remove(by_id(listed, step))

    return edit


def moved(step: str, behind: str) -> Edit:
    """A step put behind another."""

    def edit(listed: list[Row]) -> None:
        row = by_id(listed, step)
        listed.remove(row)
        listed.insert(listed.index(by_id(listed, behind)) + 1, row)

    return edit


def said(step: str, old: str, new: str) -> Edit:
    """A step with other words."""

    def edit(listed: list[Row]) -> None:
        row = by_id(listed, step)
        assert old in row["what"]
        row["what"] = row["what"].replace(old, new)

    return edit


def by_id(listed: list[Row], step: str) -> Row:
    """One step."""
    return next(r for r in listed if r["id"] == step)


@pytest.mark.parametrize(
    ("edit", "told"),
    [
        (gone("true-R1-P2"), "R1-P2 is not true"),
        (gone("mark-R2-P1"), "R2-P1 is not marked yet"),
        (gone("clean-R1-P1"), "R1-P1 is fitted and not clean"),
        (gone("mill-R3-P5"), "R3-P5 is not inlet end yet"),
        (moved("deburr-R1-P3", "tack-J1.3"), "R1-P3 is fitted and not deburred"),
        (gone("ready-head-flange"), "head flange is fitted and not clean"),
        (gone("seam-C-P2"), "C-P2 is not seamed yet"),
        (gone("tack-J1.3"), "J1.3 is not held"),
        (gone("hold-JC.L"), "JC.L is not held"),
        (
            said("trial-fit", "JC.L, JC.C held by small tacks", "JC.C held by small tacks"),
            "which is not said",
        ),
        (gone("free-joints"), "JC.L is held already"),
        (moved("tack-JC.L", "take-apart-2"), "is shut in by JC.L"),
        (gone("mark-joints"), "not tried on and marked yet"),
        (gone("weld-J2.3"), "J2.3 is not welded"),
        (said("weld-J2.3", "J2.3", "J2.2"), "welded twice"),
        (gone("purge-J1.5"), "is not purged"),
        (said("weld-J2.3", "weld J2.3", "look at J2.3"), "J2.3 is not welded"),
        (moved("tack-J2.2", "weld-J2.2"), "J2.2 is not held"),
    ],
)
def test_a_spoilt_list_is_seen(tmp_path, edit, told) -> None:
    """One line taken out, moved or changed: the one who works it meets what is then missing."""
    folder = printed(QUICK)
    listed = rows(folder / "work-list.csv")
    before = len(listed)
    edit(listed)
    for name in ("joints.csv", "cut-list.csv"):
        (tmp_path / name).write_bytes((folder / name).read_bytes())
    with (tmp_path / "work-list.csv").open("w", encoding="utf-8", newline="") as file:
        write = csv.DictWriter(file, listed[0])
        write.writeheader()
        write.writerows(listed)

    assert before - len(listed) <= 1
    assert any(told in sentence for sentence in worked(tmp_path).wrong), worked(tmp_path).wrong


def test_a_part_that_no_step_uses_is_seen() -> None:
    """A cradle whose joint is tacked without it, a gauge that is printed and never laid on."""
    listed = rows(printed(QUICK) / "work-list.csv")
    parts = parts_of(QUICK)
    said("tack-J1.2", "cradle-j1-2", "a vice")(listed)
    gone("gauge-head")(listed)

    assert {w.split(" is ")[0] for w in unused(parts, listed)} == {
        "cradle-j1-2",
        "stud-gauge-1",
        "stud-gauge-2",
    }


def test_a_purge_with_one_opening_has_its_vent(tmp_path) -> None:
    """A volume with a second opening vents there; one without is told to be drilled, never "vent at nothing"."""
    design = replace(demo(QUICK))
    plan = ShopPlan(design.manifold, design.hands)
    first = plan.welding.purges[0]
    closed = replace(plan.welding, purges=(replace(first, vent=None), *plan.welding.purges[1:]))
    plan.__dict__["welding"] = closed
    design.__dict__["shop"] = plan
    write_papers(tmp_path, design)
    row = by_id(rows(tmp_path / "work-list.csv"), f"purge-{first.joints[0]}")

    assert "no second opening: drill a small vent, or leave the tape open beside the hose" in row["what"]
    assert worked(tmp_path).wrong == []
    words = " ".join(sheet.words for sheet in sheets(tmp_path / "build-sheets.pdf"))
    assert "vent at nothing" not in words
    assert "argon in at nothing" not in words


def test_a_purge_whose_vent_is_capped_is_seen() -> None:
    """The judge of purges itself: in and out the same, a capped vent, no way out at all."""
    bench = Bench({}, set())
    for what in (
        "purge for J1: cap port 2; argon in at port 1, vent at port 2; 0.10 l, at least",
        "purge for J1: argon in at port 1, vent at port 1; 0.10 l, at least",
        "purge for J1: argon in at port 1, vent at nothing; 0.10 l, at least",
        "purge for J1: argon in at port 1; 0.10 l, at least",
    ):
        bench.do({"number": "1", "id": "purge-J1", "what": what})

    assert len(bench.wrong) == 4
