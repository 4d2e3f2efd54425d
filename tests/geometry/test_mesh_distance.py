"""Distances to meshes against the same solids in closed form, and against sampling."""

from __future__ import annotations

import math

import numpy as np
import pytest
import trimesh
from scipy.spatial import cKDTree

from manifoldgen.errors import GeometryError
from manifoldgen.geometry import mesh_distance
from manifoldgen.geometry.distance import point_to_shape, to_shape
from manifoldgen.geometry.gap import Asked
from manifoldgen.geometry.mesh_distance import to_mesh, tree
from manifoldgen.geometry.path import Bend, Path, Straight
from manifoldgen.geometry.pose import Pose
from manifoldgen.geometry.shapes import Box, Tube
from manifoldgen.geometry.vectors import vec
from tests.geometry.test_distance import surface
from tests.strategies import random_frame, random_tube

SEED = 11
TOL = 1e-3


def meshed(frame, half, cuts=0):
    """The vertices and faces of a box in place, every face cut in four `cuts` times."""
    mesh = trimesh.creation.box(extents=2 * np.asarray(half))
    for _ in range(cuts):
        mesh = mesh.subdivide()
    return np.asarray(mesh.vertices) @ np.array([frame.x, frame.y, frame.z]) + np.array(frame.at), mesh.faces


def straight(at, direction, length=100.0, radius=20.0):
    """A straight tube."""
    return Tube(Path(Pose.heading(at, direction), (Straight(length),)), radius)


def test_a_meshed_box_is_as_near_as_the_box() -> None:
    """30 random tubes and boxes, coarse and fine: the analytic distance within 1e-3, overlaps and ends too."""
    print("seed", SEED)
    rng = np.random.default_rng(SEED)
    apart = 0
    for k in range(30):
        frame, half = random_frame(rng), rng.uniform(10, 120, 3)
        mesh = tree(*meshed(frame, half, k % 3 * 2), closed=True)
        tube = random_tube(rng)
        found, true = to_mesh(tube, mesh), to_shape(tube, Box(frame, vec(half)))
        assert found.certified
        assert found.gap == pytest.approx(true.gap, abs=TOL)
        if true.gap > 0:
            apart += 1
            assert math.dist(*found.points) == pytest.approx(found.gap, abs=1e-9)
            assert point_to_shape(found.points[1], Box(frame, vec(half))) == pytest.approx(0, abs=1e-9)
    assert 15 <= apart <= 27


def test_never_above_sampling() -> None:
    """No sampled wall point is nearer to a sampled rough surface than the certified gap."""
    print("seed", SEED + 1)
    rng = np.random.default_rng(SEED + 1)
    ball = trimesh.creation.icosphere(subdivisions=3, radius=80)
    for _ in range(10):
        vertices = ball.vertices * rng.uniform(0.8, 1.2, (len(ball.vertices), 1)) + rng.uniform(-250, 250, 3)
        tube = random_tube(rng)
        found = to_mesh(tube, tree(vertices, ball.faces))
        if found.gap > 0:
            a, b, c = (vertices[ball.faces[:, k]] for k in range(3))
            samples = np.vstack(
                [(i * a + j * b + (6 - i - j) * c) / 6 for i in range(7) for j in range(7 - i)]
            )
            least = cKDTree(surface(tube, 3.0)[0]).query(samples)[0].min()
            assert least - 4.0 <= found.gap <= least + TOL


def test_points_to_a_sphere_and_a_cube() -> None:
    """Closed forms: a cube's faces, edges, corners and inside; a fine sphere within its facets' sagitta."""
    cube = trimesh.creation.box(extents=(20, 20, 20))
    solid, skin = (tree(cube.vertices, cube.faces, closed=closed) for closed in (True, False))
    for point, distance in (
        ((15, 2, 3), 5),
        ((13, 14, 0), 5),
        ((12, 12, 11), 3),
        ((-10, 0, 0), 0),
        ((0, 0, -7), 3),
    ):
        assert skin.point_distance(point) == pytest.approx(distance, abs=1e-9)
        assert solid.point_distance(point) == pytest.approx(0 if point[2] == -7 else distance, abs=1e-9)
    ball = trimesh.creation.icosphere(subdivisions=5, radius=50)
    round_ = tree(ball.vertices, ball.faces, closed=True)
    longest = float(ball.edges_unique_length.max())
    rng = np.random.default_rng(SEED + 2)
    for point in rng.uniform(-120, 120, (50, 3)):
        true = max(0.0, float(np.linalg.norm(point)) - 50)
        assert true - 1e-9 <= round_.point_distance(point) <= true + longest**2 / (2 * 50)


