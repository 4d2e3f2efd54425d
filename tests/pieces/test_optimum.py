"""The optimiser against worked examples and against every way tried one by one."""

from __future__ import annotations

import math
import time
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from manifoldgen.catalogue import STANDARD
from manifoldgen.geometry.path import Bend, Path, Straight
from manifoldgen.geometry.pose import Pose
from manifoldgen.manifold.allowances import Allowances
from manifoldgen.manifold.model import Manifold, Run, Section, StockItem
from manifoldgen.pieces import split
from tests import factory
from tests.pieces import brute

OD, WALL, CLR = 48.3, 2.77, 57.15
NET = STANDARD.with_overrides({"shop": {"cutting": {"shrink": {"mm": 0.0}, "trim": {"value": 0.0}}}})
EL90 = brute.Elbow(90.0, CLR, (0.0, 0.0), 1.0)
EL180 = brute.Elbow(180.0, CLR, (0.0, 0.0), 1.9)
LEG90 = brute.Elbow(90.0, CLR, (100.0, 100.0), 1.6)
FOUR = [
    [("S", 60.0), ("B", 90.0), ("B", 45.0), ("S", 30.0)],
    [("S", 40.0), ("B", 60.0), ("S", 25.0), ("B", 26.0)],
    [("B", 50.0), ("S", 80.0), ("B", 36.0)],
    [("S", 35.0), ("B", 90.0), ("S", 70.0)],
]
EIGHT = [
    *FOUR,
    [("S", 50.0), ("B", 72.0), ("S", 33.0), ("B", 41.0), ("S", 20.0), ("B", 30.0)],
    [("S", 45.0), ("B", 28.0), ("S", 61.0), ("B", 84.0), ("S", 15.0)],
    [("B", 66.0), ("S", 44.0), ("B", 52.0), ("S", 10.0), ("B", 22.0)],
    [("S", 70.0), ("B", 33.0), ("B", 77.0), ("S", 40.0)],
]


def job(runners, elbows, bar=(2000.0, 0.01)) -> Manifold:
    """Runners alone, without allowances for shrink and trim, and this stock."""
    runs = []
    for n, runner in enumerate(runners, start=1):
        start = Pose.heading((500.0 * n, 0.0, 12.0), (0.0, 0.0, 1.0))
        elements = tuple(Straight(v) if kind == "S" else Bend(v, CLR, 40.0) for kind, v in runner)
        runs.append(Run(f"runner {n}", "runner", Section(OD, WALL, "304"), start, Path(start, elements), n))
    stock = [
        StockItem(
            f"e{k}",
            "bend" if max(e.legs) else "elbow",
            "runner",
            OD,
            WALL,
            e.clr,
            e.angle,
            e.legs,
            price=e.price,
        )
        for k, e in enumerate(elbows)
    ]
    stock.append(StockItem("bar", "straight", "runner", OD, WALL, length=bar[0], price=bar[1]))
    return replace(factory.alone(factory.manifold(), *runs), stock=tuple(stock), tables=NET)


def result(m: Manifold) -> tuple[int, float, float]:
    """Pieces of the runners, cost and waste of a split job, read off its plan."""
    pieces = [p for p in m.pieces if p.part.startswith("runner")]
    assert m.cutting.proven
    cost = sum(t.item.price for t in m.cutting.taken if t.item.price is not None)
    waste = 0.0
    for t in m.cutting.taken:
        if t.item.kind != "straight":
            arc = math.radians(t.left) * t.item.clr
            taken = sum(sum(s.legs) for s in t.slices)
            waste += (arc / 2 if t.left >= brute.SHELF else arc) + sum(t.item.legs) - taken
    return len(pieces), round(cost, 6), round(waste, 4)


def test_kerf_takes_its_angle_at_the_throat() -> None:
    """Closed form asin(1.8 / 33) = 3.127° for CLR 57.15, OD 48.3, kerf 1.2 and 0.3 of truing a face."""
    assert Allowances.of(STANDARD).angle_between(57.15, 48.3) == pytest.approx(3.127, abs=5e-4)


