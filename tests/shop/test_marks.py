"""Marks on the pieces: roll in degrees and mm, where it is counted from, corner points, what errors cost."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from manifoldgen.geometry.path import Bend, Path, Straight
from manifoldgen.geometry.pose import Pose
from manifoldgen.manifold.model import Manifold, Run, Section, StockItem
from manifoldgen.pieces import split
from manifoldgen.shop.bends import bend_table, corners
from manifoldgen.shop.cuts import cut_list
from manifoldgen.shop.plan import ShopPlan
from manifoldgen.shop.reference import reference_line
from tests import factory
from tests.shop.rebuild import first_mark, put_together, random_runners

SEED = 43
OD, WALL = 48.3, 2.77
STOCK = (
    StockItem("el90", "elbow", "runner", OD, WALL, 57.15, 90.0, price=1.0),
    StockItem("bar", "straight", "runner", OD, WALL, length=2000.0, price=0.5),
)


def run_of(*elements: Straight | Bend) -> Run:
    """A runner out of a port that looks along z."""
    start = Pose.heading((0.0, 0.0, 0.0), (0.0, 0.0, 1.0))
    return Run("runner 1", "runner", Section(OD, WALL, "304"), start, Path(start, elements), 1)


def job(*elements: Straight | Bend) -> Manifold:
    """That runner alone, split."""
    return split(replace(factory.alone(factory.manifold(), run_of(*elements)), stock=STOCK))


@pytest.mark.parametrize(
    ("roll", "mm"), [(1.0, 0.4215), (-35.0, -14.75), (120.0, 50.58), (180.0, 75.87), (-180.0, 75.87)]
)
def test_roll_round_the_outside(roll: float, mm: float) -> None:
    """OD 48.3: 0.4215 mm a degree, from the back line before to the next (closed form roll / 360 x π OD)."""
    m = job(Straight(40.0), Bend(30.0, 57.15), Straight(30.0), Bend(40.0, 57.15, roll), Straight(30.0))
    second = ShopPlan(m).marks[1]

    assert second.roll == (180.0 if roll == -180.0 else roll)
    assert second.roll_mm == pytest.approx(mm, abs=0.006 if abs(mm) > 1 else 5e-5)


def test_the_first_mark_counts_from_a_line_that_is_seen() -> None:
    """A bend that turns towards TOP has its back line half a turn from the line facing TOP; each later one from the one before."""
    m = job(Straight(40.0), Bend(30.0, 57.15), Straight(30.0), Bend(40.0, 57.15, 25.0), Straight(30.0))
    first, second = ShopPlan(m).marks[:2]

    assert (first.piece, first.start, first.joint, first.roll) == (
        "R1-P2",
        "R1-P1's line facing TOP (+y)",
        "J1.2",
        180.0,
    )
    assert (second.piece, second.start, second.roll) == ("R1-P4", "R1-P2's back line", 25.0)
    assert (
        second.said == "back line 10.5 mm (25.0°) clockwise of R1-P2's back line, looking downstream"
    )  # 25/360 π 48.3
    end = m.runners[0].path.segments[1].end
    assert end.direction[1] > 0.4  # it does turn towards +y


def test_looking_downstream_plus_is_clockwise() -> None:
    """From the +y mark (12 o'clock, +x then at 9) a roll of +90 puts the back line at 3 o'clock, -x: the tube goes to +x."""
    m = job(Straight(40.0), Bend(30.0, 57.15, -90.0), Straight(30.0))

    assert ShopPlan(m).marks[0].roll == pytest.approx(90.0)
    assert m.runners[0].path.end.direction[0] > 0.4


@pytest.mark.parametrize(
    ("travel", "up", "words"),
    [
        ((0.0, 0.0, 1.0), (0.0, 1.0, 0.0), "line facing TOP (+y)"),
        ((0.0, 0.0, 1.0), (0.0, -1.0, 0.0), "line facing TOP (-y)"),
        ((0.0, 0.0, 1.0), (1.0, 0.0, 0.0), "line facing across the flange (+y)"),
        ((0.0, 0.8, 0.6), (0.0, 1.0, 0.0), "line facing port 2 (+x)"),
        ((0.8, 0.6, 0.0), (0.0, 1.0, 0.0), "line facing up, off the bench (+z)"),
        ((0.6, 0.5, 0.62), (0.0, 1.0, 0.0), "line facing TOP (+y)"),
    ],
)
def test_the_reference_line_is_the_axis_most_square_to_the_tube(travel, up, words) -> None:
    """Never within 45° of the tube, named by what one sees: TOP is where the engine's up points on the flange."""
    m = factory.manifold(3)
    along = np.array(travel) / np.linalg.norm(travel)
    start = Pose.heading((0.0, 0.0, 12.0), along)
    run = replace(m.runners[0], start=start, path=Path(start, (Straight(30.0),)))
    ports = tuple(replace(p, at=(96.0 * k, 0.0, 0.0)) for k, p in enumerate(m.ports))
    m = replace(m, ports=ports, engine=replace(m.engine, up=up))
    line = reference_line(m, run)
    axis = np.eye(3)["xyz".index(line.words[-2])]

    assert line.words == words
    assert abs(float(np.array(line.direction) @ along)) < 1e-12
    assert abs(float(axis @ along)) <= 1 / math.sqrt(3)
    assert float(np.array(line.direction) @ axis) * (1 if line.words[-3] == "+" else -1) > 0.7


def test_the_parts_of_a_big_bend_have_their_backs_in_line() -> None:
    """A bend of 130° out of two elbows: the second part's back line goes on where the first's ends, roll 0."""
    m = job(Straight(40.0), Bend(130.0, 57.15, 20.0), Straight(30.0))
    found = [x for x in ShopPlan(m).marks if x.piece.startswith("R1")]

    assert len(found) == 2
    assert found[1].roll == 0.0


def test_a_bend_table_becomes_corner_points() -> None:
    """A corner stands CLR · tan(angle / 2) past the straight before it: up, over a right angle, then aside by 50°."""
    run = run_of(Straight(72.0), Bend(90.0, 48.3), Straight(36.0), Bend(50.0, 57.15, 90.0), Straight(64.0))
    take, lean = 57.15 * math.tan(math.radians(25)), math.radians(50)
    rise, over, last = 72 + 48.3, 48.3 + 36 + take, take + 64
    # the start travels along z and turns towards y; rolled a quarter right-handed about y it then turns towards x
    hand = [(0, 0, 0), (0, 0, rise), (0, over, rise)]
    hand.append((-last * math.sin(lean), over + last * math.cos(lean), rise))

    assert np.allclose(corners(run), hand, atol=1e-9)
    table = bend_table(factory.alone(factory.manifold(), run), run)
    assert table.line == "line facing TOP (+y)"
    assert [(r.length, r.roll, r.angle, r.clr) for r in table.rows] == [
        (72.0, 180.0, 90.0, 48.3),  # it turns towards TOP, its back faces away
        (36.0, 90.0, 50.0, 57.15),
        (64.0, 0.0, 0.0, 0.0),
    ]


def test_a_half_turn_has_two_corners() -> None:
    """180° on CLR 50 has no one corner: two of 90°, 100 mm apart, and both tangents 50 mm long."""
    points = np.array(corners(run_of(Straight(80.0), Bend(180.0, 50.0), Straight(60.0))))

    assert np.allclose(points, [(0, 0, 0), (0, 0, 130), (0, 100, 130), (0, 100, 20)], atol=1e-9)


def test_one_millimetre_of_roll_at_the_end() -> None:
    """60° on CLR 57.15 and 200 mm behind it: 1 mm on OD 48.3 is 2.37°, 8.35 mm at the end (closed form).

    The end lies 57.15 (1 - cos 60) + 200 sin 60 = 201.8 mm off the line it is rolled about, √(57.15² + 200²) mm off
    the bend's centre, about which a bend cut 1° too long swings it.
    """
    m = job(Straight(40.0), Bend(60.0, 57.15), Straight(200.0))
    (felt,) = [s for s in ShopPlan(m).sensitivity if s.piece == "R1-P2"]
    off = 57.15 * 0.5 + 200 * math.sin(math.radians(60))

    assert felt.roll_mm == pytest.approx(off / 24.15)
    assert felt.roll_mm == pytest.approx(8.35, abs=0.01)
    assert felt.roll_deg == pytest.approx(off * math.pi / 180)
    assert felt.cut_deg == pytest.approx(math.hypot(57.15, 200) * math.pi / 180)


def test_what_errors_cost_is_what_a_wrong_runner_shows() -> None:
    """Random runners put together with one roll or one angle 0.001° wrong end that far off, scaled to 1°."""
    print(f"seed {SEED}")
    m = split(random_runners(np.random.default_rng(SEED), 4))
    made, small = ShopPlan(m).marks, 1e-3
    for felt in ShopPlan(m).sensitivity:
        row = next(r for r in cut_list(m) if r.piece == felt.piece)
        run = next(r for r in m.runs if r.name == row.part)
        if run.kind != "runner":
            continue
        rows = [r for r in cut_list(m) if r.part == row.part]
        start = np.array(run.start.at), np.array(run.start.direction)
        line = first_mark(start[1], made, {r.piece for r in rows})
        true, _ = put_together(start, line, rows, made)
        rolled = [replace(k, roll=k.roll + small) if k.piece == row.piece else k for k in made]
        off, _ = put_together(start, line, rows, rolled)
        assert np.linalg.norm(off - true) / small == pytest.approx(felt.roll_deg, rel=1e-3, abs=1e-6)
        bent = [replace(r, angle=r.angle + small) if r.piece == row.piece else r for r in rows]
        off, _ = put_together(start, line, bent, made)
        assert np.linalg.norm(off - true) / small == pytest.approx(felt.cut_deg, rel=1e-3, abs=1e-6)
