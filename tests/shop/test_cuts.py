"""The cut list and the marks: a run put together from them alone is the run."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path as File

import numpy as np
import pytest

from manifoldgen.catalogue import STANDARD
from manifoldgen.geometry.path import Bend, Straight
from manifoldgen.manifold.model import Manifold, StockItem
from manifoldgen.pieces import split
from manifoldgen.shop.cuts import cut_list, shrink_left
from manifoldgen.shop.plan import ShopPlan
from tests import factory
from tests.shop.rebuild import first_mark, put_together, random_runners
from tests.worked import demo

JOBS = sorted((File(__file__).resolve().parents[2] / "cq_scripts" / "jobs").glob("*.yaml"))


def misses(m: Manifold, step: float = 0.0) -> dict[str, tuple[float, float]]:
    """By run: how far the run put together from its rows and marks ends from where it should, mm and radians."""
    rows, found = cut_list(m), ShopPlan(m).marks
    made = {}
    for run in m.runs:
        mine = [r for r in rows if r.part == run.name]
        if run.path is None or not mine:
            continue
        travel = np.array(run.path.start.direction)
        line = first_mark(travel, found, {r.piece for r in mine})
        at, looks = put_together((np.array(run.path.start.at), travel), line, mine, found, step)
        end, way = np.array(run.path.end.at), np.array(run.path.end.direction)
        if run.target is not None:  # the inlet where the collector has it
            end, way = np.array(run.target.at), np.array(run.target.direction)
        leg = sum(p.leg for p in m.pieces if p.part == run.name)
        made[run.name] = (
            float(np.linalg.norm(at - end - leg * way)),
            float(np.linalg.norm(np.cross(looks, way))),
        )
    return made


@pytest.mark.parametrize("job", JOBS, ids=[j.stem for j in JOBS])
def test_every_run_of_every_demo_comes_together_from_its_rows(job) -> None:
    """Net lengths, bends and rolls from the back line alone: every end pose within 1e-6."""
    found = misses(demo(job.stem).manifold)

    assert found
    for name, (mm, rad) in found.items():
        assert mm < 1e-6, name
        assert rad < 1e-8, name


@pytest.mark.parametrize("seed", range(8))
def test_random_runners_come_together_and_rounding_costs_less_than_a_millimetre(seed) -> None:
    """Four random runners a case, cut with legs and bars: exact from the rows, < 1 mm from 0.1 mm and 0.1°.

    What the sheet prints as the error of the rounded numbers is what the rebuilding here finds.
    """
    m = split(random_runners(np.random.default_rng([9, seed]), 4))
    exact, rounded = misses(m), misses(m, 0.1)

    assert len(exact) == 5
    assert max(mm for mm, _ in exact.values()) < 1e-6
    assert max(mm for mm, _ in rounded.values()) < 1.0
    for error in ShopPlan(m).end_errors:
        mm, rad = rounded[error.part]
        assert error.mm == pytest.approx(mm, abs=1e-6)
        assert math.radians(error.deg) == pytest.approx(math.asin(rad), abs=1e-6)


@pytest.mark.parametrize(
    ("angle", "arcs", "chords"),
    [
        (90, (127.71, 89.77, 51.84), (114.98, 46.67)),
        (60, (85.14, 59.85, 34.56), (81.30, 33.00)),
        (45, (63.85, 44.89, 25.92), (62.22, 25.26)),
        (36, (51.08, 35.91, 20.73), (50.25, 20.40)),
        (26, (36.89, 25.93, 14.97), (36.58, 14.85)),
    ],
)
def test_arcs_and_chords_for_tape_and_calipers(angle, arcs, chords) -> None:
    """Closed form θR and 2R sin(θ/2) on back, side and throat, worked by hand for CLR 57.15, OD 48.3."""
    tube = replace(factory.TUBE, od=48.3, wall=2.77)
    run = replace(factory.runner(1, [Bend(angle, 57.15), Straight(40)]), section=tube)
    elbow = StockItem("el", "elbow", "runner", 48.3, 2.77, clr=57.15, angle=90.0)
    row = cut_list(split(replace(factory.alone(factory.manifold(), run), stock=(elbow,))))[0]

    assert (row.back, row.centre, row.throat) == pytest.approx(arcs, abs=6e-3)
    assert (row.back_chord, row.throat_chord) == pytest.approx(chords, abs=6e-3)


def one_runner(*elements, **cutting) -> Manifold:
    """One runner of these elements, split; allowances of the shop's own."""
    tables = STANDARD.with_overrides({"shop": {"cutting": cutting}}) if cutting else STANDARD
    m = factory.alone(factory.manifold(), factory.runner(1, elements))
    return split(replace(m, tables=tables))


