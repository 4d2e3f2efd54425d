"""Print poses: on the bed, inside the margin, with little overhang, and back again."""

from __future__ import annotations

import numpy as np
import pytest

from manifoldgen.errors import SolidError
from manifoldgen.geometry.pose import Frame
from manifoldgen.prints import bed, bodies

BED = (220.0, 220.0, 250.0)
TILTED = Frame.facing((30.0, -20.0, 55.0), (0.3, -0.5, 0.8), (0.0, 1.0, 0.0), clock=17.0)


def test_a_table_is_printed_on_its_top():
    """A plate on four legs, lying anyhow in space, is turned legs up: nothing hangs over, and it comes back exactly."""
    top = bodies.box((0, 0, 40), (80, 60, 46), TILTED)
    legs = [bodies.box((x, y, 0), (x + 8, y + 8, 41), TILTED) for x in (0, 72) for y in (0, 52)]
    mesh = bodies.mesh_of(bodies.union([top, *legs]), "table")
    placed, frame = bed.stand(mesh, BED)

    assert bed.overhang(placed) == 0.0
    assert bed.overhang(mesh, TILTED.z) == pytest.approx(
        80 * 60 - 4 * 64
    )  # closed form: the top less its legs
    assert placed.vertices.min(axis=0) == pytest.approx([0, 0, 0], abs=1e-9)
    assert sorted(np.ptp(placed.vertices, axis=0)) == pytest.approx([46, 60, 80], abs=0.1)
    assert frame.out(placed.vertices) == pytest.approx(mesh.vertices, abs=1e-9)


def test_a_long_bar_is_turned_across_the_bed():
    """270 mm do not fit along 210 but across the corner (210 sqrt 2 = 297); 320 mm do not fit at all."""
    bar = bodies.mesh_of(bodies.box((0, 0, 0), (270, 10, 10)), "bar")
    placed, _ = bed.stand(bar, BED)

    assert np.ptp(placed.vertices, axis=0)[:2].max() <= 210.0
    too_long = bodies.mesh_of(bodies.box((0, 0, 0), (320, 10, 10)), "long bar")
    with pytest.raises(SolidError, match=r"long bar: takes .* room for 210 x 210 x 245 mm"):
        bed.stand(too_long, BED)


def test_the_same_part_stands_the_same_way_twice():
    """The search has no chance in it."""
    mesh = bodies.mesh_of(bodies.cone((0, 0, 0), (1, 2, 3), 20, 8, 50), "cone")
    first, second = bed.stand(mesh, BED), bed.stand(mesh, BED)

    assert first[1] == second[1]
    assert (first[0].vertices == second[0].vertices).all()
