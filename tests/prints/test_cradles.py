"""Joint cradles: both pieces lie in them where the model has them, can be lifted out, and the joint is open."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from manifoldgen.errors import SolidError
from manifoldgen.geometry.path import Straight
from manifoldgen.geometry.vectors import array
from manifoldgen.prints import bodies
from manifoldgen.prints.cradles import WINDOW, cradle
from tests.prints.aids import cradles_of, in_place, job, overlap


def held(m, part):
    """The joint of a cradle and its two pieces as solids, at the model's place."""
    joint = next(j for j in m.joints if j.id == part.mark.split()[0])
    pieces = {p.id: p for p in m.pieces}
    return joint, [bodies.tube(pieces[i].path, pieces[i].section.radius) for i in joint.between]


def test_every_butt_joint_between_tubes_has_a_cradle():
    """None is forgotten; flange joints and the collector's seams have none."""
    m = job()
    tubes = {p.id for p in m.pieces if p.path is not None}
    asked = [j.id for j in m.joints if j.kind == "butt" and set(j.between) <= tubes]

    assert asked
    assert [p.mark.split()[0] for p in cradles_of()] == asked


def test_both_pieces_lie_in_it_as_in_the_model_and_lift_straight_out():
    """Nothing of the cradle is in the steel: at the model's poses, and on the whole way up."""
    m = job()
    for part in cradles_of()[::3]:
        _, tubes = held(m, part)
        solid, up = in_place(part), array(part.pose.z)
        for tube in tubes:
            for lift in (0.0, 3.0, 12.0, 40.0):
                assert overlap(solid, tube.translate(tuple(lift * up))) < 1e-6, (part.name, lift)


def test_it_holds_them_within_the_fit():
    """Let down by less than the fit a piece still hangs free; by a little more it lies in the trough."""
    m = job()
    fit = m.workshop.fit
    for part in cradles_of()[::3]:
        joint, tubes = held(m, part)
        solid, up = in_place(part), array(part.pose.z)
        across = np.cross(up, joint.direction)
        for tube in tubes:
            assert overlap(solid, tube.translate(tuple(-(fit - 0.06) * up))) < 1e-6, part.name
            assert overlap(solid, tube.translate(tuple(-(fit + 0.15) * up))) > 0.05, part.name
            assert overlap(solid, tube.translate(tuple(1.0 * across))) > 1.0, part.name  # nor can it shift


def test_the_joint_is_open_all_round_for_the_tacks():
    """Between two long pieces 25 mm of the joint stand free, above and underneath."""
    m = job()
    pieces = {p.id: p for p in m.pieces}
    seen = 0
    for part in cradles_of():
        joint, _ = held(m, part)
        if min(pieces[i].path.length for i in joint.between) < WINDOW:
            continue
        seen += 1
        along = array(joint.direction)
        start = array(joint.at) - (WINDOW / 2 - 0.05) * along
        free = bodies.cylinder(start, along, joint.radius + 2.0, WINDOW - 0.1)
        assert overlap(in_place(part), free) < 1e-6, part.name
    assert seen >= 5


def test_it_stands_flat_and_warns_of_the_heat():
    """It prints and stands on its base; the sheet says that it is for tacks only."""
    for part in cradles_of()[::4]:
        corners = part.mesh.corners
        cross = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
        foot = -cross[np.abs(corners[:, :, 2]).max(axis=1) < 1e-6, 2].sum() / 2
        assert foot > 400.0, part.name
        assert any("before welding" in c and "tacks" in c for c in part.cautions)


def test_a_piece_too_short_to_be_held_is_said():
    """A ring of a few millimetres has no trough: the sentence says how long it is and what to do."""
    m = job()
    joint = next(j for j in m.joints if j.id == "J1.2")
    short = {
        p.id: replace(p, path=replace(p.path, elements=(Straight(5.0),))) if p.id == joint.between[0] else p
        for p in m.pieces
    }
    with pytest.raises(SolidError, match=r"is 5\.0 mm long, a trough needs 7\.0; tack it square"):
        cradle(m, joint, *(short[i] for i in joint.between))
