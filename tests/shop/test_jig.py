"""Joints over the bench plate: what tape, height gauge and angle gauge read."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from manifoldgen.geometry.path import Bend, Path, Straight
from manifoldgen.geometry.pose import Pose
from manifoldgen.manifold.model import Joint, Manifold, Owner, Run, Section, StockItem
from manifoldgen.pieces import split
from manifoldgen.shop.jig import joint_rows
from tests import factory
from tests.strategies import random_direction

SEED = 47
OD, WALL = 48.3, 2.77
RUNNER = Owner("runner", "runner 2")
STOCK = (
    StockItem("el90", "elbow", "runner", OD, WALL, 57.15, 90.0),
    StockItem("bar", "straight", "runner", OD, WALL, length=2000.0),
)


def only(joint: Joint) -> Manifold:
    """A manifold of which only this joint matters."""
    return replace(factory.manifold(), joints=(joint,))


def test_a_joint_read_with_the_angle_gauge() -> None:
    """Direction (.6597, .5872, -.4690), height 30.45, OD 48.3: 28.0° down to the face, 41.7° round it.

    Closed form, worked by hand: asin .4690 = 27.97°; √(1 - .4690²) = .8832, so the ring reaches
    30.45 ± 21.33; atan(.5872 / .6597) = 41.67°.
    """
    along = (0.6597, 0.5872, -0.4690)
    (row,) = joint_rows(
        only(Joint("J2.5", "butt", (192.15, -3.03, 30.45), along, OD / 2, ("R2-P4", "R2-P5"), owner=RUNNER))
    )

    assert row.at == (192.15, -3.03, 30.45)
    assert row.to_face == pytest.approx(-28.0, abs=0.05)
    assert row.compass == pytest.approx(41.67, abs=0.01)
    assert (row.highest, row.lowest) == pytest.approx((51.78, 9.12), abs=0.01)
    assert row.between == ("R2-P4", "R2-P5")


def test_a_worked_runner_puts_its_joints_there() -> None:
    """60 mm, a bend of 90° and 40 mm: every joint where turning by hand puts it.

    Along z 60; 90° on CLR 57.15 towards +y: (0, 57.15, 117.15), travel +y; 40 mm on: (0, 97.15, 117.15).
    """
    start = Pose.heading((0.0, 0.0, 0.0), (0.0, 0.0, 1.0))
    run = Run(
        "runner 1",
        "runner",
        Section(OD, WALL, "304"),
        start,
        Path(start, (Straight(60.0), Bend(90.0, 57.15), Straight(40.0))),
        1,
    )
    m = split(replace(factory.alone(factory.manifold(), run), stock=STOCK))
    rows = {r.id: r for r in joint_rows(m)}

    assert rows["J1.1"].at == pytest.approx((0, 0, 0))
    assert rows["J1.1"].to_face == pytest.approx(90.0)
    assert rows["J1.2"].at == pytest.approx((0, 0, 60))
    assert (rows["J1.2"].highest, rows["J1.2"].lowest) == pytest.approx((60.0, 60.0))  # level ring
    assert rows["J1.3"].at == pytest.approx((0, 57.15, 117.15))
    assert (rows["J1.3"].to_face, rows["J1.3"].compass) == pytest.approx((0.0, 90.0), abs=1e-9)
    assert rows["J1.3"].highest == pytest.approx(117.15 + 24.15)  # ring on edge
    assert rows["J1.4"].at == pytest.approx((0, 97.15, 117.15))


def test_the_end_of_a_runner_of_three_bends() -> None:
    """60/90, -35/45, 42 + 120/60, 30 on CLR 57.15, first bend towards +x: worked with another program's turns.

    The end stands at (192.15, -3.03, 30.45) and looks along (.6597, .5872, -.4690): 28.0° to the face.
    """
    bends = [Bend(90.0, 57.15, -90.0), Bend(45.0, 57.15, -35.0), Bend(60.0, 57.15, 120.0)]
    start = Pose.heading((0.0, 0.0, 0.0), (0.0, 0.0, 1.0))
    path = Path(start, (Straight(60.0), *bends[:2], Straight(42.0), bends[2], Straight(30.0)))
    run = Run("runner 1", "runner", Section(OD, WALL, "304"), start, path, 1)
    m = split(replace(factory.alone(factory.manifold(), run), stock=STOCK))
    last = next(r for r in joint_rows(m) if r.id == "J1.7")

    assert last.at == pytest.approx((192.15, -3.03, 30.45), abs=0.006)
    assert last.direction == pytest.approx((0.6597, 0.5872, -0.4690), abs=6e-5)
    assert last.to_face == pytest.approx(-28.0, abs=0.05)


def test_the_rings_top_and_bottom() -> None:
    """Random rings laid out as points: no point higher than `highest`, none lower than `lowest`, both reached."""
    rng = np.random.default_rng(SEED)
    print(f"seed {SEED}")
    turns = np.linspace(0, 2 * math.pi, 7201)
    for _ in range(30):
        along = random_direction(rng)
        at, r = rng.uniform(-200, 200, 3), float(rng.uniform(10, 40))
        (row,) = joint_rows(only(Joint("J1.2", "butt", tuple(at), tuple(along), r, ("a", "b"), owner=RUNNER)))
        u = np.cross(along, random_direction(rng))
        u /= np.linalg.norm(u)
        z = at[2] + r * (np.cos(turns) * u[2] + np.sin(turns) * np.cross(along, u)[2])
        assert (row.highest, row.lowest) == pytest.approx((z.max(), z.min()), abs=1e-4)
        # the gauge's angle and the compass give the direction back
        lean, way = math.radians(row.to_face), math.radians(row.compass)
        back = (math.cos(lean) * math.cos(way), math.cos(lean) * math.sin(way), math.sin(lean))
        assert back == pytest.approx(tuple(along), abs=1e-9)


def test_every_joint_has_its_row() -> None:
    """One row a joint in the order of the joints, ids as everywhere else."""
    m = split(factory.with_branch(factory.manifold(3)))

    assert [r.id for r in joint_rows(m)] == [j.id for j in m.joints]
