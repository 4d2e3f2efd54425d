"""One design, many readers: a number that stands in more than one output is the same number in all of them."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

import pytest

import manifoldgen as mg
from manifoldgen.drawing.papers import write_papers
from manifoldgen.reports.page import made
from manifoldgen.shop.plan import ShopPlan
from tests.agreement.facts import Fact, of_csv, of_paper, of_report
from tests.reports.same_numbers import in_report, number_of, on_page
from tests.worked import NAMES, demo, printed, routed

WRITTEN = "snow_groomer_tight"
EXACT = 1e-6  # beside half of the last digit


def outputs(design: mg.Design, folder: Path) -> list[Fact]:
    """Every number of report.json and of a folder of lists and sheets."""
    content = json.loads(json.dumps(mg.report(design)))
    found = [*of_report(content), *of_csv(folder), *of_paper(folder / "build-sheets.pdf")]
    return [*found, *of_paper(folder / "templates.pdf"), *sums(found)]


def sums(facts: Iterable[Fact]) -> Iterable[Fact]:
    """What one list tells a line each and another in one number."""
    minutes: dict[str, float] = defaultdict(float)
    for f in facts:
        if f.place == "work-list.csv" and f.quantity == "minutes":
            step, _, about = f.part.partition("-")
            if step in {"lay", "cut", "true", "bevel", "deburr", "mark", "mill", "flat", "saddle", "clean"}:
                minutes[about] += f.value
            if step == "weld":
                yield replace(f, part=about, quantity="weld minutes")
    yield from (Fact(piece, "piece minutes", m, 0.05, "work-list.csv") for piece, m in minutes.items())


def disagreements(facts: Iterable[Fact]) -> list[str]:
    """Sentences for every number that is two numbers; a roll of 180° reads the same either way round."""
    by_name: dict[tuple[str, str], list[Fact]] = defaultdict(list)
    for f in facts:
        by_name[f.part, f.quantity].append(f)
    wrong = []
    for (part, quantity), found in by_name.items():
        best = min(found, key=lambda f: f.fine)
        for f in found:
            if abs(f.value - best.value) > f.fine + best.fine + EXACT:
                wrong.append(f"{part} {quantity}: {f.value:g} in {f.place}, {best.value:g} in {best.place}")
    return wrong


@pytest.mark.slow
@pytest.mark.parametrize("name", NAMES)
def test_every_number_is_the_same_wherever_it_stands(name) -> None:
    """Demo jobs and starters, paths found where they are open: report, page, lists and papers agree field by field."""
    design = routed(name)
    facts = outputs(design, printed(name))
    several = defaultdict(set)
    for f in facts:
        several[f.quantity].add(f.place.split(",")[0])

    assert disagreements(facts) == []
    assert left_out(facts, {j.id for j in design.manifold.joints}) == []
    assert {q for q, places in several.items() if len(places) > 1} >= {
        "bend", "back", "centre", "throat", "net", "roll", "roll mm", "x", "y", "z", "length", "order", "stage",
        "seam", "saw before", "minutes", "number", "piece minutes", "weld minutes", "swing", "room", "stock number",
    }  # fmt: skip
    content = mg.report(design)
    shown = on_page(made(design, content).text)
    assert len(shown) > 100
    for key, texts in shown.items():
        value = in_report(content, key) * (100 if key.endswith(".reach") else 1)
        fine = 0.006 if key.endswith("_kg") else 0.051
        assert all(abs(number_of(said) - value) <= fine for said in texts), key


LISTED = {  # by quantity: the places that hold a number of every part that has one
    "net": ("report.json", "cut-list.csv", "CUT"),
    "order": ("joints.csv", "WELD", "no."),
    "stage": ("report.json", "joints.csv", "WELD", "no."),
    "weld minutes": ("work-list.csv", "no."),
    "x": ("joints.csv", "FIT, TACK"),
}


def left_out(facts: Iterable[Fact], joints: set[str]) -> list[str]:
    """Sentences for every piece and weld that stands in one place and not in another that lists them all.

    joints : of the manifold; those of the collector itself have no runner's sheet.
    """
    held: dict[tuple[str, str], set[str]] = defaultdict(set)
    for f in facts:
        held[f.quantity, f.place.split(", ", 2)[-1]].add(f.part)
    wrong = []
    for quantity, places in LISTED.items():
        everywhere = {place: held[quantity, place] for place in places}
        whole = set.union(*everywhere.values()) | (joints if quantity in {"order", "weld minutes"} else set())
        for place, there in everywhere.items():
            own = {p for p in whole if place not in {"WELD", "FIT, TACK"} or not p.startswith("JC")}
            wrong += [f"{part}: no {quantity} in {place}" for part in sorted(own - there)]
    return wrong


def spoilt(**tables: object) -> mg.Design:
    """The tight job with tables of its shop plan replaced by wrong ones."""
    design = replace(demo(WRITTEN))
    plan = ShopPlan(design.manifold, design.hands)
    plan.__dict__.update(tables)
    design.__dict__["shop"] = plan
    return design


def test_a_weld_that_is_dropped_is_missed(tmp_path) -> None:
    """A weld plan without one of the joints: the lists either cannot be written or are told to lack it."""
    plan = demo(WRITTEN).shop.welding
    gone = next(w.id for w in plan.welds if w.kind == "butt")
    facts = list(of_report(json.loads(json.dumps(mg.report(demo(WRITTEN))))))
    design = spoilt(welding=replace(plan, welds=tuple(w for w in plan.welds if w.id != gone)))
    try:
        write_papers(tmp_path, design)
    except StopIteration:
        return
    facts += [*of_csv(tmp_path), *of_paper(tmp_path / "build-sheets.pdf")]
    assert any(sentence.startswith(f"{gone}:") for sentence in left_out([*facts, *sums(facts)], {gone}))


def test_a_fault_in_one_reader_is_seen(tmp_path) -> None:
    """A roll turned over, back and throat swapped, on paper but not in the report: each is told with both places."""
    plan = demo(WRITTEN).shop
    content = list(of_report(json.loads(json.dumps(mg.report(demo(WRITTEN))))))
    first = next(m for m in plan.marks if abs(m.roll) > 1)
    bent = next(r for r in plan.cuts if r.angle)
    turned = tuple(replace(m, roll=-m.roll) if m is first else m for m in plan.marks)
    swapped = tuple(replace(r, back=r.throat, throat=r.back) if r is bent else r for r in plan.cuts)
    for number, (table, told) in enumerate(
        (({"marks": turned}, f"{first.joint} roll:"), ({"cuts": swapped}, f"{bent.piece} back:"))
    ):
        folder = tmp_path / str(number)
        folder.mkdir()
        write_papers(folder, spoilt(**table))
        facts = [*content, *of_csv(folder), *of_paper(folder / "build-sheets.pdf")]
        assert any(told in sentence for sentence in disagreements(facts)), told
