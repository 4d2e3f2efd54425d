"""Corners to path and back: the corners of a cube, elbow take-offs, round trips, what is refused."""

import math
from dataclasses import astuple

import numpy as np
import pytest

from manifoldgen.errors import PathError
from manifoldgen.geometry.corners import from_corners, to_corners
from manifoldgen.geometry.lra import BendRow, from_rows, half_turns, to_rows
from manifoldgen.geometry.path import Bend, Path, Straight
from manifoldgen.geometry.pose import Pose
from manifoldgen.geometry.vectors import array, rotated

SEED = 20


def random_path(rng: np.random.Generator, most: float = 175.0) -> Path:
    """One to five bends with straights from a pose anywhere."""
    start = Pose.heading(rng.uniform(-200, 200, 3), rng.normal(size=3))
    elements: list[Straight | Bend] = []
    for _ in range(int(rng.integers(1, 6))):
        elements.append(Straight(float(rng.uniform(1, 150))))
        elements.append(
            Bend(float(rng.uniform(2, most)), float(rng.uniform(30, 90)), float(rng.uniform(-180, 180)))
        )
    return Path(start, (*elements, Straight(float(rng.uniform(1, 80)))))


def apart(a: Path, b: Path) -> float:
    """Greatest distance between two paths at equal shares of their lengths, mm."""
    return max(
        float(np.linalg.norm(a.point(a.length * k / 20) - b.point(b.length * k / 20))) for k in range(21)
    )


def test_corners_of_a_cube() -> None:
    """Along an edge, a face's diagonal and the next face's: 45° and 60°, rolled by arccos(1/√3) (closed forms).

    The planes of the two bends are a face, x = 0, and the one square to (-1, 1, -1); about the travel (0, 1, 1) the
    second lies left-handed of the first. A straight is its leg less CLR · tan(angle / 2) at each corner.
    """
    side, clr = 300.0, 63.6
    corners = [(0, 0, 0), (0, 0, side), (0, side, 2 * side), (side, 2 * side, 2 * side)]
    path = from_corners(Pose.heading(corners[0], (0, 0, 1)), corners[1:-1], corners[-1], clr)
    rows = to_rows(path)
    takes = [clr * math.tan(math.radians(angle / 2)) for angle in (45, 60)]
    diagonal = side * math.sqrt(2)

    assert [r.angle for r in rows[:-1]] == pytest.approx([45, 60])
    assert rows[1].roll == pytest.approx(-math.degrees(math.acos(1 / math.sqrt(3))))
    assert [r.length for r in rows] == pytest.approx(
        [side - takes[0], diagonal - sum(takes), diagonal - takes[1]]
    )
    assert path.end.at == pytest.approx(corners[-1], abs=1e-9)


@pytest.mark.parametrize(
    ("angle", "take"),
    [(45, 23.672), (30, 15.313), (90, 57.15)],  # R·tan(angle/2), R = 57.15: plane geometry, closed form
)
def test_elbow_take_off(angle: float, take: float) -> None:
    """The corner of a lone elbow stands its take-off from both ends."""
    path = Path(Pose.heading((0, 0, 0), (1, 0, 0)), (Bend(angle, 57.15),))
    points, radii = to_corners(path)
    assert math.dist(points[0], points[1]) == pytest.approx(take, abs=1e-3)
    assert math.dist(points[1], points[2]) == pytest.approx(take, abs=1e-3)
    assert radii == [57.15]


def test_lengths_of_an_elbow() -> None:
    """45° on 57.15: centreline, back and throat of OD 48.3, and the volume of a 90 (closed forms)."""
    start = Pose.heading((0, 0, 0), (1, 0, 0))
    lengths = [Path(start, (Bend(45, r),)).length for r in (57.15, 57.15 + 24.15, 57.15 - 24.15)]
    assert lengths == pytest.approx([44.8855, 63.8529, 25.9181], abs=1e-3)  # R·angle
    volume = math.pi / 4 * 42.8**2 * Path(start, (Bend(90, 57.15),)).length
    assert volume == pytest.approx(129155.69, abs=0.1)  # Pappus-Guldin


