"""What is printed first: hours a shop has, groups in order, and the shop's own word on what is made."""

from __future__ import annotations

from dataclasses import replace
from typing import get_args

import numpy as np
import pytest

import manifoldgen as mg
from manifoldgen.cli.show import job_text
from manifoldgen.designs import Design
from manifoldgen.errors import ParameterError
from manifoldgen.geometry.pose import BENCH
from manifoldgen.mesh.triangles import Mesh
from manifoldgen.prints.all import Options, printed_parts
from manifoldgen.prints.part import Kind, PrintedPart
from manifoldgen.prints.worth import in_order, sums, told
from manifoldgen.reports import report
from manifoldgen.reports.page import made as page_of
from manifoldgen.shop.aid_worth import GROUPS, Group, wanted
from tests.jobs import load_four
from tests.worked import JOBS, demo, routed

MOST_HOURS = 40.0  # of the first group: a weekend of the printer (common practice, no source)
QUICK: frozenset[Kind] = frozenset(["gauge", "nest", "window", "drill guide", "dummy"])


def part(name: str, group: Group, hours: float = 1.0) -> PrintedPart:
    """A part that weighs ten times its hours."""
    nothing = Mesh(name, np.zeros((0, 3)), np.zeros((0, 3), dtype=int))
    told = (name, "other", "", nothing, BENCH, "for", "sits")
    return PrintedPart(*told, grams=10 * hours, hours=hours, group=group)


def only(design: Design, word: str) -> Design:
    """The same job in a shop that prints no more than this."""
    m = design.manifold
    return replace(design, manifold=replace(m, workshop=replace(m.workshop, print_only=word)))


@pytest.mark.slow
@pytest.mark.parametrize("name", sorted(p.stem for p in JOBS.glob("*.yaml")))
def test_what_is_first_takes_a_weekend(name: str) -> None:
    """Every demo job: gauge, reach piece, saw guides and nests, no more than 40 hours together."""
    found = printed_parts(only(routed(name), "first")).parts

    assert {p.kind for p in found} <= {"gauge", "reach", "guide", "nest"}
    assert {"gauge", "reach", "guide"} <= {p.kind for p in found}
    hours = sum(p.hours for p in found)
    print(name, len(found), f"{hours:.1f} h")
    assert 1.0 < hours <= MOST_HOURS


@pytest.mark.parametrize(
    ("word", "kinds"),
    [
        ("first", {"gauge", "nest"}),
        ("helps", {"gauge", "nest", "window"}),
        ("all", {"gauge", "nest", "window", "drill guide", "dummy"}),
    ],
)
def test_the_shop_says_how_much_is_made(word: str, kinds: set[str]) -> None:
    """`print: {only: …}`: a group and those before it, in that order; what is left out is not worked out."""
    lines: list[str] = []
    found = printed_parts(only(demo("sand_rail_four"), word), Options(kinds=QUICK), lines.append).parts
    ranks = [list(GROUPS).index(p.group) for p in found]

    assert {p.kind for p in found} == kinds
    assert ranks == sorted(ranks)
    assert any(line.startswith("drill guides") for line in lines) == (word == "all")


def test_the_words_of_the_file() -> None:
    """The job's word reaches the workshop; all is made where nothing is said; other words are told what there is."""
    assert mg.assemble(load_four()).workshop.print_only == "all"
    assert mg.assemble(load_four(print={"only": "first"})).workshop.print_only == "first"
    with pytest.raises(ParameterError, match=r"'must' is not possible: use first, helps or all"):
        load_four(print={"only": "must"})
    assert [wanted(word) for word in ("first", "helps", "all")] == [tuple(GROUPS)[:n] for n in (1, 2, 3)]
    assert tuple(GROUPS) == get_args(Group)


def test_cradles_of_two_bends_help() -> None:
    """Every cradle is in one of the two groups; in the first only where there is a bend on both sides of the joint."""
    m = demo("sand_rail_four").manifold
    pieces = {p.id: p for p in m.pieces}
    sides = {j.id: [pieces[one].path for one in j.between] for j in m.joints if set(j.between) <= set(pieces)}
    cradles = [aid for aid in demo("sand_rail_four").shop.aids if aid.family == "joint cradles"]

    assert {aid.group for aid in cradles} == {"helps", "nice to have"}
    for aid in cradles:
        (joint,) = aid.serves
        assert all(path.bends for path in sides[joint]) == (aid.group == "helps"), joint


@pytest.mark.parametrize("word", ["first", "all"])
def test_no_step_asks_for_what_is_not_printed(word: str) -> None:
    """The work list prints the same parts as `build`; nothing names a cradle or a stand that is not there."""
    shop = only(demo("sand_rail_four"), word).shop
    words = " ".join(step.what for step in shop.steps)

    assert {s.id for s in shop.steps if s.id.startswith("print-")} - {"print-sheets"} == {
        a.step for a in shop.aids
    }
    assert ("cradle-j1-3" in words, "print-bench-stand" in {s.id for s in shop.steps}) == (word == "all",) * 2
    assert "guide-" in words


def test_groups_add_up() -> None:
    """Grams and hours of each group are those of its parts; a group without parts is not there."""
    parts = [part("a", "nice to have", 3.0), part("b", "print first", 1.5), part("c", "nice to have", 2.0)]
    found = {s.group: (s.parts, s.hours, s.grams) for s in sums(parts)}

    assert found == {"print first": (1, 1.5, 15.0), "nice to have": (2, 5.0, 50.0)}
    assert [p.name for p in in_order(parts)] == ["b", "a", "c"]


def test_the_same_hours_in_report_page_and_text(tmp_path) -> None:
    """What a group takes stands in report.json, on the page, and in what build prints, with every part's group."""
    parts = in_order(
        [part("slow", "helps", 30.0), part("soon", "print first", 2.5), part("late", "nice to have")]
    )
    design = demo("snow_groomer_tight")
    content = report(design, prints=told(parts))
    page = page_of(design, content).text
    text = job_text(content, design, (), tmp_path / "job.yaml", next_command="")
    lines = {line.split("  ")[0].strip(): line.split() for line in text.splitlines()}

    assert [(g["group"], g["parts"], g["hours"]) for g in content["prints"]["groups"]] == [
        ("print first", 1, 2.5), ("helps", 1, 30.0), ("nice to have", 1, 1.0)
    ]  # fmt: skip
    assert [p["group"] for p in content["prints"]["parts"]] == ["print first", "helps", "nice to have"]
    assert lines["helps"][1:4] == ["1", "300", "30"]
    assert lines["nice to have"][3:6] == ["1", "10", "1"]
    assert (
        page.index("all: print first")
        < page.index(">soon<")
        < page.index("all: helps")
        < page.index(">slow<")
    )
    assert 'data-key="prints.groups.1.hours"><bdi>30.0</bdi>' in page
    assert "printed parts" not in job_text(report(design), design, (), tmp_path / "job.yaml", next_command="")
