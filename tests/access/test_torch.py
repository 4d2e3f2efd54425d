"""The torch: its sizes come from the catalogue, its parts stand where the compiled distances think they do."""

from __future__ import annotations

import math

import manifold3d as md
import numpy as np
import pytest

from manifoldgen.access import _torch_gap
from manifoldgen.access.pack import Packing, bound
from manifoldgen.access.torch import TIERS, TorchPose, arc_length, holds, placed, torches
from manifoldgen.catalogue import STANDARD
from manifoldgen.geometry.pose import Frame
from manifoldgen.geometry.shapes import Box
from tests.access import metal
from tests.strategies import random_direction

TORCHES = torches(STANDARD)
NO_BORES = (np.empty((0, 7)), np.zeros(6), 0.0)


def place(rng) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """A weld's place: point, way along, bisector."""
    b = random_direction(rng)
    tau = np.cross(b, random_direction(rng))
    return rng.uniform(-50, 50, 3), tau / np.linalg.norm(tau), b


def test_a_cups_number_is_its_bore_in_sixteenths() -> None:
    """Trade rule (cup number = bore in 1/16 in): number 8 is 2/16 in wider at the tip than number 6."""
    sets = {"a": {"torch": "small", "cup": "small_gas_lens", "number": "6"}, "b": {"torch": "small", "cup": "small_gas_lens", "number": "8"}}  # fmt: skip
    six, eight = torches(STANDARD.with_overrides({"tig": {"set": sets}}))[:2]

    assert 2 * (eight.cup[0] - six.cup[0]) == pytest.approx(2 * 25.4 / 16, abs=0.05)


def test_tiers_allow_more_and_more() -> None:
    """Each tier keeps the angles and stick-outs of the one before; limits are the catalogue's."""
    for torch in TORCHES:
        hold = holds(STANDARD, torch)
        assert (np.diff(hold.tier) >= 0).all()
        for number, name in enumerate(TIERS):
            row = STANDARD.row("tig", "pose_tier", name)
            axes = hold.axes[hold.tier <= number]
            assert np.degrees(np.arctan(np.abs(axes[:, 0]).max())) == pytest.approx(row["travel"])
            assert np.degrees(np.arctan(np.abs(axes[:, 1]).max())) == pytest.approx(row["work"])
            assert axes[:, 2].max() == pytest.approx(torch.stick_out[number])


def test_a_shops_own_torch_comes_first_and_its_sizes_are_not_assumed() -> None:
    """Measured head, handle and cup: nothing is assumed any more; the shipped ones all say so."""
    own = {
        "torch": {"small": {"head_d": 18}},
        "cups": {"small_gas_lens": {"length": 25}},
        "set": {"mine": {"torch": "small", "cup": "small_gas_lens", "number": "5"}},
    }
    first = torches(STANDARD.with_overrides({"tig": own}))[0]

    assert (first.name, first.assumed) == ("mine", ())
    assert (first.head[0], first.cup[2]) == (9.0, 25.0)
    assert all(t.assumed == ("torch head and handle", "cup") for t in TORCHES)


def test_the_parts_stand_on_the_axis_from_the_stick_out_on() -> None:
    """Closed form at travel 0, work 0, roll 0: heights add up along the bisector, the handle leans 70°."""
    torch, arc = TORCHES[0], 2.0
    at = (np.zeros(3), np.array([1.0, 0, 0]), np.array([0, 0, 1.0]))
    cup, head, cap, handle = placed(torch, at, TorchPose(0, 0, 0, 10), arc)

    assert (cup.start[2], cup.end[2]) == pytest.approx((12, 38))
    assert (head.start[2], head.end[2], cap.end[2]) == pytest.approx((38, 62, 74))
    along = np.subtract(handle.end, handle.start)
    assert handle.start == pytest.approx((0, 0, 50))
    assert np.linalg.norm(along) == pytest.approx(150)
    assert math.degrees(math.acos(along[2] / 150)) == pytest.approx(70)
    leaned = placed(torch, at, TorchPose(30, 0, 0, 10), arc)[0]
    lean = np.subtract(leaned.end, leaned.start)
    assert math.degrees(math.atan2(lean[0], lean[2])) == pytest.approx(30)


def room(at, pose, sizes, bench, rules) -> float:
    """Room of a whole torch in one pose: tangents of travel and work, roll (rad), stick-out."""
    tip, frame = at[0] + arc_length(STANDARD) * at[2], _torch_gap.frame_of(at[1], at[2], pose[0], pose[1])
    heights, radii = _torch_gap.profile_of(sizes, pose[3])
    grip, way = tip + (heights[1] + sizes[4] / 2) * frame[0], _torch_gap.handle_of(frame, sizes, pose[2])
    body = _torch_gap.body_room(tip, frame[0], heights, radii, bench, rules, -math.inf)
    return _torch_gap.handle_room(grip, way, sizes, bench, rules, -math.inf, body)


@pytest.mark.slow
def test_compiled_distances_agree_with_meshes() -> None:
    """Ball and box against every torch in random poses: the kernel's gap is the mesh library's, to 0.1 mm."""
    rng = np.random.default_rng(5)
    arc = arc_length(STANDARD)
    print("seed 5")
    near = 0
    for case in range(40):
        torch = TORCHES[case % len(TORCHES)]
        at = place(rng)
        pose = TorchPose(*rng.uniform((-60, -45, 0, 3), (60, 45, 360, 22)))
        ball = np.array([[*(at[0] + rng.normal(size=3) * 60), 12.0]])
        frame = Frame.facing(at[0] + rng.normal(size=3) * 60, random_direction(rng), (0, 1, 0))
        pool = Packing()
        pool.shape(Box(frame, (8.0, 15.0, 22.0)))
        things = (
            ball,
            np.array([0]),
            np.array(pool.rows),
            bound(pool.rows[0], np.array(pool.points))[None],
            np.array([1]),
            np.array(pool.points),
        )
        rules = (np.zeros(2), np.zeros(2, bool), *NO_BORES)
        angles = np.array([math.tan(math.radians(pose.travel)), math.tan(math.radians(pose.work)), math.radians(pose.roll), pose.stick_out])  # fmt: skip
        parts = [metal.shape(s) for s in placed(torch, at, pose, arc)]
        cube = metal.placed(md.Manifold.cube((16, 30, 44), True), frame.at, frame.x, frame.y, frame.z)
        alone = (
            (*things[:2], *(t[:0] for t in things[2:5]), things[5]),
            (*(t[:0] for t in things[:2]), *things[2:]),
        )
        for bench, solid in zip(
            alone, (md.Manifold.sphere(12.0, 64).translate(ball[0, :3]), cube), strict=True
        ):
            found = room(at, angles, torch.sizes, bench, rules)
            asked = metal.gap(parts, solid, 40.0)
            if 0.1 < asked < 40:
                near += 1
                assert found == pytest.approx(asked, abs=0.1)
            elif asked == 0:
                assert found < 0.1
    assert near > 12
