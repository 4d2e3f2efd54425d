"""The work list: every step after what it needs, ids that stay, minutes from rates."""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from itertools import pairwise

import pytest

from manifoldgen.access.hands import hands
from manifoldgen.catalogue import STANDARD
from manifoldgen.geometry.path import Bend, Path, Straight
from manifoldgen.manifold.assemble import assemble
from manifoldgen.manifold.model import Manifold
from manifoldgen.pieces import split
from manifoldgen.pieces.blanks import blank_of
from manifoldgen.shop.plan import ShopPlan
from manifoldgen.shop.weldplan import weld_plan
from manifoldgen.shop.work_step import Step, minutes_by_station, ready
from manifoldgen.shop.worklist import csv_text
from tests import factory
from tests.jobs import load_four


@pytest.fixture(scope="module")
def four() -> Manifold:
    """Four runners, the first one bent twice, a branch off the outlet's bend."""
    m = factory.with_branch(factory.manifold(4))
    first = m.runners[0]
    path = Path(
        first.start,
        (Straight(60.0), Bend(20.0, 63.6), Straight(50.0), Bend(20.0, 63.6, 180.0), Straight(60.0)),
    )
    return split(replace(m, runners=(replace(first, path=path), *m.runners[1:])))


@pytest.fixture(scope="module")
def reached(four):
    """What a torch reaches on it."""
    return hands(four)


@pytest.fixture(scope="module")
def listed(four, reached) -> tuple[Step, ...]:
    """Its steps."""
    return ShopPlan(four, reached).steps


def too_early(listed: tuple[Step, ...]) -> list[tuple[str, str]]:
    """Steps and what they need that stands behind them or nowhere."""
    seen: set[str] = set()
    found = []
    for s in listed:
        found += [(s.id, n) for n in s.needs if n not in seen]
        seen.add(s.id)
    return found


def behind(listed: tuple[Step, ...], step: str) -> set[str]:
    """Everything that a step needs, and what that needs."""
    needs = {s.id: s.needs for s in listed}
    found: set[str] = set()
    waiting = [step]
    while waiting:
        for n in needs[waiting.pop()]:
            if n not in found:
                found.add(n)
                waiting.append(n)
    return found


def test_no_step_stands_before_what_it_needs(listed) -> None:
    """The order can be worked; ids are there once; the judge itself sees a spoilt order."""
    assert too_early(listed) == []
    assert len({s.id for s in listed}) == len(listed)
    assert too_early((listed[-1], *listed[:-1]))


def test_a_weld_needs_both_its_pieces_finished_its_tack_and_its_purge(four, reached, listed) -> None:
    """From the joints alone: marked or milled pieces, ready flanges, tack and purge stand before every weld."""
    plan = weld_plan(four, reached)
    ids = {p.id: p for p in four.pieces}
    purge_of = {j: f"purge-{p.joints[0]}" for p in plan.purges for j in p.joints}
    for joint in four.joints:
        needed = behind(listed, f"weld-{joint.id}")
        assert purge_of[joint.id] in needed
        if joint.kind not in {"inner seam", "star"}:  # held by the outer crotches
            assert f"tack-{joint.id}" in needed
        for name in joint.between:
            if name in ids:
                assert f"cut-{name}" in needed
                assert ids[name].path is None or f"mark-{name}" in needed
                assert not ids[name].inlet or f"mill-{name}" in needed
            else:
                assert f"ready-{name.replace(' ', '-')}" in needed


def test_stages_come_one_after_the_other(four, reached, listed) -> None:
    """On the same pieces no joint of a stage is welded before those of earlier stages are."""
    plan = weld_plan(four, reached)
    for later in plan.welds:
        needed = behind(listed, f"weld-{later.id}")
        for earlier in plan.welds:
            if earlier.stage < later.stage and set(earlier.joins) & set(later.joins) & {
                p.id for p in four.pieces
            }:
                assert f"weld-{earlier.id}" in needed, (earlier.id, later.id)


def test_it_is_tried_on_the_engine_and_marked_before_the_first_weld(four, listed) -> None:
    """Nothing is welded that was not on the engine; every nut is tried while a joint can still be moved."""
    for way in (listed, ShopPlan(four, None).steps):
        fit = next(s for s in way if s.id == "trial-fit")
        assert "every nut" in fit.what
        assert {"set-up-plate", "tack-J1.1", "tack-JC.A", "tack-JT.1"} <= set(fit.needs)
        for joint in four.joints:
            assert {"trial-fit", "mark-joints"} <= behind(way, f"weld-{joint.id}")


