"""Window shell, tool dummies, reach piece and bench stand; and what every aid must be."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from manifoldgen.errors import SolidError
from manifoldgen.geometry.pose import Frame
from manifoldgen.geometry.vectors import array
from manifoldgen.prints import bodies
from manifoldgen.prints.all import Options, printed_parts
from manifoldgen.prints.dummies import tool_dummies
from manifoldgen.prints.reach_piece import reach_piece
from manifoldgen.prints.stand import stand
from manifoldgen.prints.window import windows
from manifoldgen.shop.plan import ShopPlan
from manifoldgen.shop.stand_place import placed
from tests.prints.aids import in_place, job, overlap
from tests.worked import bare, demo

AIDS = frozenset(
    ["gauge", "reach", "dummy", "guide", "cradle", "nest", "window", "drill guide", "stand"]
)  # fmt: skip


def test_the_window_is_the_branch_s_bore_where_it_leaves_the_bend():
    """A bar of the branch's bore passes through both halves together, one 0.4 mm wider scrapes each of them."""
    m = job()
    branch = m.branches[0]
    parts = windows(m)
    assert len(parts) == 2
    for part in parts:
        solid = in_place(part)
        for wider, touches in ((-0.05, False), (0.4, True)):
            bar = bodies.cylinder(branch.root, branch.axis, branch.run.section.bore_radius + wider, 200.0)
            assert (overlap(solid, bar) > 1e-6) == touches, (part.name, wider)


def test_the_window_shells_lie_on_the_elbow_and_not_in_each_other():
    """The elbow as a loose piece lies in both halves; the halves meet in the bend's plane."""
    m = job()
    parts = [in_place(p) for p in windows(m)]
    elbow = next(p for p in m.pieces if p.part == "outlet" and m.branches[0].element in p.elements)
    tube = bodies.tube(elbow.path, elbow.section.radius)

    assert all(overlap(p, tube) < 1e-6 for p in parts)
    assert overlap(*parts) < 1e-6
    # the stops' inner faces stand at the elbow's own end
    for p in parts:
        off = (np.asarray(p.to_mesh64().vert_properties)[:, :3] - array(elbow.path.start.at)) @ array(
            elbow.path.start.direction
        )
        assert off.min() == pytest.approx(-4.0, abs=1e-6)


def test_a_branch_off_the_cone_has_no_window():
    """A shell is for bends; on a cone the wrap fits."""
    m = job()
    cone = replace(m, branches=(replace(m.branches[0], takeoff="cone", element=None),))

    assert windows(cone) == ()
    assert not [a for a in ShopPlan(cone).aids if a.family == "wastegate window"]


def test_the_ratchet_dummy_has_the_catalogue_s_sizes_and_takes_a_nut():
    """A nut of 13 mm (ISO 4032, M8) goes into the socket, and the head is as wide as the catalogue's ratchet."""
    ratchet = next(p for p in tool_dummies(job()) if "ratchet" in p.name)
    solid = in_place(ratchet)
    b = solid.bounding_box()
    nut = bodies.Body.cylinder(8.0, 13.0 / math.sqrt(3), circular_segments=6).translate(
        (0.0, 0.0, b[2] - 1.0)
    )
    wide = job().tables.row("tools", "ratchet", "10")

    assert overlap(solid, nut) < 1e-6
    assert b[0] == pytest.approx(-wide["head_d"] / 2, abs=0.05)
    assert b[3] == pytest.approx(wide["length"] - 14.0, abs=16.0)


def test_the_reach_piece_stands_round_the_stud_asked_for():
    """The stud's hole is there in its place, the runner beside it too, and it is small."""
    m = job()
    (part,) = reach_piece(m, demo("sand_rail_four").hands.studs, "S4")
    solid = in_place(part)
    stud = next(s for s in m.studs if s.id == "S4")
    hole = bodies.cylinder(array(stud.at) - (0, 0, 20), stud.axis, stud.hole / 2 - 0.05, 40.0)
    skin = bodies.cylinder((192.0, 0.0, 14.0), (0.0, 0.0, 1.0), m.head.tube.radius - 0.3, 8.0)

    assert part.mark == "S4"
    assert overlap(solid, hole) < 1e-6
    assert overlap(solid, skin) > 1000.0
    assert part.grams < 160.0
    with pytest.raises(SolidError, match="the head has no stud S99; it has S1"):
        reach_piece(m, demo("sand_rail_four").hands.studs, "S99")


def test_the_stand_holds_the_flange_and_touches_nothing_else():
    """Its plate lies on the mating face with the bolts' holes in place; no part is in a tube, a flange or another part."""
    m = job()
    parts = stand(m)
    solids = [in_place(p) for p in parts]
    flange = m.turbo
    plate = solids[0]
    face = flange.frame.out((0.0, 0.0, flange.thickness))

    off = (parts[0].in_place.vertices - face) @ array(flange.frame.z)
    assert off.min() == pytest.approx(0.0, abs=1e-6)
    for hole in flange.holes:
        bolt = bodies.cylinder(
            flange.frame.out((*hole.at, -5.0)), flange.frame.z, hole.diameter / 2 - 0.05, 50.0
        )
        assert overlap(plate, bolt) < 1e-6, hole.id
        assert overlap(plate, bodies.cylinder(flange.frame.out((*hole.at, -5.0)), flange.frame.z, hole.diameter / 2 + 2, 50.0)) > 50.0  # fmt: skip
    for k, solid in enumerate(solids):
        for other in solids[:k]:
            assert overlap(solid, other) < 0.1  # they touch on an oblique plane
        for run in m.runs:
            if run.path is not None:
                assert overlap(solid, bodies.tube(run.path, run.section.radius)) < 1e-6
    post = solids[1]
    assert min(post.bounding_box()[2], 0.0) == pytest.approx(0.0, abs=1e-6)
    x, y, _ = placed(m).foot.at
    assert (x, y) == pytest.approx(
        (
            (post.bounding_box()[0] + post.bounding_box()[3]) / 2,
            (post.bounding_box()[1] + post.bounding_box()[4]) / 2,
        )
    )


