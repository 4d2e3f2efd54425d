"""The bounds that certify a distance, each held against sampling."""

from __future__ import annotations

import math

import numpy as np
import pytest

from manifoldgen.geometry import _kernels, _search
from manifoldgen.geometry.path import Bend, Path
from manifoldgen.geometry.pose import Frame
from manifoldgen.geometry.rows import NO_EDGES, run_of, shape_rows
from manifoldgen.geometry.shapes import Plate, Tube
from tests.geometry.test_distance_points import MOON, ROUNDED, WAIST
from tests.strategies import random_direction, random_path

SEED = 31
BENCH = Frame((0, 0, 0), (1, 0, 0), (0, 1, 0), (0, 0, 1))


def _bend_tube(rng, radius=20.0):
    start = random_path(rng, 40.0, 1).start
    return Tube(Path(start, (Bend(float(rng.uniform(20, 200)), float(rng.uniform(24, 60))),)), radius)


def _rows(rng):
    for contour in (ROUNDED, WAIST, MOON):
        rows, edges = shape_rows(Plate(BENCH, contour, 12.0))
        yield rows[0], edges, np.zeros(3)
    tube = _bend_tube(rng)
    yield run_of(tube).segs[0], NO_EDGES, np.array(tube.path.segments[0].centre)


def test_distance_stays_above_its_tangent():
    """Where `hollow` gives a bound c, no point within reach lies lower than the tangent less c (way)²/2."""
    rng = np.random.default_rng(SEED)
    known = 0
    for _ in range(150):
        for row, edges, centre in _rows(rng):
            p = centre + rng.normal(size=3) * 50
            d, *q = _kernels.nearest(row, edges, *p)
            reach = float(rng.choice([1.0, 5.0, 20.0]))
            c = _kernels.hollow(row, edges, *p, reach)
            if d == 0 or not math.isfinite(c):
                continue
            known += 1
            gradient = (p - q) / d
            for way in (random_direction(rng) * reach * k for k in np.linspace(0.1, 1, 12)):
                there = _kernels.nearest(row, edges, *(p + way))[0]
                assert there >= d + gradient @ way - c * (way @ way) / 2 - 1e-7
    assert known > 250


@pytest.mark.parametrize("wall", [True, False])
def test_wall_and_disc_searches_against_sampling(wall):
    """A bend's wall, and its end disc, against another bend: never above samples, nor far below."""
    rng = np.random.default_rng(SEED + 1)
    for _ in range(12):
        a, b = _bend_tube(rng), _bend_tube(rng)
        seg, row = run_of(a).segs[0], run_of(b).segs[0]
        piece = seg if wall else run_of(a).kernel[3][0]
        best = np.array([1e18, 0, 0, 0, 0, 0, 0, 0, math.inf, math.inf])
        _search._patch(piece, wall, row, NO_EDGES, 20.0, 1e-3, 4e5, best)
        arc, turns = a.path.segments[0], np.linspace(0, 2 * math.pi, 80)
        sampled, step = math.inf, 3.0
        for u in np.linspace(0, arc.length if wall else 20.0, 40):
            s, out = (u, 20.0) if wall else (0.0, u)
            radial = np.cross(arc.tangent(s), arc.axis)
            for v in turns:
                p = arc.point(s) + out * (math.cos(v) * arc.axis + math.sin(v) * radial)
                sampled = min(sampled, _kernels.nearest(row, NO_EDGES, *p)[0])
        if sampled > 0.1:
            assert sampled - step <= best[0] <= sampled + 1e-3
