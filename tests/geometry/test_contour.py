"""Outlines: areas, bounds, hulls, distances and gaps against closed forms and dense points."""

import math

import numpy as np
import pytest

from manifoldgen.errors import GeometryError
from manifoldgen.geometry import contour as c
from manifoldgen.geometry.edges import ArcEdge, LineEdge, edge_gap

SHAPES = {
    "circle": c.circle(38),
    "oval": c.oval(44, 36),
    "tall oval": c.oval(20, 50),
    "rectangle": c.rectangle(54, 44, 10),
    "sharp": c.rectangle(30, 20, 0),
    "polygon": c.polygon([(0, 0), (0, 40), (15, 12), (60, 5)]),
    "hull": c.hull([((0, 0), 12), ((50, 5), 4), ((20, 30), 0), ((25, -18), 7), ((20, 2), 3)]),
    "lens": c.Contour(((0.0, 0.0, 0.2), (30.0, 0.0, -0.3), (30.0, 20.0, 1.4), (0.0, 20.0, 0.0))),
}
EACH = pytest.mark.parametrize("shape", SHAPES.values(), ids=SHAPES.keys())


def dense(shape: c.Contour, per_edge: int = 400) -> np.ndarray:
    """Points on every edge, ends included, by the edge's own parametrisation."""
    return np.array([e.point(k / per_edge) for e in shape.edges() for k in range(per_edge + 1)])


def test_areas_and_bounds_of_the_plain_openings() -> None:
    """A round, an oval and a rounded rectangle have the textbook area and size (closed forms)."""
    assert c.circle(38).area == pytest.approx(math.pi * 19**2, abs=1e-9)
    assert c.oval(44, 36).area == pytest.approx(math.pi * 18**2 + 8 * 36, abs=1e-9)
    assert c.rectangle(54, 44, 10).area == pytest.approx(54 * 44 - (4 - math.pi) * 100, abs=1e-9)
    assert c.rectangle(54, 44, 0).area == pytest.approx(54 * 44, abs=1e-9)
    assert c.rectangle(54, 44, 10).bounds == pytest.approx((-27, -22, 27, 22), abs=1e-9)
    assert c.oval(20, 50).moved(3, -4).bounds == pytest.approx((-7, -29, 13, 21), abs=1e-9)
    assert c.circle(38).length == pytest.approx(math.pi * 38, abs=1e-9)


def test_hull_of_two_rounds_is_the_belt() -> None:
    """Two circles: area and length of the open belt (closed form, trade formula for belts)."""
    big, small, apart = 30.0, 12.0, 80.0
    shape = c.hull([((0, 0), big), ((apart, 0), small)])
    lean = math.asin((big - small) / apart)
    straight = apart * math.cos(lean)
    area = straight * (big + small) + big**2 * (math.pi / 2 + lean) + small**2 * (math.pi / 2 - lean)
    assert shape.area == pytest.approx(area, abs=1e-9)
    length = 2 * straight + 2 * big * (math.pi / 2 + lean) + 2 * small * (math.pi / 2 - lean)
    assert shape.length == pytest.approx(length, abs=1e-9)


def test_hull_reaches_as_far_as_its_circles_in_every_direction() -> None:
    """A convex hull's reach is that of its farthest circle (definition); seeded random sets."""
    rng = np.random.default_rng(4)
    for case in range(30):
        n = int(rng.integers(1, 9))
        circles = [
            (tuple(rng.uniform(-50, 50, 2)), float(rng.choice([4, 9, rng.uniform(0, 20)]))) for _ in range(n)
        ]
        if case % 3 == 0:  # a row of equal circles, one twice: ties everywhere
            circles = [((20.0 * k, 0.0), 6.0) for k in (0, 1, 1, 2, 3)]
        if n == 1:
            circles[0] = (circles[0][0], 5.0)
        shape = c.hull(circles)
        seen = dense(shape, 200)
        for a in np.linspace(0, 2 * math.pi, 60):
            u = np.array([math.cos(a), math.sin(a)])
            want = max(float(np.dot(p, u)) + r for p, r in circles)
            got = float((seen @ u).max())
            assert want - 2e-3 < got < want + 1e-9, (case, a)
        assert all(edge.sweep > 0 for edge in shape.edges() if isinstance(edge, ArcEdge))


def test_polygon_is_turned_counter_clockwise() -> None:
    """Either sense of drawing gives the same counter-clockwise outline; a repeated end is dropped."""
    corners = [(0, 0), (0, 10), (10, 10), (10, 0), (0, 0)]
    assert c.polygon(corners).area == pytest.approx(100)
    assert c.polygon(corners[::-1]).area == pytest.approx(100)
    assert len(c.polygon(corners).vertices) == 4


@pytest.mark.parametrize(
    "corners",
    [
        [(0, 0), (10, 10), (10, 0), (0, 10)],  # bow tie
        [(0, 0), (10, 0), (5, 0), (5, 8)],  # folds back on itself
        [(0, 0), (10, 0), (10, 10), (5, 0), (0, 10)],  # touches itself
        [(0, 0), (10, 0)],
        [(1, 1), (1, 1), (1, 1)],
    ],
)
def test_outlines_that_enclose_nothing_clear_are_refused(corners: list[tuple[float, float]]) -> None:
    """Crossing, folded, touching or empty outlines are named, not drawn."""
    with pytest.raises(GeometryError, match=r"crosses|needs"):
        c.polygon(corners)