def test_the_tree_holds_every_triangle_once() -> None:
    """Leaves cover all triangles, each in its boxes; `faces` leads back to the mesh (brute force agrees)."""
    rng = np.random.default_rng(SEED + 3)
    for count in (1, 2, 5, 1000):
        vertices, faces = rng.normal(size=(3 * count, 3)), np.arange(3 * count).reshape(-1, 3)
        made = tree(vertices, faces)
        assert sorted(made.faces) == list(range(count))
        assert np.array_equal(made.corners.reshape(-1, 3, 3), vertices[faces[made.faces]])
        seen = []
        stack = [0]
        while stack:
            node = stack.pop()
            i, j = made.links[node]
            low, high = made.boxes[node, :3], made.boxes[node, 3:]
            if i < 0:
                seen += range(-1 - i, j)
                inside = made.corners[-1 - i : j].reshape(-1, 3)
                assert ((inside >= low) & (inside <= high)).all()
            else:
                assert i > node < j
                assert (made.boxes[[i, j], :3] >= low).all()
                assert (made.boxes[[i, j], 3:] <= high).all()
                stack += [i, j]
        assert sorted(seen) == list(range(count))


def test_inside_a_closed_mesh_is_an_overlap() -> None:
    """A tube wholly inside: -radius if closed; the distance to the skin from inside if not (closed form)."""
    box = trimesh.creation.box(extents=(200, 100, 100))
    tube = straight((-50, 0, 0), (1, 0, 0), 100, 10)

    assert to_mesh(tube, tree(box.vertices, box.faces, closed=True)).gap == -10
    assert to_mesh(tube, tree(box.vertices, box.faces)).gap == pytest.approx(40, abs=TOL)
    flipped = box.faces.copy()
    flipped[::2] = flipped[::2, ::-1]
    assert to_mesh(tube, tree(box.vertices, flipped, closed=True)).gap == -10


def test_asked_gaps_mean_what_they_mean_for_shapes() -> None:
    """Constant, stepped and sloped asked gaps: margin, gap and place as against the same box in closed form."""
    rng = np.random.default_rng(SEED + 4)
    for k in range(20):
        tube = random_tube(rng)
        length = tube.path.length
        frame, half = random_frame(rng), rng.uniform(10, 60, 3)
        asked = (
            Asked.flat(12.0, length),
            Asked((0.0, length / 2, length / 2, length), (5.0, 5.0, 40.0, 40.0)),
            Asked((0.0, length / 3, length), (6.0, 6.0, 50.0)),
        )[k % 3]
        found = to_mesh(tube, tree(*meshed(frame, half, 1), closed=True), asked)
        true = to_shape(tube, Box(frame, vec(half)), asked)
        assert found.margin == pytest.approx(true.margin, abs=2 * TOL)
        assert found.certified
    with pytest.raises(GeometryError, match="make them agree"):
        to_mesh(tube, tree(*meshed(frame, half)), Asked.flat(1.0, length + 1))


def test_a_floor_beside_a_bend_and_long_valleys_are_cheap() -> None:
    """Thousands of triangles all equally near (a fine floor under a flat tube): exact (closed form)."""
    u, v = np.meshgrid(np.linspace(-100, 300, 81), np.linspace(-150, 150, 61), indexing="ij")
    vertices = np.stack([u, v, np.full_like(u, -50.0)], -1).reshape(-1, 3)
    grid = np.arange(u.size).reshape(u.shape)
    a, b, c, d = (
        grid[i, j].ravel()
        for i, j in (
            (np.s_[:-1], np.s_[:-1]),
            (np.s_[1:], np.s_[:-1]),
            (np.s_[1:], np.s_[1:]),
            (np.s_[:-1], np.s_[1:]),
        )
    )
    floor = tree(vertices, np.vstack([np.stack([a, b, c], -1), np.stack([a, c, d], -1)]))
    lying = Tube(
        Path(
            Pose((0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0)),
            (Straight(80), Bend(90, 60), Straight(40)),
        ),
        20.0,
    )
    found = to_mesh(lying, floor)

    assert found.gap == pytest.approx(30, abs=TOL)
    assert found.certified


def test_steps_that_run_out_are_told(monkeypatch) -> None:
    """Not certified then, and the slack covers the truth."""
    box = trimesh.creation.box(extents=(200, 100, 100))
    mesh = tree(box.vertices, box.faces)
    tube = Tube(Path(Pose.heading((130, 20, -80), (0.1, 0.2, 1)), (Straight(40), Bend(80, 60, 30))), 20.0)
    true = to_mesh(tube, mesh).gap
    monkeypatch.setattr(mesh_distance, "CAP", 2.0)
    rough = to_mesh(tube, mesh)

    assert not rough.certified
    assert rough.gap - rough.slack <= true + TOL <= rough.gap + 2 * TOL


def test_meshes_that_are_none_are_refused() -> None:
    """No triangle, or a corner that is no number."""
    with pytest.raises(GeometryError, match="without a triangle"):
        tree(np.zeros((0, 3)), np.zeros((0, 3), int))
    with pytest.raises(GeometryError, match="no number"):
        tree([[0, 0, 0], [1, 0, math.nan], [0, 1, 0]], [[0, 1, 2]])