@pytest.mark.parametrize(
    ("runners", "elbows", "pieces", "cost"),
    [
        pytest.param(FOUR, [EL90, EL180], 14, 4.81, id="A: 90s and 180s without legs"),
        pytest.param(FOUR, [EL90, EL180, LEG90], 7, 7.40, id="B: with long legs, as many pieces as bends"),
        pytest.param([[("B", 60.0)], [("B", 30.0)]], [EL90], 2, 2.0, id="C: 60 + 30 and a kerf are no 90"),
        pytest.param([[("B", 60.0)], [("B", 26.8)]], [EL90], 2, 1.0, id="C: 60 + 26.8 are"),
        pytest.param(EIGHT, [EL90, EL180, LEG90], 18, 17.61, id="D: eight runners"),
    ],
)
def test_worked_examples(runners, elbows, pieces, cost) -> None:
    """Worked by hand and by another program's formulation: counts and costs of four jobs."""
    m = split(job(runners, elbows))

    assert result(m)[:2] == (pieces, pytest.approx(cost, abs=1e-9))


def random_job(rng: np.random.Generator):
    """Two or three short runners and a stock of one to three elbows; at most five bends."""
    clr = CLR
    elbows = [brute.Elbow(90.0, clr, (0.0, 0.0), float(rng.integers(8, 13)))]
    if rng.random() < 0.6:
        legs = (float(rng.integers(20, 90)), float(rng.integers(20, 90)))
        elbows.append(
            brute.Elbow(float(rng.choice([45.0, 90.0, 120.0])), clr, legs, float(rng.integers(8, 20)))
        )
    if rng.random() < 0.3:
        elbows.append(brute.Elbow(180.0, clr, (0.0, 0.0), float(rng.integers(14, 22))))
    runners, bends = [], 0
    for _ in range(int(rng.integers(1, 4))):
        runner: list[tuple[str, float]] = []
        for _ in range(int(rng.integers(1, 3))):
            if bends < 4:
                if rng.random() < 0.7:
                    runner.append(("S", float(rng.integers(10, 120))))
                runner.append(("B", float(rng.choice([90.0, 45.0, rng.integers(10, 150)]))))
                bends += 1
        if rng.random() < 0.7 or not runner:
            runner.append(("S", float(rng.integers(10, 120))))
        runners.append(runner)
    return runners, elbows, (float(rng.choice([150.0, 250.0, 1000.0])), float(rng.integers(1, 5)))


@pytest.mark.parametrize("seed", range(20))
def test_no_other_way_to_cut_is_better(seed) -> None:
    """Random small jobs: pieces, cost and waste equal the best of every way tried one by one."""
    runners, elbows, bar = random_job(np.random.default_rng([5, seed]))
    m = split(job(runners, elbows, bar))

    assert result(m) == pytest.approx(brute.best(runners, elbows, bar, OD), abs=2e-4), (
        seed,
        runners,
        elbows,
        bar,
    )


def over_stock(m: Manifold) -> list[str]:
    """Items of the plan that are cut beyond what they have."""
    wrong = []
    for t in m.cutting.taken:
        if t.item.kind == "straight":
            used = sum(s.legs[0] for s in t.slices) + t.kerf * (len(t.slices) - 1)
            wrong += [t.item.name] if used > t.item.length + 1e-9 else []
            continue
        kerf = math.degrees(math.asin(1.8 / (t.item.clr - t.item.od / 2))) if len(t.slices) > 1 else 0.0
        ends = sorted((s.at, s.at + s.angle) for s in t.slices)
        gaps = [b[0] - a[1] for a, b in pairwise(ends)]
        legs = sorted((max(s.legs) for s in t.slices if max(s.legs)), reverse=True)
        if min(s.legs[0] and s.legs[1] for s in t.slices) > 0:
            legs = sorted(t.slices[0].legs, reverse=True)
        over = ends[0][0] < -1e-9 or ends[-1][1] > t.item.angle + 0.011 or any(g < kerf - 1e-9 for g in gaps)
        over |= any(a > b + 1e-9 for a, b in zip(legs, sorted(t.item.legs, reverse=True), strict=False))
        wrong += [t.item.name] if over or len(legs) > 2 else []
    return wrong