def test_impossible_sizes_are_refused() -> None:
    """A corner that does not fit, a size of 0 and NaN are named with their values."""
    for build in (
        lambda: c.rectangle(20, 10, 6),
        lambda: c.circle(0),
        lambda: c.oval(math.nan, 3),
        lambda: c.hull([]),
        lambda: c.hull([((0, 0), 0), ((5, 5), 0)]),
        lambda: c.points(c.circle(5), 0),
    ):
        with pytest.raises(GeometryError):
            build()


@EACH
def test_distance_and_sign_agree_with_a_drawn_outline(shape: c.Contour) -> None:
    """Signed distance against dense points, and inside/outside against the polyline's winding angle."""
    seen = dense(shape)
    rng = np.random.default_rng(1)
    ring = np.vstack([seen, seen[:1]])
    for p in rng.uniform(-70, 70, (120, 2)):
        off = float(np.linalg.norm(seen - p, axis=1).min())
        got = c.distance(shape, p)
        assert abs(got) <= off + 1e-9
        assert abs(got) == pytest.approx(off, abs=0.01 + 0.05 / max(off, 0.05))
        a = np.unwrap(np.arctan2(ring[:, 1] - p[1], ring[:, 0] - p[0]))
        if off > 0.1:
            assert (got < 0) == (round((a[-1] - a[0]) / (2 * math.pi)) == 1)
            assert c.contains(shape, p) == (got < 0)


def test_points_on_a_chord_are_counted_once() -> None:
    """The middle of a round lies on both its chords, and is inside; so are its neighbours on that line."""
    round_ = c.circle(10)
    assert c.distance(round_, (0, 0)) == pytest.approx(-5)
    assert c.contains(round_, (4.9, 0))
    assert not c.contains(round_, (5.1, 0))
    assert not c.contains(round_, (-5.1, 0))
    for angle in range(0, 360, 15):  # the same round with its vertices elsewhere
        x, y = 5 * math.cos(math.radians(angle)), 5 * math.sin(math.radians(angle))
        turned = c.Contour(((x, y, 1.0), (-x, -y, 1.0)))
        assert c.contains(turned, (0, 0))
        assert c.contains(turned, (x / 2, y / 2))


@EACH
def test_drawn_points_keep_to_the_tolerance(shape: c.Contour) -> None:
    """The polyline's chords leave the outline by no more than was asked."""
    drawn = c.points(shape, 0.05)
    for a, b in zip(drawn, drawn[1:] + drawn[:1], strict=True):
        assert abs(c.distance(shape, a)) < 1e-9
        middle = ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)
        assert abs(c.distance(shape, middle)) <= 0.05 + 1e-9


def test_gaps_of_plain_outlines() -> None:
    """Hole to edge, hole to hole, side by side and crossing (closed forms)."""
    plate = c.rectangle(100, 60, 10)
    hole = c.circle(9)
    assert c.gap(plate, hole.moved(40, 20)) == pytest.approx(5.5, abs=1e-9)
    assert c.gap(plate, hole.moved(43, 23)) == pytest.approx(10 - math.hypot(3, 3) - 4.5, abs=1e-9)
    assert c.gap(hole, hole.moved(30, 40)) == pytest.approx(41, abs=1e-9)
    assert c.gap(hole, c.circle(20)) == pytest.approx(5.5, abs=1e-9)
    assert c.gap(plate, plate.moved(103, 0)) == pytest.approx(3, abs=1e-9)
    assert c.gap(plate, plate.moved(50, 30)) == 0


def test_gap_never_above_dense_points() -> None:
    """Every pair of shapes: the gap is what dense points show, and never more."""
    rng = np.random.default_rng(7)
    shapes = list(SHAPES.values())
    for _ in range(30):
        a, b = (shapes[int(k)] for k in rng.integers(0, len(shapes), 2))
        b = b.moved(*(float(v) for v in rng.uniform(-90, 90, 2)))
        pa, pb = dense(a, 120), dense(b, 120)
        near = float(np.linalg.norm(pa[:, None] - pb[None], axis=2).min())
        got = c.gap(a, b)
        assert got <= near + 1e-9
        assert got == pytest.approx(near, abs=0.3 if near < 1 else 0.05)
        assert c.gap(b, a) == pytest.approx(got, abs=1e-9)


def test_edges_that_cross_have_no_gap() -> None:
    """Line and arc, arc and arc that cross in mid-edge, where no end is near (closed form)."""
    arc = ArcEdge.bulged((-10, 0), (10, 0), -1.0)  # the upper half round
    assert edge_gap(LineEdge((0, 5), (0, 50)), arc) == 0
    assert edge_gap(arc, ArcEdge.bulged((0, 20), (0, 0), 1.0)) == 0
    assert edge_gap(LineEdge((-30, 14), (30, 14)), arc) == pytest.approx(4, abs=1e-12)
