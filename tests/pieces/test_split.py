"""Pieces and joints of hand-made manifolds: who is cut where, and what the ids say."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from manifoldgen.errors import PathError
from manifoldgen.geometry.path import Bend, Path, Straight
from manifoldgen.geometry.pose import Pose
from manifoldgen.manifold.model import Manifold, Piece, StockItem
from manifoldgen.pieces import split
from manifoldgen.pieces.cuts import laid
from manifoldgen.pieces.part import part_of
from tests import factory


def pieces_of(m: Manifold, part: str) -> list[Piece]:
    """The pieces of one part, in order."""
    return [p for p in m.pieces if p.part == part]


def with_elements(*elements, stub: float | None = None) -> Manifold:
    """Three runners of which the first has these elements (its end need not meet the inlet)."""
    m = factory.manifold(stub=stub)
    first = factory.runner(1, elements)
    return split(replace(m, runners=(first, *m.runners[1:])))


def rows(m: Manifold, part: str = "runner 1") -> list[tuple[str, tuple[int, ...], str, str]]:
    """Id, elements, first joint and last joint of each piece."""
    return [(p.id, p.elements, p.joints[0], p.joints[-1]) for p in pieces_of(m, part)]


def test_a_piece_an_element_and_the_last_straight_takes_its_inlet() -> None:
    """One piece a bend, one a straight; no weld on the ring plane; J1.k+1 where element k ends."""
    m = with_elements(Straight(40), Bend(60, 63.6), Straight(35), Bend(30, 63.6), Straight(50))

    assert rows(m) == [
        ("R1-P1", (0,), "J1.1", "J1.2"),
        ("R1-P2", (1,), "J1.2", "J1.3"),
        ("R1-P3", (2,), "J1.3", "J1.4"),
        ("R1-P4", (3,), "J1.4", "J1.5"),
        ("R1-P5", (4,), "J1.5", "JC.A"),
    ]
    last = pieces_of(m, "runner 1")[-1]
    assert last.inlet == 1
    assert last.leg == pytest.approx(m.collectors[0].merge_depth / math.cos(math.radians(12)))
    welded = {j.id for j in m.joints}
    assert "J1.6" not in welded
    assert {"J1.1", "J1.5"} <= welded


def test_the_bar_for_an_inlet_tube_is_long_enough_for_all_of_it() -> None:
    """50 mm before the ring plane fit a 60 mm bar, with the leg behind it (30 mm and more) they do not."""
    m = with_elements(Straight(40), Bend(60, 63.6), Straight(50))
    short, long = (StockItem(f"bar {n}", "straight", "runner", 42.4, 2.0, length=n) for n in (60.0, 300.0))
    last = pieces_of(split(replace(m, stock=(short, long))), "runner 1")[-1]

    assert last.leg > 20
    assert last.stock == "bar 300.0"


def test_a_stub_puts_the_weld_upstream_of_the_ring_plane() -> None:
    """Stub 30 of a last straight of 50: weld inside element 3, 30 mm before its end, as J1.3a."""
    m = with_elements(Straight(40), Bend(60, 63.6), Straight(50), stub=30.0)

    assert rows(m)[2:] == [("R1-P3", (2,), "J1.3", "J1.3a"), ("R1-P4", (2,), "J1.3a", "JC.A")]
    third, fourth = pieces_of(m, "runner 1")[2:]
    assert (third.path.length, fourth.path.length) == pytest.approx((20.0, 30.0))
    assert (third.inlet, fourth.inlet) == (0, 1)
    joint = next(j for j in m.joints if j.id == "J1.3a")
    end = laid(m.runners[0]).end
    assert np.array(joint.at) == pytest.approx(np.array(end.at) - 30 * np.array(end.direction))
    assert joint.between == ("R1-P3", "R1-P4")


def test_a_stub_longer_than_the_last_straight_takes_all_of_it() -> None:
    """The weld cannot stand inside a bend: the whole last straight stays with its inlet."""
    assert rows(with_elements(Bend(60, 63.6), Straight(20), stub=30.0))[-1] == ("R1-P2", (1,), "J1.2", "JC.A")


@pytest.mark.parametrize("tail", [(), (Straight(0.0),)], ids=["bend", "zero straight"])
def test_a_runner_that_ends_in_a_bend_is_welded_on_the_ring_plane(tail) -> None:
    """Its inlet is a piece of its own without length upstream of the plane; J1.3 is where the bend ends."""
    m = with_elements(Straight(40), Bend(60, 63.6), *tail)

    assert rows(m)[1:] == [("R1-P2", (1,), "J1.2", "J1.3"), ("R1-P3", (), "J1.3", "JC.A")]
    inlet = pieces_of(m, "runner 1")[-1]
    assert (inlet.inlet, inlet.path.length) == (1, 0.0)
    assert inlet.path.start.at == pytest.approx(laid(m.runners[0]).end.at)
    assert next(j for j in m.joints if j.id == "J1.3").between == ("R1-P2", "R1-P3")


def test_straights_of_no_length_make_no_piece_and_ids_do_not_move() -> None:
    """Element 2 has no length: J1.2 is the weld, J1.3 does not exist, J1.4 keeps its number."""
    m = with_elements(Bend(60, 63.6), Straight(0), Bend(30, 63.6, 90), Straight(40))

    assert rows(m)[:2] == [("R1-P1", (0,), "J1.1", "J1.2"), ("R1-P2", (2,), "J1.2", "J1.4")]


def test_a_bend_larger_than_any_elbow_is_two_parts_with_a_lettered_weld() -> None:
    """120° from 90s at 11 and 45s at 9: a whole 90 and 30 of a 45 for 20, not 60 + 60 of two 90s for 22."""
    m = with_elements(Bend(120, 63.6), Straight(40))

    assert rows(m)[:2] == [("R1-P1", (0,), "J1.1", "J1.1a"), ("R1-P2", (0,), "J1.1a", "J1.2")]
    found = {p.stock: p.path.bend_deg for p in pieces_of(m, "runner 1")[:2]}
    assert found == pytest.approx({"el90": 90.0, "el45": 30.0})


def test_a_bend_of_more_than_two_elbows_is_three_parts() -> None:
    """200° from 90s alone: three of them, two lettered welds, J1.2 still where the bend ends."""
    base = factory.manifold()
    el90 = (factory.STOCK[0], factory.STOCK[2])
    first = factory.runner(1, [Bend(200, 63.6), Straight(40)])
    m = split(replace(base, stock=el90, runners=(first, *base.runners[1:])))

    assert [j for p in pieces_of(m, "runner 1") for j in p.joints[:1]] == ["J1.1", "J1.1a", "J1.1b", "J1.2"]
    assert len([t for t in m.cutting.taken if t.item.name == "el90"]) == 3


def test_elbows_are_chosen_by_angle_and_whole_ones_only_for_exactly_theirs() -> None:
    """45 from the 45, 46 from the 90; of whole 45s alone, 45 takes it with its ends and 44 has nothing."""
    m = with_elements(Bend(45, 63.6), Straight(40), Bend(46, 63.6), Straight(40))
    assert [p.stock for p in pieces_of(m, "runner 1")] == ["el45", "bar", "el90", "bar"]

    bought = StockItem("b45", "elbow", "runner", 42.4, 2.0, clr=63.6, angle=45.0, legs=(4.0, 4.0), whole=True)
    base = factory.manifold()
    for angle, stock, joints in ((45.0, "b45", ("J1.1a", "J1.3a")), (44.0, None, ("J1.2", "J1.3"))):
        first = factory.runner(1, [Straight(40), Bend(angle, 63.6), Straight(40)])
        m = split(replace(base, stock=(bought,), runners=(first, *base.runners[1:])))
        bend = pieces_of(m, "runner 1")[1]
        assert (bend.stock, bend.joints) == (stock, joints)
    m = split(replace(base, stock=(bought,), runners=(factory.runner(1, [Straight(40), Bend(45, 63.6), Straight(40)]),
                                                     *base.runners[1:])))  # fmt: skip
    assert pieces_of(m, "runner 1")[1].path.length == pytest.approx(8 + 63.6 * math.pi / 4)


def test_pieces_add_up_to_their_run_and_follow_it() -> None:
    """Every run is covered without gap: lengths add up, each piece ends where the next begins (to 1e-9)."""
    m = with_elements(Straight(40), Bend(120, 63.6, 30), Bend(200, 63.6, -70), Straight(50), stub=20.0)

    for run in m.runs:
        pieces = pieces_of(m, run.name)
        assert math.fsum(p.path.length for p in pieces) == pytest.approx(run.path.length, abs=1e-9)
        for a, b in pairwise(pieces):
            assert a.path.end.at == pytest.approx(b.path.start.at, abs=1e-9)
            assert a.path.end.direction == pytest.approx(b.path.start.direction, abs=1e-9)
        assert pieces[-1].path.end.at == pytest.approx(run.path.end.at, abs=1e-9)


def test_a_stretch_of_a_path_keeps_its_points() -> None:
    """Cut anywhere, a stretch runs through the same points as the path (rolls and planes kept)."""
    path = Path(
        Pose.heading((3.0, 2.0, 1.0), (0.0, 1.0, 1.0)),
        (Straight(30), Bend(70, 50, 20), Straight(0), Bend(50, 60, 110), Straight(25)),
    )
    for start, end in ((0.0, path.length), (10.0, 60.0), (45.0, 120.0), (30.0, 95.0), (140.0, path.length)):
        stretch = part_of(path, start, end)
        for share in np.linspace(0, 1, 9):
            s = share * (end - start)
            assert stretch.point(s) == pytest.approx(path.point(start + s), abs=1e-9)


def test_outlet_branch_lid_and_cone_pieces_with_their_joints() -> None:
    """O-P…, W-P…, C-P1 lid, C-P2 cone; JO.n from the cone on, JT.1 last; JW.1 saddle, last JW the flange."""
    m = split(factory.with_branch(factory.manifold(4)))

    assert [r[0] for r in rows(m, "outlet")] == ["O-P1", "O-P2", "O-P3"]
    assert [r[2:] for r in rows(m, "outlet")] == [("JO.1", "JO.2"), ("JO.2", "JO.3"), ("JO.3", "JT.1")]
    assert rows(m, "wastegate branch") == [("W-P1", (0,), "JW.1", "JW.2")]
    assert [p.id for p in pieces_of(m, "collector")] == ["C-P1", "C-P2"]
    kinds = {j.id: (j.kind, j.between) for j in m.joints}
    assert kinds["JO.1"] == ("butt", ("C-P2", "O-P1"))
    assert kinds["JT.1"] == ("flange", ("O-P3", "turbo flange"))
    assert kinds["JW.1"] == ("saddle", ("O-P2", "W-P1"))
    assert kinds["JW.2"] == ("flange", ("W-P1", "wastegate flange"))
    assert kinds["J2.1"] == ("flange", ("head flange", "R2-P1"))
    assert kinds["JC.C"] == ("cone", ("C-P1", "C-P2"))
    assert {i for i in kinds if i.startswith("JC")} == {
        "JC.A", "JC.B", "JC.D", "JC.E", "JC.Ai", "JC.Bi", "JC.Di", "JC.Ei", "JC.S", "JC.L", "JC.C",
    }  # fmt: skip
    assert len(kinds) == len(m.joints)
    assert len({p.id for p in m.pieces}) == len(m.pieces)
    assert {i for p in m.pieces for i in p.joints} <= set(kinds)


def test_a_bundle_welds_every_runner_to_its_plate() -> None:
    """No crotches, no inlet leg: the last joint of a runner is at the ring plane, against the plate."""
    m = factory.manifold(3, kind="bundle", merge_depth=0.0, join_depth=0.0)
    m = split(m)

    assert rows(m) == [("R1-P1", (0,), "J1.1", "J1.2")]
    assert next(j for j in m.joints if j.id == "J1.2").between == ("R1-P1", "C-P1")
    assert {j.id for j in m.joints if j.id.startswith("JC")} == {"JC.C"}


def test_runs_without_a_path_are_left_out() -> None:
    """A runner still `auto` makes no piece; the collector then has none either, and nothing fails."""
    m = factory.manifold(3)
    auto = replace(m.runners[1], path=None, todo="auto")
    m = split(replace(m, runners=(m.runners[0], auto, m.runners[2])))

    assert {p.part for p in m.pieces} == {"runner 1", "runner 3", "outlet"}
    with pytest.raises(PathError, match="runner 2 has no path yet"):
        laid(auto)
