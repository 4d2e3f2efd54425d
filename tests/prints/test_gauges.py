"""Stud gauge and drill guides: everything stands where the real head and the flanges have it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from manifoldgen.errors import SolidError
from manifoldgen.geometry.vectors import array
from manifoldgen.prints import bodies
from manifoldgen.prints.gauges import BUSH, drill_guides, stud_gauge
from tests.prints.aids import in_place, job, overlap

UP = (0.0, 0.0, 1.0)
M8_MINOR = 6.647  # ISO 724, M8 coarse: minor diameter of the internal thread


def whole(parts):
    """All parts of an aid together."""
    return bodies.union([in_place(p) for p in parts])


def test_the_gauge_drops_over_every_stud():
    """A bar of the stud's own 8 mm with the fit round it passes at each stud's place; one 0.3 mm thicker does not."""
    m = job()
    gauge = whole(stud_gauge(m))
    fit = m.workshop.fit + m.workshop.hole_extra / 2
    for stud in (s for s in m.studs if s.flange == "head flange"):
        start = array(stud.at) * (1, 1, 0) - (0, 0, 5)
        assert overlap(gauge, bodies.cylinder(start, UP, 4.0 + fit - 0.05, 30.0)) < 1e-6, stud.id
        ring = bodies.minus(
            bodies.cylinder(start, UP, 4.0 + fit + 3.0, 30.0), bodies.cylinder(start, UP, 4.0 + fit + 0.1, 30.0)
        )  # fmt: skip
        assert overlap(gauge, ring) > 0.9 * np.pi * ((4.0 + fit + 3.0) ** 2 - (4.0 + fit + 0.1) ** 2) * 4.0


def test_the_pins_stand_at_the_studs_places():
    """With the studs out, pins of the thread's minor diameter less the fit stand below the face at each place."""
    m = job()
    gauge = whole(stud_gauge(m, pins=True))
    radius = M8_MINOR / 2 - m.workshop.fit
    below = bodies.upto(gauge, (0.0, 0.0, -1e-6), UP)
    studs = [s for s in m.studs if s.flange == "head flange"]
    pins = below.decompose()

    assert len(pins) == len(studs)
    for stud in studs:
        x, y, _ = stud.at
        core = bodies.cylinder((x, y, -5.0), UP, radius - 0.05, 5.0)
        room = bodies.cylinder((x, y, -9.0), UP, radius + 0.05, 9.0)
        assert overlap(gauge, core) == pytest.approx(core.volume(), rel=1e-3), stud.id
        assert sum(overlap(p, room) > 1.0 for p in pins) == 1
    assert below.volume() == pytest.approx(
        sum(overlap(below, bodies.cylinder((*s.at[:2], -9.0), UP, radius + 0.05, 9.0)) for s in studs),
        rel=1e-3,
    )


def test_parts_of_a_long_gauge_go_together_without_touching_twice():
    """A head longer than the bed: the laps mate, nothing overlaps, one body's outline is what the head needs."""
    parts = stud_gauge(job())

    assert len(parts) == 2
    assert overlap(in_place(parts[0]), in_place(parts[1])) < 1e-6
    # let down by a hair, the upper tongue lies on the lower one
    lowered = [in_place(parts[0]), in_place(parts[1]).translate((0.0, 0.0, -0.05))]
    assert overlap(*lowered) > 5.0


def test_the_ports_look_through_the_gauge():
    """The head's ports stay open: nothing of the gauge stands in one."""
    m = job()
    gauge = whole(stud_gauge(m))
    for port in m.ports:
        outline = bodies.outline(port.opening.contour).offset(-0.05).translate(port.at[:2])
        assert overlap(gauge, bodies.plate(outline, -5.0, 20.0)) < 1e-6


def test_a_bush_goes_into_every_hole_of_every_flange():
    """At each hole of each flange the drill guide leaves room for a bush of 8 mm, with steel plastic round it."""
    m = job()
    parts = drill_guides(m)
    for flange in m.flanges:
        guide = whole([p for p in parts if flange.name.replace(" ", "-") in p.name])
        for hole in flange.holes:
            at = flange.frame.out((*hole.at, -20.0))
            assert overlap(guide, bodies.cylinder(at, flange.frame.z, BUSH / 2, 50.0)) < 1e-6, hole.id
            assert overlap(guide, bodies.cylinder(at, flange.frame.z, BUSH / 2 + 2.0, 50.0)) > 250.0, hole.id


def test_a_pin_that_would_snap_is_refused():
    """Pins for a thread too small are not printed: the sentence says how thin and what to do."""
    m = job()
    studs = tuple(replace(s, thread="M6") if s.flange == m.head.name else s for s in m.studs)
    small = replace(m, studs=studs, workshop=replace(m.workshop, fit=1.0))
    # ISO 724, M6 coarse: minor diameter 4.917
    with pytest.raises(SolidError, match=r"M6 would be 2\.9 mm thick and snap; make the gauge with holes"):
        stud_gauge(small, pins=True)
