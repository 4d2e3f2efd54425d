"""Distance of convex solids: closed forms, brute force, a quadratic program, rigid motion."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from scipy.optimize import nnls
from scipy.spatial.transform import Rotation

from manifoldgen.access import _gjk
from manifoldgen.access.pack import Packing, capsule, rod, swept

NONE = np.zeros((1, 3))
FAR = 1e9
EXACT = 1e-4  # mm, what is promised


def gap(a, b, pa=NONE, pb=NONE) -> float:
    """Signed distance."""
    return _gjk.signed_gap(a, pa, b, pb, FAR)[0]


def hull(points) -> tuple[np.ndarray, np.ndarray]:
    """A hull's row and its points."""
    pool = Packing()
    pool.hull(points)
    return pool.rows[0], np.array(pool.points)


def between_lines(p, q, r, s) -> float:
    """Distance of two segments (closed form: the inner minimum or one of the four ends)."""
    d, e, w = q - p, s - r, p - r
    a, b, c, f, g = d @ d, d @ e, e @ e, d @ w, e @ w
    tries = [(0, np.clip(g / c, 0, 1)), (1, np.clip((g + b) / c, 0, 1))]
    tries += [(np.clip(-f / a, 0, 1), 0), (np.clip((b - f) / a, 0, 1), 1)]
    inner = (b * g - c * f) / (a * c - b * b), (a * g - b * f) / (a * c - b * b)
    if all(0 <= t <= 1 for t in inner):
        tries.append(inner)
    return min(float(np.linalg.norm(w + x * d - y * e)) for x, y in tries)


def test_capsules_agree_with_closed_form():
    """Two capsules stand apart by the distance of their lines less both radii, also where they overlap."""
    rng = np.random.default_rng(1)
    for _ in range(300):
        p = rng.normal(size=(4, 3)) * rng.uniform(1, 80)
        expected = between_lines(*p) - 7.5

        assert gap(capsule(p[0], p[1], 3.0), capsule(p[2], p[3], 4.5)) == pytest.approx(expected, abs=EXACT)


def test_hulls_agree_with_a_quadratic_program():
    """Boxes, triangles and random hulls: least norm over both hulls' weights (non-negative least squares)."""
    rng = np.random.default_rng(2)
    checked = 0
    for _ in range(120):
        a, b = (rng.normal(size=(rng.integers(1, 9), 3)) * 20 + rng.normal(size=3) * 40 for _ in range(2))
        heavy = 1e5  # holds the sums of the weights at 1
        n, k = len(a), len(b)
        sums = heavy * np.vstack([np.repeat([1.0, 0.0], [n, k]), np.repeat([0.0, 1.0], [n, k])])
        weights, _ = nnls(np.vstack([np.hstack([a.T, -b.T]), sums]), np.array([0, 0, 0, heavy, heavy]))
        nearest = float(
            np.linalg.norm(weights[:n] / weights[:n].sum() @ a - weights[n:] / weights[n:].sum() @ b)
        )
        (row, points), (other, others) = hull(a), hull(b)
        found = _gjk.core_gap(row, points, other, others, FAR)[0]
        if nearest > 1e-3:
            checked += 1
            assert found == pytest.approx(nearest, abs=EXACT)
        else:
            assert found == pytest.approx(0.0, abs=2e-3)
    assert checked > 60


def surface(row, count=400) -> np.ndarray:
    """Points of a frustum's rims and side."""
    a, b, axis = row[1:4], row[4:7], row[7:10]
    u = np.cross(axis, [0.3, -0.5, 0.8])
    u /= np.linalg.norm(u)
    v = np.cross(axis, u)
    turn = np.linspace(0, 2 * np.pi, count, endpoint=False)
    ring = np.outer(np.cos(turn), u) + np.outer(np.sin(turn), v)
    return np.vstack([a + row[10] * ring, b + row[11] * ring])


def test_frusta_agree_with_brute_force():
    """Two frusta against the hulls of 400 points on each rim: never more, at most the rim's chord error less."""
    rng = np.random.default_rng(3)
    for _ in range(40):
        a = rod(rng.normal(size=3) * 30, rng.normal(size=3) * 30, *rng.uniform(0, 20, 2))
        b = rod(rng.normal(size=3) * 30 + 60, rng.normal(size=3) * 30 + 60, *rng.uniform(0, 20, 2))
        (row, points), (other, others) = hull(surface(a)), hull(surface(b))
        polygons = _gjk.core_gap(row, points, other, others, FAR)[0]
        chord = 2 * 20 * (1 - np.cos(np.pi / 400))

        assert gap(a, b) <= polygons + EXACT
        assert gap(a, b) >= polygons - chord - EXACT if polygons > 0 else gap(a, b) < chord