def test_runners_are_tacked_from_the_head_flange_up(four, listed) -> None:
    """Every joint of a runner after the one below it, on the plate; the last piece trimmed there before its tack."""
    place = {s.id: n for n, s in enumerate(listed)}
    firsts = [j for j in four.joints if j.kind == "flange" and four.head.name in j.between]
    assert len(firsts) == 4
    for first in firsts:
        own = [j.id for j in four.joints if j.id.startswith(first.id.split(".")[0] + ".")]
        for below, above in pairwise(own):
            assert place[f"tack-{below}"] < place[f"tack-{above}"]
            assert f"tack-{below}" in behind(listed, f"tack-{above}")
        assert "set-up-plate" in behind(listed, f"tack-{own[0]}")


def test_the_last_piece_is_trimmed_on_the_plate_before_any_weld(four, listed) -> None:
    """Against the inlets in their ring, while nothing is welded yet."""
    trims = [s for s in listed if s.id.startswith("trim-")]
    place = {s.id: n for n, s in enumerate(listed)}
    first = min(n for i, n in place.items() if i.startswith("weld-"))
    assert len(trims) == 4
    for s in trims:
        assert {"set-up-plate", "fit-inlets"} <= behind(listed, s.id)
        assert place[s.id] < first
        joint = next(j.id for j in four.joints if j.between[1] == s.about and j.kind in {"butt", "flange"})
        assert s.id in behind(listed, f"tack-{joint}")


def test_it_is_taken_apart_before_what_is_welded_apart(four, reached, listed) -> None:
    """No joint of a stage hangs on anything else: what was tacked to it is cut, and tacked again before its weld."""
    plan = weld_plan(four, reached)
    hanging = {j.id for j in four.joints if f"tack-{j.id}" in behind(listed, "trial-fit")}
    apart = {s.stage: s for s in listed if s.id.startswith("take-apart-")}
    assert apart
    for stage, step in apart.items():
        cut = {j for j in hanging if j in step.what.replace(",", " ").split()}
        assert cut
        assert "mark-joints" in behind(listed, step.id)
        for w in plan.welds:
            needed = behind(listed, f"weld-{w.id}")
            if w.stage == stage:
                assert step.id in needed
                assert w.id not in cut
            elif w.id in cut:
                again = [
                    s for s in listed if s.id in needed and s.id.startswith(("together-", "back-on-plate"))
                ]
                assert any(w.id in s.what.replace(",", " ").split() for s in again)
    for j in four.joints:
        if four.head.name in j.between:
            assert "back-on-plate" in behind(listed, f"weld-{j.id}")


def test_the_flat_cut_is_trued_between_inner_seams_and_lid(listed) -> None:
    """The lid goes on last of the inlets; the inlets stood in a ring before their tacks."""
    assert "fit-inlets" in behind(listed, "tack-JC.A")
    assert {"weld-JC.S", "dress-JC.S"} <= behind(listed, "true-flat-cut")
    assert "true-flat-cut" in behind(listed, "tack-JC.L")
    assert "tack-JC.L" in behind(listed, "tack-JC.C")


def test_nothing_is_sawn_before_the_paper_lay_on_the_head(listed) -> None:
    """A wrong stud or port is found while it still costs paper."""
    for s in listed:
        if s.station == "saw":
            assert {"check-head-flange", "measure-stock"} <= behind(listed, s.id)
    assert "check-head-flange" in behind(listed, "cut-head-flange")
    assert listed[-1].id == "first-run"
    assert {"leak-test", "trial-fit", "clean-up", *(f"weld-{j}" for j in ("J1.1", "JC.C"))} <= behind(
        listed, "first-run"
    )


def test_the_ridge_is_dressed_before_the_lid_shuts_it(listed) -> None:
    """Inner seams are dressed from the merge end, the saddle's root from the open ends of its parent."""
    assert "dress-JC.S" in behind(listed, "tack-JC.L")
    assert "dress-JW.1" in behind(listed, "clean-up") | {"dress-JW.1"}
    hole = behind(listed, "tack-JW.1")
    assert {"hole-JW.1", "saddle-W-P1"} <= hole


