"""Point-to-solid distances against independent closed forms and dense outlines."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest

from manifoldgen.geometry import _kernels
from manifoldgen.geometry.contour import Contour
from manifoldgen.geometry.distance import point_to_shape
from manifoldgen.geometry.path import Bend, Path, Straight
from manifoldgen.geometry.pose import Frame
from manifoldgen.geometry.rows import NO_EDGES, run_of
from manifoldgen.geometry.shapes import Box, Capsule, Cone, Cylinder, HalfSpace, Plate, Tube
from manifoldgen.geometry.vectors import vec
from tests.strategies import random_direction, random_frame, random_path

SEED = 20
N = 300


def _points(rng, centre, spread=120.0):
    return np.array(centre) + rng.normal(size=(N, 3)) * spread


def _half_plane(p, start, end):
    """Length along and distance out of an axis, and the axis length."""
    axis = np.subtract(end, start)
    length = np.linalg.norm(axis)
    t = (np.asarray(p) - start) @ axis / length
    out = np.linalg.norm(np.cross(np.asarray(p) - start, axis / length), axis=-1)
    return t, out, length


@pytest.fixture
def rng():
    """A generator whose seed stands in the file."""
    return np.random.default_rng(SEED)


@pytest.fixture
def ends(rng):
    """Two ends of an axis."""
    return vec(rng.normal(size=3) * 50), vec(rng.normal(size=3) * 50)


def test_cylinder(rng, ends):
    """A flat-ended cylinder: overshoot along and out, by Pythagoras (closed form)."""
    shape = Cylinder(*ends, 23.0)
    for p in _points(rng, ends[0]):
        t, out, length = _half_plane(p, *ends)
        expected = math.hypot(max(abs(t - length / 2) - length / 2, 0), max(out - 23.0, 0))
        assert point_to_shape(p, shape) == pytest.approx(expected, abs=1e-9)


def test_capsule(rng, ends):
    """A round-ended cylinder: distance to the axis less the radius (closed form); a sphere too."""
    for shape in (Capsule(*ends, 23.0), Capsule(ends[0], ends[0], 23.0)):
        axis = np.subtract(shape.end, shape.start)
        for p in _points(rng, ends[0]):
            k = np.clip((p - shape.start) @ axis / max(axis @ axis, 1e-300), 0, 1)
            expected = max(np.linalg.norm(p - shape.start - k * axis) - 23.0, 0)
            assert point_to_shape(p, shape) == pytest.approx(expected, abs=1e-9)


def test_box(rng):
    """A box: overshoot on each axis, by Pythagoras (closed form)."""
    frame, half = random_frame(rng), np.array((40.0, 10.0, 25.0))
    for p in _points(rng, frame.at):
        over = np.maximum(np.abs(np.linalg.solve(frame.matrix, p - frame.at)) - half, 0)
        assert point_to_shape(p, Box(frame, vec(half))) == pytest.approx(np.linalg.norm(over), abs=1e-9)


def test_half_space(rng):
    """A half space: height over the plane, 0 behind it (closed form)."""
    at, n = rng.normal(size=3), random_direction(rng)
    for p in _points(rng, at):
        expected = max(float((p - at) @ n), 0)
        assert point_to_shape(p, HalfSpace(vec(at), vec(3 * n))) == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize("radii", [(40.0, 15.0), (12.0, 30.0), (0.0, 25.0), (20.0, 20.0)])
def test_cone(rng, ends, radii):
    """A frustum: nearest of three sides of its half section as complex numbers (closed form)."""
    shape = Cone(*ends, *radii)
    for p in [*_points(rng, ends[0]), np.array(ends[0]) + 2 * np.subtract(ends[1], ends[0])]:
        t, out, length = _half_plane(p, *ends)
        z, corners = (
            complex(t, out),
            (0j, complex(0, radii[0]), complex(length, radii[1]), complex(length, 0)),
        )
        sides = []
        for a, b in pairwise(corners):
            k = 0.0 if a == b else ((z - a) * (b - a).conjugate()).real / abs(b - a) ** 2
            sides.append(abs(z - a - min(max(k, 0), 1) * (b - a)))
        inside = 0 <= t <= length and out <= np.interp(t, (0, length), radii)
        assert point_to_shape(p, shape) == pytest.approx(0 if inside else min(sides), abs=1e-9)


def _bend_reference(p, arc, radius):
    """Distance to a flat-ended torus sector: on the sector's angle, or the nearer of two end discs."""
    local = np.array([arc.radial, arc.direction, arc.axis]) @ (p - np.array(arc.centre))
    angle = math.degrees(math.atan2(local[1], local[0])) % 360
    if angle <= arc.angle:
        return max(math.hypot(math.hypot(*local[:2]) - arc.clr, local[2]) - radius, 0)
    discs = []
    for s in (0.0, arc.length):
        v, n = p - arc.point(s), arc.tangent(s)
        discs.append(math.hypot(v @ n, max(np.linalg.norm(np.cross(v, n)) - radius, 0)))
    return min(discs)