def test_round_trip_of_random_paths() -> None:
    """Corners and bend tables each describe the very same path."""
    rng = np.random.default_rng(SEED)
    for case in range(30):
        path = random_path(rng)
        points, radii = to_corners(path)
        again = from_corners(path.start, points[1:-1], points[-1], radii)
        assert apart(path, again) < 1e-9, f"seed {SEED}, case {case}"
        assert apart(path, from_rows(path.start, to_rows(path))) < 1e-9, f"seed {SEED}, case {case}"
        assert [b.roll for b in again.bends] == pytest.approx([half_turns(b.roll) for b in path.bends])


def test_half_turn_and_more_is_given_in_equal_parts() -> None:
    """A 180 has no corner: two 90s; a full turn: three 120s; the path stays the same."""
    start = Pose.heading((5, 6, 7), (1, 2, 3))
    for angle, parts in ((179.0, 1), (180.0, 2), (359.0, 2), (360.0, 3)):
        path = Path(start, (Straight(20), Bend(angle, 50, 30), Straight(10)))
        points, radii = to_corners(path)
        assert len(radii) == parts
        again = from_corners(start, points[1:-1], points[-1], radii)
        assert apart(path, again) < 1e-9
        assert [b.angle for b in again.bends] == pytest.approx([angle / parts] * parts)


def test_roll_is_right_handed_about_the_travel() -> None:
    """Travelling along x with +y as roll 0, roll 90 bends towards +z (definition of right-handed)."""
    start = Pose.heading((0, 0, 0), (1, 0, 0))
    path = from_corners(start, [(100, 0, 0)], (100, 0, 100), 50)
    assert path.bends[0].roll == pytest.approx(90)
    assert array(path.end.direction) == pytest.approx(rotated((0, 1, 0), (1, 0, 0), 90))


def test_short_straight_names_the_corner_and_the_missing_mm() -> None:
    """Two 90s on CLR 50 need 100 mm between their corners; 80 are there (plane geometry)."""
    start = Pose.heading((0, 0, 0), (1, 0, 0))
    with pytest.raises(PathError, match=r"corner 1 and corner 2 the straight is 20\.0 mm short"):
        from_corners(start, [(100, 0, 0), (100, 80, 0)], (200, 80, 0), 50)
    with pytest.raises(PathError, match=r"the start and corner 1 the straight is 10\.0 mm short"):
        from_corners(start, [(40, 0, 0)], (40, 80, 0), 50)
    with pytest.raises(PathError, match=r"corner 1 and the end the straight is 5\.0 mm short"):
        from_corners(start, [(80, 0, 0)], (80, 45, 0), [50])


def test_corner_off_the_axis_back_turn_and_radii_are_refused() -> None:
    """A first corner beside the port's axis, a corner that turns back, a missing CLR are named."""
    start = Pose.heading((0, 0, 0), (1, 0, 0))
    with pytest.raises(PathError, match=r"corner 1 lies 3\.0 mm off"):
        from_corners(start, [(100, 3, 0)], (100, 90, 0), 50)
    with pytest.raises(PathError, match="corner 1 turns straight back"):
        from_corners(start, [(100, 0, 0)], (20, 0, 0), 50)
    with pytest.raises(PathError, match="2 corners need as many CLRs, not 1"):
        from_corners(start, [(100, 0, 0), (100, 100, 0)], (200, 100, 0), [50])
    with pytest.raises(PathError, match="the end point lies"):
        from_corners(start, [], (-20, 0, 0), 50)


def test_corner_that_does_not_turn_joins_its_straights() -> None:
    """A point on the way is no bend."""
    start = Pose.heading((0, 0, 0), (1, 0, 0))
    path = from_corners(start, [(40, 0, 0), (100, 0, 0), (100, 60, 0)], (100, 90, 0), 50)
    assert len(path.elements) == 3
    assert [astuple(r) for r in to_rows(path)] == [
        pytest.approx((50, 0, 90, 50)),
        pytest.approx((40, 0, 0, 0)),
    ]


def test_bend_table_joins_straights_and_ends_with_a_length() -> None:
    """Rows read like the trade's: length, roll within half a turn, angle; the last row only a length."""
    path = Path(
        Pose.heading((0, 0, 0), (0, 0, 1)),
        (Straight(10), Straight(15), Bend(30, 60, 190), Bend(20, 60, -180)),
    )
    assert to_rows(path) == (BendRow(25, -170, 30, 60), BendRow(0, 180, 20, 60), BendRow(0))