def test_net_shrink_trim_and_cut_stand_apart() -> None:
    """Shrink 0.8 a weld and trim 5 of the shop's own: half a weld's shrink each side, all where a bend is beside it."""
    m = one_runner(
        Straight(50), Straight(0), Bend(60, 63.6), Bend(30, 63.6, 90), Straight(40),
        shrink={"mm": 0.8}, trim={"value": 5.0},
    )  # fmt: skip
    first, bend, _, last = (r for r in cut_list(m) if r.part == "runner 1")

    assert (first.net, first.shrink, first.trim, first.cut) == pytest.approx((50.0, 1.6, 0.0, 51.6))
    assert (bend.shrink, bend.cut) == pytest.approx((0.0, bend.net))
    assert (last.net, last.trim) == pytest.approx((40.0, 5.0))
    assert last.cut == pytest.approx(last.net + last.shrink + last.beyond + last.trim)
    assert shrink_left(m)["runner 1"] == pytest.approx(0.8)  # the weld between the two bends


def test_a_tube_on_a_leaning_port_reaches_further_on_one_side() -> None:
    """Closed form r tan(tilt): 21.2 tan 20° = 7.72 mm past the centreline at the flange."""
    tilt = math.radians(20)
    run = factory.runner(1, [Straight(50), Bend(60, 63.6)], direction=(math.sin(tilt), 0.0, math.cos(tilt)))
    row = cut_list(split(factory.alone(factory.manifold(), run)))[0]

    assert row.beyond == pytest.approx(21.2 * math.tan(tilt), abs=1e-6)
    assert row.cut == pytest.approx(row.net + row.shrink + row.beyond)


@pytest.mark.parametrize("job", JOBS[-2:], ids=[j.stem for j in JOBS[-2:]])
def test_net_lengths_make_the_run_and_additions_the_cut(job) -> None:
    """In every row of a job cut = net + shrink + beyond + trim; the net lengths of a run make its whole length."""
    m = demo(job.stem).manifold
    rows = cut_list(m)

    for row in rows:
        assert row.cut == pytest.approx(row.net + row.shrink + row.beyond + row.trim, abs=1e-9)
        assert sum(row.add) == pytest.approx(row.cut - row.net, abs=1e-9)
        assert min(row.shrink, row.beyond, row.trim) >= 0
    for run in m.runs:
        if run.path is not None:
            leg = sum(p.leg for p in m.pieces if p.part == run.name)
            net = sum(r.net for r in rows if r.part == run.name)
            assert net == pytest.approx(run.path.length + leg, abs=1e-6)


def test_saw_and_truing_lie_between_two_pieces_of_one_elbow() -> None:
    """60° and 26° of one 90: 1.2 of saw and twice 0.3 of truing, at the throat asin(1.8 / (63.6 - 21.2)) of its arc."""
    m = one_runner(Straight(50), Bend(60, 63.6), Straight(40), Bend(26, 63.6, 30), Straight(40))
    taken = next(t for t in m.cutting.taken if t.item.name == "el90")

    assert taken.kerf == pytest.approx(1.8)
    assert [s.angle for s in taken.slices] == pytest.approx([60.0, 26.0])
    assert taken.slices[1].at - 60.0 == pytest.approx(math.degrees(math.asin(1.8 / 42.4)))
