"""The mill nest: with a tube in it, each cut lies level at the height that the sheet says."""

from __future__ import annotations

import math
import re

import numpy as np
import pytest

from manifoldgen.geometry.vectors import array, unit
from manifoldgen.prints import bodies
from manifoldgen.prints.nest import laid_out, nest_solid, nests
from manifoldgen.shop.plan import ShopPlan
from tests.prints.aids import job, overlap


def planes(c, k):
    """Normals of the two planes that divide inlet k of a collector from its neighbours, towards them (closed form)."""
    made = []
    for side in (1, -1):
        half = math.radians(c.ring_angles[k] + side * 180.0 / len(c.order))
        between = np.array([-math.sin(half), math.cos(half), 0.0])  # half way to the neighbour
        # right-handed for ring angles that grow, so the neighbour on that side lies ahead of it
        made.append(c.frame.turn(side * np.cross((0.0, 0.0, 1.0), between)))
    return made


def turned(nest, way, back, side):
    """The rotation that lays a tube in the nest: along its axis, the back line on the key."""
    here = np.column_stack([way, back, np.cross(way, back)])
    key = nest.key(side)
    there = np.column_stack([nest.axis, key, np.cross(nest.axis, key)])
    return there @ here.T


def test_each_cut_lies_level_at_the_height_told():
    """The bisector planes of every inlet, taken along with the tube, are parallel to the table within 1e-9."""
    m = job()
    c = m.collectors[0]
    nest = laid_out(m, ShopPlan(m).mill[0], c)
    for k, number in enumerate(c.order):
        inlet = c.inlet(number)
        way = array(inlet.direction)
        outward = array(inlet.at) - array(c.frame.at)
        back = unit(outward - (outward @ way) * way)
        levels = []
        for plane in planes(c, k):
            best = max(
                (turned(nest, way, back, side) for side in (1, -1)), key=lambda r: float((r @ plane)[2])
            )
            normal = best @ plane
            assert normal[2] == pytest.approx(1.0, abs=1e-9)
            assert np.abs(normal[:2]).max() < 1e-9
            # the collector's axis lies in the plane: where this tube meets it is the plane's height
            apex = c.ring_radius / math.sin(math.radians(c.half_angle))
            low = nest.foot + (apex - nest.from_ring) * nest.axis
            levels.append(float(low[2]))
        assert levels == pytest.approx([nest.height] * 2, abs=1e-9)


def test_the_print_has_the_bore_the_slots_and_the_flat():
    """The printed nest is what the numbers say: a bar passes along the bore, keys enter both slots and nowhere else."""
    m = job()
    nest = laid_out(m, ShopPlan(m).mill[0], m.collectors[0])
    solid = nest_solid(m, nest, "C")
    start = nest.foot - 5 * nest.axis
    bar = bodies.cylinder(start, nest.axis, nest.bore - 0.05, nest.length + 10.0)

    assert overlap(solid, bar) < 1e-6
    assert overlap(solid, bodies.cylinder(start, nest.axis, nest.bore + 0.5, nest.length + 10.0)) > 50.0
    assert solid.bounding_box()[2] == 0.0
    for side in (1, -1):
        key = bodies.cylinder(nest.foot + (nest.bore + 2.5) * nest.key(side), nest.axis, 2.0, 4.0)
        assert overlap(solid, key) < 1e-6
    bottom = bodies.cylinder(nest.foot - (nest.bore + 2.5) * nest.top, nest.axis, 2.0, 4.0)
    assert overlap(solid, bottom) > 40.0


def test_the_cutter_never_reaches_the_nest():
    """All of it lies below the plane that is milled, and the collar's places are told for every inlet."""
    m = job()
    sheet = ShopPlan(m).mill[0]
    nest = laid_out(m, sheet, m.collectors[0])
    parts = nests(m, ShopPlan(m).mill)

    assert parts[0].size[2] < nest.height - 5.0
    assert f"{nest.height:.1f} mm over the table" in parts[0].sits
    assert all(i.piece in parts[1].sits for i in sheet.inlets)


@pytest.mark.parametrize("name", ["sand_rail_four", "snow_groomer_three"])
def test_every_blank_of_the_cut_list_is_long_enough_for_nest_and_collar(name):
    """The nest asks for nothing that the saw has not left: collar, nest and gap to the cutter fit behind the first cut."""
    m = job(name)
    plan = ShopPlan(m)
    (sheet,) = plan.mill
    nest, collar = laid_out(m, sheet, m.collectors[0]), nests(m, plan.mill)[1]
    told = dict(re.findall(r"(R\d+-P\d+) (\d+\.\d)", collar.sits))

    assert set(told) == {i.piece for i in sheet.inlets}
    for i in sheet.inlets:
        behind = plan.sawn[i.piece].line
        face = float(told[i.piece])  # of the collar, from the sawn end
        assert behind == pytest.approx(i.extra)
        assert face >= 12.0 - 0.05  # the collar's own width lies on tube
        # collar, 40 mm in the nest, 3 mm free, then the first cut
        assert face + 40.0 + 3.0 == pytest.approx(behind + i.scallop, abs=0.06)
        assert nest.length == 40.0
    assert "longer" not in " ".join((*collar.cautions, collar.sits))