@pytest.mark.parametrize("seed", range(15))
def test_nothing_is_cut_over_stock_and_every_piece_once(seed) -> None:
    """Random jobs with their allowances: kerfs between slices, legs and bars within the item, each piece in one."""
    runners, elbows, bar = random_job(np.random.default_rng([6, seed]))
    m = split(replace(job(runners, elbows, bar), tables=STANDARD))

    assert over_stock(m) == []
    cut = [s.piece for t in m.cutting.taken for s in t.slices]
    assert sorted(cut + list(m.cutting.missing)) == sorted(p.id for p in m.pieces if p.path is not None)
    bends = sum(kind == "B" for runner in runners for kind, _ in runner)
    assert len([p for p in m.pieces if p.path and p.path.bends]) >= bends
    assert all(
        len(p.path.bends) <= 1 for p in m.pieces if p.path
    )  # so there are never fewer pieces than bends


def test_eight_runners_within_a_second() -> None:
    """Case D, and eight runners of only 90s and 180s: each within a second of computing (imports apart), the same twice."""
    split(job(FOUR, [EL90]))
    for elbows in ([EL90, EL180, LEG90], [EL90, EL180]):
        m = job(EIGHT, elbows)
        begun = time.process_time()
        first = split(m)
        assert time.process_time() - begun < 1.0
        assert split(m).cutting == first.cutting


def test_what_lies_on_the_shelf_goes_first_and_runs_out() -> None:
    """One offcut of 50° for nothing: it gives one 45, the other comes from a bought 90."""
    m = job([[("B", 45.0)], [("B", 44.0)]], [EL90])
    shelf = StockItem("shelf", "elbow", "runner", OD, WALL, CLR, 50.0, price=0.0, count=1)
    m = split(replace(m, stock=(*m.stock, shelf)))

    assert sorted(t.item.name for t in m.cutting.taken) == ["e0", "shelf"]
    m = split(replace(m, stock=(shelf, m.stock[1])))
    assert len(m.cutting.missing) == 2  # the second bend, and the outlet that has no stock here
    assert {p.stock for p in m.pieces if p.part.startswith("runner")} == {"shelf", None}


def test_a_straight_too_long_for_one_leg_is_two_legs_with_a_weld_between() -> None:
    """160 mm between bends with legs of 100: one weld, in its middle, no bar."""
    m = split(job([[("B", 60.0), ("S", 160.0), ("B", 50.0)]], [LEG90]))
    pieces = [p for p in m.pieces if p.part == "runner 1"]

    assert [p.joints for p in pieces] == [("J1.1", "J1.2a"), ("J1.2a", "J1.4")]
    assert [p.path.length for p in pieces] == pytest.approx(
        [80 + math.radians(60) * CLR, 80 + math.radians(50) * CLR]
    )


@pytest.mark.parametrize("legs", [(95.0, 85.0), (30.0, 30.0)], ids=["two legs", "legs and bar"])
def test_a_weld_to_avoid_moves_where_another_way_has_none_there(legs) -> None:
    """No weld within 5 mm of the avoided one; without another way it stays where it was."""
    bend = brute.Elbow(90.0, CLR, legs, 1.6)
    m = job([[("B", 60.0), ("S", 160.0), ("B", 50.0)]], [bend])
    before = split(m)
    bad = before.joints[1]
    after = split(m, avoid=[bad])

    assert bad.between[0] == "R1-P1"
    assert min(math.dist(bad.at, j.at) for j in after.joints) >= 5.0
    stuck = split(job([[("B", 60.0), ("B", 50.0)]], [bend]))
    again = split(stuck, avoid=[j for j in stuck.joints if j.id == "J1.2"])
    assert [p.joints for p in again.pieces] == [p.joints for p in stuck.pieces]
