"""Snapping: noise of rounded files goes, the change stays as small as the noise, dead ends are named."""

import math

import numpy as np
import pytest

from manifoldgen.errors import PathError
from manifoldgen.geometry.path import Bend, Element, Path, Straight
from manifoldgen.geometry.pose import Pose
from manifoldgen.geometry.snap import miss, snap
from manifoldgen.geometry.vectors import array, rotated, vec

SEED = 11


def runner(rng: np.random.Generator) -> Path:
    """A runner of two to four bends, some straights of no length."""
    elements: list[Element] = []
    for _ in range(int(rng.integers(2, 5))):
        elements.append(Straight(float(rng.choice([0.0, rng.uniform(5, 120)]))))
        elements.append(
            Bend(float(rng.uniform(15, 90)), float(rng.choice([57.15, 76.2])), float(rng.uniform(-180, 180)))
        )
    return Path(
        Pose.heading(rng.uniform(-100, 100, 3), rng.normal(size=3)),
        (*elements, Straight(float(rng.uniform(5, 60)))),
    )


def rounded(path: Path, digits: int) -> Path:
    """The path as a file with that many decimals would hold it."""
    return Path(
        path.start,
        tuple(
            Straight(round(e.length, digits))
            if isinstance(e, Straight)
            else Bend(round(e.angle, digits), e.clr, round(e.roll, digits))
            for e in path.elements
        ),
    )


def change(a: Path, b: Path) -> float:
    """Length of the change over all straights (mm), bends and rolls (degrees)."""
    total = 0.0
    for e, f in zip(a.elements, b.elements, strict=True):
        if isinstance(e, Straight) and isinstance(f, Straight):
            total += (e.length - f.length) ** 2
        elif isinstance(e, Bend) and isinstance(f, Bend):
            assert e.clr == f.clr
            total += (e.angle - f.angle) ** 2 + (e.roll - f.roll) ** 2
    return math.sqrt(total)


def lands(path: Path, target: Pose) -> None:
    """Below 1e-9 mm and degrees, and no straight below 0."""
    mm, deg = miss(path, target)
    assert mm < 1e-9
    assert deg < 1e-9
    assert all(e.length >= 0 for e in path.elements if isinstance(e, Straight))


@pytest.mark.parametrize("digits", [4, 2, 1])
def test_rounded_files_land(digits: int) -> None:
    """A path rounded to 1e-4 (0.01, 0.1) mm and degrees lands, changed by no more than the rounding did."""
    rng = np.random.default_rng(SEED)
    for case in range(10):
        true = runner(rng)
        file = rounded(true, digits)
        landed = snap(file, true.end)
        lands(landed, true.end)
        # the true path is one way to land; the smallest change cannot be larger (2 %: not quite linear)
        assert change(file, landed) <= 1.02 * change(file, true) + 1e-9, f"seed {SEED}, case {case}"


def test_inlet_off_by_the_end_tolerance() -> None:
    """An inlet moved by 0.05 mm and tilted by 0.05° is met with changes of the same size."""
    rng = np.random.default_rng(SEED + 1)
    for case in range(10):
        path = runner(rng)
        off = array(path.end.at) + 0.05 * rng.normal(size=3) / math.sqrt(3)
        target = Pose.heading(off, rotated(path.end.direction, path.end.normal, 0.05))
        landed = snap(path, target)
        lands(landed, target)
        assert change(path, landed) < 3, f"seed {SEED + 1}, case {case}"


def test_zero_straight_is_held_at_zero() -> None:
    """A planar S whose only slack is a straight of 0: the straight does not become negative."""
    start = Pose.heading((0, 0, 0), (1, 0, 0))
    path = Path(start, (Straight(0), Bend(45, 60), Straight(0), Bend(45, 60, 180), Straight(30)))
    target = Pose(vec(array(path.end.at) - array((0.0, 0.04, 0.0))), path.end.direction, path.end.normal)
    landed = snap(path, target)
    lands(landed, target)
    assert isinstance(landed.elements[0], Straight)
    kept = snap(path, target, least=(0, 0, 0, 0, 30.0))
    assert isinstance(kept.elements[-1], Straight)
    assert kept.elements[-1].length >= 30.0


def test_exact_path_is_left_alone() -> None:
    """A path that ends on its inlet comes back equal."""
    path = runner(np.random.default_rng(3))
    assert snap(path, path.end) == path


def test_miss_measures_point_and_direction() -> None:
    """3-4-5 mm and 2° (closed form)."""
    path = Path(Pose.heading((0, 0, 0), (1, 0, 0)), (Straight(10),))
    target = Pose.heading((10, 3, 4), rotated((1, 0, 0), (0, 0, 1), 2))
    assert miss(path, target) == pytest.approx((5, 2))


def test_dead_ends_name_what_is_left() -> None:
    """One bend cannot leave its plane and keep its direction; a bare straight cannot turn."""
    start = Pose.heading((0, 0, 0), (1, 0, 0))
    path = Path(start, (Straight(40), Bend(90, 50), Straight(40)))
    end = array(path.end.at)
    with pytest.raises(PathError, match=r"1 mm and 0° off its inlet.*are left"):
        snap(path, Pose(vec(end + array((0, 0, 1.0))), path.end.direction, path.end.normal))
    with pytest.raises(PathError, match=r"0\.04 mm"):
        snap(Path(start, (Straight(40),)), Pose.heading((40, 0.04, 0), (1, 0, 0)))
    with pytest.raises(PathError, match="off its inlet"):
        snap(Path(start, ()), Pose.heading((1, 0, 0), (1, 0, 0)))