def test_bends(rng):
    """A bend of a tube: torus sector with flat ends (closed form); bends past 180° too."""
    for _ in range(10):
        angle, clr = float(rng.uniform(5, 350)), float(rng.uniform(30, 90))
        start = random_path(rng, 40.0, 1).start
        tube = Tube(Path(start, (Bend(angle, clr, 30.0),)), 25.0)
        row, arc = run_of(tube).segs[0], tube.path.segments[0]
        for p in _points(rng, arc.centre, 60.0)[:60]:
            d, *q = _kernels.nearest(row, NO_EDGES, *p)
            assert d == pytest.approx(_bend_reference(p, arc, 25.0), abs=1e-9)
            assert np.linalg.norm(p - q) == pytest.approx(d, abs=1e-9)
            assert _bend_reference(np.array(q), arc, 25.0) < 1e-9


def test_straights(rng):
    """A straight of a tube is the flat-ended cylinder of its ends (closed form)."""
    tube = Tube(Path(random_path(rng, 40.0, 1).start, (Straight(60.0),)), 20.0)
    row, end = run_of(tube).segs[0], tube.path.end.at
    for p in _points(rng, end):
        t, out, length = _half_plane(p, tube.path.start.at, end)
        expected = math.hypot(max(abs(t - length / 2) - length / 2, 0), max(out - 20.0, 0))
        assert _kernels.nearest(row, NO_EDGES, *p)[0] == pytest.approx(expected, abs=1e-9)


T = math.tan(math.pi / 8)
ROUNDED = Contour(
    (
        (-30, -20, 0), (30, -20, T), (40, -10, 0), (40, 10, T),
        (30, 20, 0), (-30, 20, T), (-40, 10, 0), (-40, -10, T),
    )
)  # fmt: skip
DISC = Contour(((-30.0, 0.0, 1.0), (30.0, 0.0, 1.0)))
WAIST = Contour(((-50, -30, -0.3), (50, -30, 0), (50, 30, -0.3), (-50, 30, 0)))
MOON = Contour(((0, -40, 1.6), (0, 40, -0.7)))


def test_plate_of_a_rounded_rectangle(rng):
    """Rounded rectangle 80 x 40 with R10: distance to the inner 60 x 20 less 10 (closed form)."""
    frame = random_frame(rng)
    for p in _points(rng, frame.at, 50.0):
        x, y, z = frame.into(p)
        flat = max(math.hypot(max(abs(x) - 30, 0), max(abs(y) - 10, 0)) - 10, 0)
        expected = math.hypot(flat, max(-z, z - 12.0, 0))
        assert point_to_shape(p, Plate(frame, ROUNDED, 12.0)) == pytest.approx(expected, abs=1e-9)


def test_plate_of_a_disc_is_a_cylinder(rng):
    """Two half circles are a disc, also for points exactly on their common chord (closed form)."""
    frame = Frame((0, 0, 0), (1, 0, 0), (0, 1, 0), (0, 0, 1))
    plate, rod = Plate(frame, DISC, 12.0), Cylinder((0, 0, 0), (0, 0, 12), 30.0)
    on_chord = [(x, 0.0, 20.0) for x in (-45, -30, -10, 0, 7, 30, 31)]
    for p in [*_points(rng, (0, 0, 0), 40.0), *on_chord]:
        assert point_to_shape(p, plate) == pytest.approx(point_to_shape(p, rod), abs=1e-9)


@pytest.mark.parametrize("contour", [WAIST, MOON])
def test_plate_with_hollow_sides(rng, contour):
    """Hollow outlines against 40 000 points of the outline and the winding of its polygon (brute force)."""
    ring = [(complex(x, y), b) for x, y, b in contour.vertices]
    points = []
    for (a, bulge), (b, _) in zip(ring, ring[1:] + ring[:1], strict=True):
        k = np.linspace(0, 1, 10_000, endpoint=False)
        half = 2 * math.atan(bulge)  # half the arc's sweep: inscribed angles say where its points stand
        chord = b - a
        turned = k if bulge == 0 else np.sin(k * half) / math.sin(half) * np.exp(1j * (k - 1) * half)
        points.append(a + chord * turned)
    outline = np.concatenate(points)
    frame = Frame((0, 0, 0), (1, 0, 0), (0, 1, 0), (0, 0, 1))
    for p in rng.uniform(-90, 90, (200, 3)):
        v = outline - complex(p[0], p[1])
        inside = abs(np.angle(np.roll(v, -1) / v).sum()) > math.pi
        flat = 0 if inside else np.abs(v).min()
        expected = math.hypot(flat, max(-p[2], p[2] - 12.0, 0))
        assert point_to_shape(p, Plate(frame, contour, 12.0)) == pytest.approx(expected, abs=2e-4)
