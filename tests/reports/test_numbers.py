"""report.json: keys that stay, numbers that agree with each other and with closed forms."""

from __future__ import annotations

import json
import math
from dataclasses import replace

import numpy as np
import pytest

import manifoldgen as mg
from manifoldgen.geometry.path import Bend, Path, Straight
from manifoldgen.geometry.pose import Pose
from manifoldgen.manifold.model import Owner, Piece
from manifoldgen.pieces import split
from manifoldgen.reports import counts, dump, report
from tests import factory
from tests.worked import bare


@pytest.fixture(scope="module")
def content():
    """The report of a bundle with a wastegate branch."""
    return report(mg.design(factory.with_branch(factory.manifold(3)), search=False))


def test_report_is_plain_json(content):
    """Numbers are numbers, all finite, and what is read is what was written."""
    assert json.loads(dump(content)) == json.loads(json.dumps(content))
    with pytest.raises(ValueError, match="JSON"):
        dump({"gap": math.nan})


def test_corner_points_rebuild_the_length():
    """Anyone can rebuild a runner from its corners and radii: the length comes out again (plane geometry)."""
    m = factory.manifold(3)
    bent = Path(
        m.runners[0].start, (Straight(40.0), Bend(60.0, 63.6, 20.0), Straight(35.0), Bend(30.0, 63.6, 90.0))
    )
    runner = report(bare(replace(m, runners=(replace(m.runners[0], path=bent),))))["runners"]["1"]
    points, clrs = np.array(runner["corners"]), runner["clrs"]
    legs = np.diff(points, axis=0)
    along = legs / np.linalg.norm(legs, axis=1, keepdims=True)
    turns = np.arccos((along[:-1] * along[1:]).sum(axis=1))
    length = np.linalg.norm(legs, axis=1).sum() - sum(
        r * (2 * math.tan(t / 2) - t) for r, t in zip(clrs, turns, strict=True)
    )

    assert len(clrs) == len(points) - 2
    assert runner["length_mm"] == pytest.approx(length, rel=1e-12)
    assert runner["bend_deg"] == pytest.approx(math.degrees(turns.sum()))
    # Pappus: ring area times centreline
    # 304: 7900 kg/m³ (EN 10088-1 table of physical properties)
    assert runner["mass_kg"] == pytest.approx(7900e-9 * runner["volume_mm3"], rel=0.02)
    assert runner["volume_mm3"] == pytest.approx(math.pi * (21.2**2 - 19.2**2) * length, rel=1e-12)


def test_spread_is_over_the_mean():
    """(longest - shortest) / mean, in per cent, as the parameter file asks for it."""
    m = factory.manifold(2)
    paths = (Path(m.runners[0].start, (Straight(190.0),)), Path(m.runners[1].start, (Straight(210.0),)))
    m = replace(m, runners=tuple(replace(r, path=p) for r, p in zip(m.runners, paths, strict=True)))

    lengths = report(bare(m))["length"]
    del lengths["lower_bound_mm"]
    assert lengths == {
        "spread_pct": pytest.approx(10.0),
        "longest_mm": 210.0,
        "shortest_mm": 190.0,
    }


def test_what_was_not_built_is_absent():
    """A key is never faked: no pieces before the split, no lengths while a path is open, no solids in a check."""
    m = factory.manifold(2)
    m = replace(m, runners=(m.runners[0], replace(m.runners[1], path=None, todo="auto")))
    content = report(bare(m))

    assert set(content["runners"]) == {"1"}
    assert not {"length", "pieces", "solids"} & set(content)


def test_back_centre_and_throat_of_a_bend():
    """A 60° bend on CLR 63.6 of tube 42.4 with 10 and 20 mm straights: arc lengths of the bend alone, as it is laid out."""
    path = Path(Pose.heading((0, 0, 0), (0, 0, 1)), (Straight(10.0), Bend(60.0, 63.6, 45.0), Straight(20.0)))
    m = factory.alone(factory.manifold(), replace(factory.runner(1, [Straight(50.0)]), path=path))
    own = {"owner": Owner("runner", "runner 1"), "joints": ("J1.1", "J1.2")}
    piece = Piece("R1-P1", "runner 1", path, factory.TUBE, (0, 1, 2), "el90", role="tube", number=1, **own)
    (made,) = report(bare(replace(m, pieces=(piece,))))["pieces"]
    third = math.pi / 3

    assert made["straights_mm"] == [10.0, 20.0]
    assert made["back_mm"] == pytest.approx(third * 84.8)
    assert made["centre_mm"] == pytest.approx(third * 63.6)
    assert made["throat_mm"] == pytest.approx(third * 42.4)
    assert made["net_mm"] == pytest.approx(30.0 + third * 63.6)
    assert (made["angle_deg"], made["clr_mm"], made["od_mm"]) == (60.0, 63.6, 42.4)


def test_a_piece_says_what_it_is_cut_to():
    """A 50 mm tube alone: 0.32 mm for the weld at either end and 4 mm of trim come to its net length.

    Shrink by hand: a tenth of the fused width, 3.0 + 0.35 x 0.5 / 1.12 mm at a wall of 2.0 (the catalogue's line).
    """
    m = factory.manifold()
    m = split(factory.alone(m, factory.runner(1, [Straight(50.0)])))
    made = report(bare(m))["pieces"][0]
    shrink = 0.1 * (3.0 + 0.35 * 0.5 / 1.12)

    assert made["piece"] == "R1-P1"
    assert (made["net_mm"], made["cut_mm"]) == pytest.approx((50.0, 50.0 + 2 * shrink + 4.0))


def test_an_inlet_tube_is_as_long_as_what_is_sawn():
    """The last tube runs on to the flat cut: 15 mm before the joint plane and 33.6 mm behind it are one tube."""
    m = factory.alone(factory.manifold(), factory.runner(1, [Straight(15.0)]))
    own = {"owner": Owner("runner", "runner 1"), "joints": ("J1.6", "JC.A"), "inlet": 1, "leg": 33.6}
    piece = Piece("R1-P6", "runner 1", m.runners[0].path, factory.TUBE, (0,), role="inlet", number=6, **own)
    (made,) = report(bare(replace(m, pieces=(piece,))))["pieces"]

    assert made["straights_mm"] == [pytest.approx(48.6), 0.0]
    assert made["net_mm"] == pytest.approx(48.6)
    assert made["back_mm"] is made["throat_mm"] is made["clr_mm"] is None  # a straight has no bend to measure


def test_ok_means_no_errors(content):
    """`ok` counts errors alone, whatever else was found."""
    m = factory.manifold(3)
    tight = mg.design(replace(m, limits=replace(m.limits, gap=80.0, gap_at_merge=60.0)), search=False)

    assert content["ok"] is True
    assert counts(tight.findings)["error"] > 0
    assert report(tight)["ok"] is tight.ok is False


def test_no_runner_of_a_report_is_shorter_than_its_bound(content):
    """Equal runners that keep the limits: the shortest is at least the length that no layout can beat."""
    assert 0 < content["length"]["lower_bound_mm"] <= content["length"]["longest_mm"]
