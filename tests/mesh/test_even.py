"""Even triangles over needles: quality, size, closed forms of volume and distance, creases kept."""

from __future__ import annotations

import numpy as np
import pytest

from manifoldgen.errors import GeometryError
from manifoldgen.mesh.even import SmoothFace, Wanted, even, quality

RADIUS, LENGTH, STRIPS = 19.2, 145.0, 90
WANTED = Wanted(longest=3.0, sag=0.045)


def test_quality_is_its_closed_form():
    """4 √3 A / (a² + b² + c²): 1 if equilateral, √3/2 with a right angle and even legs, 2√3 r / (2 + 2 r²) by legs 1, r."""
    even_one = [[0, 0, 0], [1, 0, 0], [0.5, np.sqrt(3) / 2, 0]]
    right = [[0, 0, 0], [2, 0, 0], [0, 2, 0]]
    needle = [[0, 0, 0], [100, 0, 0], [0, 1, 0]]
    found = quality(np.array([even_one, right, needle], dtype=float))

    assert found == pytest.approx([1.0, np.sqrt(3) / 2, 2 * np.sqrt(3) * 0.01 / (2 + 2e-4)])


def bore() -> tuple[SmoothFace, ...]:
    """A straight bore as the kernel draws it: strips 145 mm long, fans over its ends; one is pushed to a needle's width."""
    turn = 2 * np.pi * np.arange(STRIPS) / STRIPS
    turn[7] = turn[6] + 2e-5  # 0.0004 mm beside its neighbour
    way = np.column_stack([np.cos(turn), np.sin(turn), np.zeros(STRIPS)])
    low, high = RADIUS * way, RADIUS * way + [0, 0, LENGTH]
    a = np.arange(STRIPS)
    b = (a + 1) % STRIPS
    strips = np.concatenate(
        [np.column_stack([a, b, b + STRIPS]), np.column_stack([a, b + STRIPS, a + STRIPS])]
    )
    fan = np.column_stack([np.zeros(STRIPS - 2, int), a[1:-1], a[2:]])
    up = np.tile([0.0, 0.0, 1.0], (STRIPS, 1))
    wall = SmoothFace(np.concatenate([low, high]), strips, np.concatenate([way, way]), RADIUS)
    return wall, SmoothFace(high, fan, up, np.inf), SmoothFace(low, fan[:, ::-1], -up, np.inf)


def test_a_bore_of_strips_becomes_even():
    """Closed; no triangle under 0.1 and few under 0.7; edges bounded; the cylinder's volume and surface (closed form)."""
    volume = np.pi * RADIUS**2 * LENGTH
    before = np.concatenate([f.points[f.triangles] for f in bore()])
    mesh = even("bore", bore(), WANTED, volume)
    found, edges = quality(mesh.corners), mesh.corners - np.roll(mesh.corners, 1, axis=1)

    assert quality(before).min() < 1e-5
    assert mesh.closed
    assert found.min() >= 0.1
    assert np.quantile(found, 0.01) > 0.7
    assert np.linalg.norm(edges, axis=2).max() <= 1.1 * WANTED.longest
    assert mesh.volume == pytest.approx(volume, rel=1e-3)
    assert off_the_cylinder(mesh.vertices).max() <= 0.05
    assert (
        off_the_cylinder((mesh.corners + np.roll(mesh.corners, 1, axis=1)).reshape(-1, 3) / 2).max() <= 0.05
    )


def off_the_cylinder(points: np.ndarray) -> np.ndarray:
    """How far points are from the closed cylinder's surface: from its wall or from an end, mm."""
    wall = np.abs(np.hypot(points[:, 0], points[:, 1]) - RADIUS)
    return np.minimum(wall, np.minimum(np.abs(points[:, 2]), np.abs(points[:, 2] - LENGTH)))


def test_the_ends_stay_flat_discs():
    """The rim is a crease: triangles of an end lie in its plane and cover its disc, within its polygon's sag."""
    mesh = even("bore", bore(), WANTED, np.pi * RADIUS**2 * LENGTH)
    for height in (0.0, LENGTH):
        corners = mesh.corners[(np.abs(mesh.corners[:, :, 2] - height) < 1e-9).all(axis=1)]
        area = np.linalg.norm(np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]), axis=1)
        assert area.sum() / 2 == pytest.approx(np.pi * RADIUS**2, rel=5e-3)


def test_the_same_faces_give_the_same_triangles():
    """Twice the same, to the last bit."""
    one, two = (even("bore", bore(), WANTED, np.pi * RADIUS**2 * LENGTH) for _ in range(2))

    assert np.array_equal(one.vertices, two.vertices)
    assert np.array_equal(one.triangles, two.triangles)


def test_a_tight_bend_gets_shorter_edges():
    """A chord of length L lies L²/8R inside a round (closed form); three quarters of it are aimed at, within bounds."""
    flat, wide, tight, tightest = Wanted(longest=3.0, sag=0.045).size(np.array([np.inf, 40.0, 10.0, 0.1]))
    allowed = np.sqrt(8 * 10.0 * 0.045)

    assert allowed**2 / (8 * 10.0) == pytest.approx(0.045)
    assert flat == wide == 0.75 * 3.0
    assert tight == pytest.approx(0.75 * allowed)
    assert tightest == pytest.approx(0.2 * 3.0)


def test_an_open_surface_is_refused():
    """Without one end there is no inside to fill."""
    with pytest.raises(GeometryError, match="does not close"):
        even("bore", bore()[:2], WANTED, 1.0)