def test_disc_over_plane_and_edge():
    """Closed forms: a disc above a box, beside it, and leaning over its edge."""
    box, points = hull(list(itertools.product((-10, 10), (-10, 10), (-5, 0))))
    lean = np.radians(30)
    axis = (np.sin(lean), 0, np.cos(lean))

    assert gap(rod((0, 0, 3), (0, 0, 9), 4.0), box, pb=points) == pytest.approx(3.0, abs=EXACT)
    assert gap(rod((20, 0, -3), (20, 0, -1), 4.0), box, pb=points) == pytest.approx(6.0, abs=EXACT)
    # lowest rim point of a disc of radius 4 that leans 30 degrees: 4 sin 30 below its middle
    tilted = rod((0, 0, 5), (0, 0, 5), 4.0, axis=axis)
    assert gap(tilted, box, pb=points) == pytest.approx(5 - 4 * np.sin(lean), abs=EXACT)


def test_sweep_and_rounding():
    """A dragged ball is a capsule; rounding is taken off the distance."""
    ball, other = capsule((0, 0, 0), (0, 0, 0), 2.0), rod((30, 0, -5), (30, 0, 5), 3.0)

    assert gap(swept(ball, (10, 0, 0)), other) == pytest.approx(30 - 3 - 2 - 10, abs=EXACT)
    assert gap(capsule((0, 0, 0), (10, 0, 0), 2.0), other) == pytest.approx(15.0, abs=EXACT)
    assert gap(swept(ball, (-10, 0, 0)), other) == pytest.approx(25.0, abs=EXACT)


def test_overlap_is_freed_by_the_move_told():
    """Moving the other solid along the direction by the depth told leaves no overlap."""
    rng, overlaps = np.random.default_rng(4), 0
    for _ in range(100):
        a = rod(rng.normal(size=3) * 10, rng.normal(size=3) * 30, *rng.uniform(2, 15, 2))
        (b, points) = hull(rng.normal(size=(8, 3)) * 25)
        d, *way = _gjk.signed_gap(a, NONE, b, points, FAR)
        if d < 0:
            overlaps += 1
            assert gap(a, b, pb=points - d * np.array(way)) >= -EXACT
    assert overlaps > 20


def test_depth_of_a_ball_in_a_box():
    """A ball whose middle lies outside a box is exactly as deep as it is; one inside is told at least its depth."""
    box, points = hull(list(itertools.product((-10, 10), (-10, 10), (-5, 0))))

    assert gap(capsule((3, 2, 1), (3, 2, 1), 4.0), box, pb=points) == pytest.approx(-3.0, abs=EXACT)
    assert gap(capsule((3, 2, -1), (3, 2, -1), 4.0), box, pb=points) <= -5.0 + EXACT


def test_motion_and_order_change_nothing():
    """The distance of two solids is the same anywhere, and the other way round."""
    rng = np.random.default_rng(5)
    for _ in range(60):
        turn, shift = Rotation.random(random_state=rng).as_matrix(), rng.normal(size=3) * 200
        ends = rng.normal(size=(2, 3)) * 30
        corners = rng.normal(size=(6, 3)) * 15 + (60, 0, 0)
        (b, points), (moved, there) = hull(corners), hull(corners @ turn.T + shift)
        a = rod(*ends, 5.0, 9.0)
        away = rod(*(ends @ turn.T + shift), 5.0, 9.0)
        here = _gjk.core_gap(a, NONE, b, points, FAR)[0]

        assert _gjk.core_gap(away, NONE, moved, there, FAR)[0] == pytest.approx(here, abs=EXACT)
        assert _gjk.core_gap(b, points, a, NONE, FAR)[0] == pytest.approx(here, abs=EXACT)


def test_known_to_be_far_is_enough():
    """With a gap that is enough the walk ends early, on a true bound that is at least as much."""
    a, b = rod((0, 0, 0), (5, 1, 30), 4.0, 9.0), rod((100, 3, 0), (90, 20, 30), 6.0)
    exact = gap(a, b)
    bound = _gjk.signed_gap(a, NONE, b, NONE, 10.0)[0]

    assert 10.0 <= bound <= exact + 1e-9


def test_flat_and_touching_solids_end():
    """Solids in one plane, one line, or on each other give an answer, 0 where they touch."""
    flat, points = hull([(0, 0, 0), (10, 0, 0), (10, 10, 0), (0, 10, 0), (5, 5, 0)])
    line = rod((0, 0, 0), (10, 0, 0), 0.0)

    assert gap(rod((3, 3, 0), (3, 3, 4), 2.0), flat, pb=points) == pytest.approx(0.0, abs=EXACT)
    assert gap(line, line) == pytest.approx(0.0, abs=EXACT)
    assert gap(rod((2, 0, 7), (4, 0, 7), 0.0), line) == pytest.approx(7.0, abs=EXACT)