def test_minutes_come_from_the_rates(four, reached, listed) -> None:
    """An own rate changes its steps by exactly its difference and no others; totals by station add up."""
    own = replace(four, workshop=replace(four.workshop, rates={"saw_straight": 10.0}))
    changed = {s.id: s.minutes for s in ShopPlan(own, reached).steps}
    straights = [s.id for s in listed if s.station == "saw" and "cut-" in s.id and changed[s.id] != s.minutes]

    assert "cut-R1-P1" in straights
    assert all(changed[i] == 10.0 for i in straights)
    assert {s.id for s in listed if changed[s.id] != s.minutes} == set(straights)
    totals = minutes_by_station(listed)
    assert sum(totals.values()) == pytest.approx(sum(s.minutes for s in listed))
    assert minutes_by_station(listed, {s.id for s in listed}) == {}


def test_a_thick_wall_is_bevelled(four, reached, listed) -> None:
    """3 mm and over is edge prepared (the catalogue's fabrication specification); 2 mm is not."""
    assert not any(s.id.startswith("bevel-") for s in listed)
    thick = tuple(replace(p, section=replace(p.section, wall=3.2)) for p in four.pieces)
    heavy = replace(four, pieces=thick, cutting=replace(four.cutting, taken=()))
    assert any(s.id.startswith("bevel-R1-P1") for s in ShopPlan(heavy, reached).steps)


def test_ids_stay_when_another_runner_changes(four, listed) -> None:
    """A longer runner 2 changes none of the ids, and only numbers of its own pieces."""
    second = four.runners[1]
    assert second.path is not None
    longer = Path(second.start, (Straight(second.path.length + 5.0),))
    other = ShopPlan(
        split(replace(four, runners=(four.runners[0], replace(second, path=longer), *four.runners[2:])))
    ).steps
    before, after = {s.id: s.size for s in listed}, {s.id: s.size for s in other}

    staged = ("purge-", "take-apart-", "together-")
    assert {i for i in before if not i.startswith(staged)} == set(after)
    assert {i for i in after if before[i] != after[i]} == {"cut-R2-P1"}


def test_without_reach_all_is_one_stage(four) -> None:
    """No stage, no purge, still an order that can be worked."""
    plain = ShopPlan(four, None).steps

    assert too_early(plain) == []
    assert not any(s.id.startswith("purge-") for s in plain)
    assert {s.stage for s in plain} == {0}


def test_ready_steps(listed) -> None:
    """At first only the papers; then what hangs on them."""
    assert [s.id for s in ready(listed, ())] == ["print-sheets"]
    assert all(s.needs == ("print-sheets",) for s in ready(listed, {"print-sheets"}))


def test_a_shop_without_a_printer_says_so_in_its_file() -> None:
    """`print: {printer: false}`: no aids, and no tube held back for the collar of a nest that is not there."""
    plain, own = (assemble(load_four(**more)) for more in ({}, {"print__printer": False}))

    assert (plain.workshop.printer, own.workshop.printer) == (True, False)
    assert ShopPlan(own).aids == ()
    assert [blank_of(m, m.collectors[0]).collar for m in (plain, own)] == [
        float(STANDARD.row("shop", "mill", "collar")["value"]),
        0.0,
    ]


def test_csv_is_one_line_a_step(listed) -> None:
    """Read back by the library's own reader: ids in order, what is done marked, commas in words survive."""
    rows = list(csv.DictReader(io.StringIO(csv_text(listed, {"print-sheets"}))))

    assert [r["id"] for r in rows] == [s.id for s in listed]
    assert [r["what"] for r in rows] == [s.what for s in listed]
    assert [r["id"] for r in rows if r["done"]] == ["print-sheets"]
    assert float(rows[0]["minutes"]) == 10.0


def test_a_bundle_stands_in_its_plate_once_and_its_cone_comes_after() -> None:
    """One trial of all inlets in the plate, not one a runner; the cone is tacked after the last inlet is."""
    bundle = split(factory.manifold(3, kind="bundle", merge_depth=0.0, join_depth=0.0))
    assert [c.kind for c in bundle.collectors] == ["bundle"]
    listed = ShopPlan(bundle, None).steps
    fits = [s for s in listed if s.id.startswith("fit-inlets")]
    plates = [j.id for j in bundle.joints if j.kind == "plate"]

    assert too_early(listed) == []
    assert [s.id for s in fits] == ["fit-inlets"]
    assert all(f"R{n}-P" in fits[0].what for n in (1, 2, 3))
    assert {f"tack-{j}" for j in plates} <= behind(listed, "tack-JC.C")