@pytest.mark.parametrize("name", ["orchard_sprayer_three", "snow_groomer_three"])
def test_a_flange_that_stands_upright_has_its_post_behind(name):
    """A V-band on edge: the plate's collar goes round it, the post stands where the turbo will be, and nothing overlaps."""
    m = job(name)
    flange = m.turbo
    parts = stand(m)
    solids = [in_place(p) for p in parts]
    disc = bodies.cylinder(
        flange.frame.out((0.0, 0.0, flange.thickness - 6.0)), flange.frame.z, flange.vband.od / 2, 6.0 - 1e-3
    )

    assert overlap(solids[0], disc) < 1e-6
    for way in (flange.frame.x, flange.frame.y):
        assert overlap(solids[0], disc.translate(tuple(1.0 * array(way)))) > 50.0  # the collar holds it
    for k, solid in enumerate(solids):
        for other in solids[:k]:
            assert overlap(solid, other) < 0.1
        for run in m.runs:
            if run.path is not None:
                assert overlap(solid, bodies.tube(run.path, run.section.radius)) < 1e-6
    mating = flange.frame.out((0.0, 0.0, flange.thickness))
    post = [p for p in parts if "post" in p.name][-1].in_place.vertices
    beside = post[post[:, 2] > mating[2] - flange.vband.od / 2]
    assert ((beside - mating) @ array(flange.frame.z)).min() > 9.9  # the plate's thickness


def test_a_flange_too_near_the_bench_has_no_printed_stand():
    """It says how low the plate would hang and what to use instead."""
    m = job()
    low = Frame.facing((144.0, 300.0, 70.0), (0.0, 1.0, 0.1), (0.0, 0.0, 1.0))
    with pytest.raises(
        SolidError, match="mm over the bench, a printed post needs 28; hold it on an angle plate"
    ):
        stand(replace(m, turbo=replace(m.turbo, frame=low)))


@pytest.mark.slow
@pytest.mark.parametrize("name", ["sand_rail_four", "orchard_sprayer_three"])
def test_every_aid_is_one_closed_body_that_stands_on_the_bed(name):
    """One closed solid, on z = 0, inside the bed less its margin, with a purpose, a seat and a warning of heat."""
    m = job(name)
    made = printed_parts(demo(name), Options(kinds=AIDS))
    names = [p.name for p in made.parts]

    assert len(names) == len(set(names)) >= 10
    room = m.workshop.room
    for part in made.parts:
        low = part.mesh.vertices.min(axis=0)
        assert part.mesh.closed, part.name
        assert len(bodies.solid_of(part.mesh).decompose()) == 1, part.name
        assert np.abs(low).max() < 1e-6, part.name
        assert all(s <= r + 1e-6 for s, r in zip(part.size, room, strict=True)), part.name
        assert part.purpose.endswith("."), part.name
        assert part.sits, part.name
        assert part.cautions, part.name
        assert 0 < part.grams < 400, part.name


def test_an_aid_that_cannot_be_made_is_said_and_the_others_are_made():
    """A bed too small for guides leaves them out, each with a sentence; small parts are still printed."""
    m = job()
    small = replace(m, workshop=replace(m.workshop, bed=(90.0, 90.0, 90.0)))
    made = printed_parts(bare(small), Options(kinds=frozenset(["guide"])))

    assert made.parts
    assert made.errors
    assert all("larger print.bed" in str(e) for e in made.errors)


def test_walls_are_as_thick_as_they_must_be():
    """Rays into guides and cradles from sampled points of their skin meet at least 1.2 mm of plastic.

    But for the ridges between engraved lines, which stand 0.6 mm high on something thick.
    """
    made = printed_parts(bare(job()), Options(kinds=frozenset(["guide", "cradle", "nest", "window"])))
    random = np.random.default_rng(6)
    for part in made.parts[::3]:
        solid = bodies.solid_of(part.mesh)
        corners = part.mesh.corners
        cross = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
        area = np.linalg.norm(cross, axis=1)
        picked = random.choice(len(area), 300, p=area / area.sum())
        share = random.dirichlet((1, 1, 1), 300)
        points = np.einsum("ij,ijk->ik", share, corners[picked])
        inward = -cross[picked] / area[picked, None]
        thin = 0
        for p, d in zip(points, inward, strict=True):
            hits = solid.ray_cast(tuple(p + 1e-4 * d), tuple(p + 1.2 * d))
            thin += bool(hits)
        assert thin <= 9, part.name
