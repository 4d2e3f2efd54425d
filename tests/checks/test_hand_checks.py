"""Studs, removal and welds as findings: which measured answer becomes which finding."""

from __future__ import annotations

from dataclasses import replace

import pytest

from manifoldgen.access.fasteners import Assumed
from manifoldgen.access.hands import Hands
from manifoldgen.access.results import Removal, StudAccess
from manifoldgen.access.results_welds import WeldAccess, Welding
from manifoldgen.catalogue import STANDARD
from manifoldgen.checks import size_assumed, slide_off, stud_reach, weld_reach
from manifoldgen.manifold.model import Owner, Stud
from tests.factory import manifold

STUD = StudAccess(
    id="S1",
    at=(0.0, 0.0, 12.0),
    reachable=True,
    ratchet=True,
    tool="3/8 ratchet, 13 mm socket",
    drive="3/8",
    extension_mm=0.0,
    tilt_deg=0.0,
    toward=(0.0, 0.0, 1.0),
    swing_deg=120.0,
    clearance_mm=3.1,
    blocked_by=None,
    shortfall_mm=0.0,
    move=None,
    comes_off=True,
    off_mm=9.0,
    flange="head flange",
    thread="M8",
)
WELD = WeldAccess(
    id="J1.2",
    kind="butt",
    reach=1.0,
    stage_reach=1.0,
    tier="easy",
    longest_blocked=0.0,
    unit="deg",
    blocked_by=(),
    stage=1,
    apart=False,
    tack=True,
    torch="small lens 6",
)
OFF = Removal(head_flange_slides_off=True, nuts_come_off=True, order=())


def hands(stud=STUD, off=OFF, *welds):
    """What hands reach, as measured."""
    return Hands((stud,), off, Welding(welds or (WELD,), (), 0))


def names(found):
    """Name and severity of every finding."""
    return [(f.name, f.severity) for f in found]


def test_all_within_reach_is_silent() -> None:
    """A ratchet on the stud, a clear way off and a torch all round find nothing."""
    for check in (stud_reach.check, slide_off.check, weld_reach.check, size_assumed.check):
        assert check(manifold(), hands()) == ()


def test_a_stud_out_of_reach_says_who_how_much_and_which_way() -> None:
    """The missing mm, the blocker and the vector that frees it stand in the finding; value = margin - missing."""
    stud = replace(
        STUD,
        reachable=False,
        ratchet=False,
        blocked_by="runner 2 (R2-P3)",
        shortfall_mm=3.25,
        move=(0.0, -3.25, 0.0),
    )
    (found,) = stud_reach.check(manifold(), hands(stud))

    assert (found.name, found.severity) == ("stud-out-of-reach", "error")
    assert "3.2 mm short at runner 2 (R2-P3)" in found.message
    assert "[0.0, -3.2, 0.0]" in found.do
    assert found.value == pytest.approx(manifold().limits.tool_margin - 3.25)


def test_a_spanner_only_stud_is_a_warning() -> None:
    """Reachable without a ratchet is a warning, not an error."""
    stud = replace(STUD, ratchet=False, tool="13 mm ring spanner")

    assert names(stud_reach.check(manifold(), hands(stud))) == [("stud-no-ratchet", "warning")]


@pytest.mark.parametrize(
    ("size", "said"), [(32, "no ratchet gets on it"), (33, "the catalogue has no socket of 33 mm")]
)
def test_a_nut_without_a_socket_says_what_to_add(size, said) -> None:
    """The largest socket of the tables is 32 mm (ISO 2725-1, from memory): beyond it the shop file's row is asked for."""
    tables = STANDARD.with_overrides({"fasteners": {"hex_nut": {"M8": {"s": size}}}})
    nut = Stud("S1", "head flange", "stud", STUD.at, (0.0, 0.0, 1.0), "M8", 38.0, "hex", True, 9.0)
    m = replace(manifold(), studs=(nut,), tables=tables)
    (found,) = stud_reach.check(m, hands(replace(STUD, ratchet=False, tool=f"{size} mm ring spanner")))

    assert said in found.message
    assert ("tools: {hand_socket_d1: {33: {12.5: its largest diameter}}}" in found.do) == (size == 33)


def test_a_nut_that_stays_on_is_an_error_of_its_own() -> None:
    """It is told beside the reach, with how far it runs into what: contact is the limit."""
    stud = replace(STUD, comes_off=False, off_mm=-1.5, off_blocked_by="runner 1 (R1-P2)")
    (found,) = stud_reach.check(manifold(), hands(stud))

    assert (found.name, found.severity, found.value, found.limit) == (
        "nut-will-not-come-off",
        "error",
        -1.5,
        0.0,
    )
    assert "run into runner 1 (R1-P2)" in found.message
    assert "by 1.5 mm" in found.message


def test_the_way_off_is_blocked_or_locked() -> None:
    """A blocked way names who and the missing mm; studs that are not parallel are named."""
    blocked = replace(
        OFF,
        head_flange_slides_off=False,
        travel_mm=26.0,
        free_mm=19.5,
        blocked_by=("frame rail",),
        missing_mm=(6.5,),
    )
    locked = replace(OFF, head_flange_slides_off=False, not_parallel=("S3",))
    (found,) = slide_off.check(manifold(), hands(STUD, blocked))

    assert (found.name, found.value, found.limit) == ("flange-will-not-slide-off", 19.5, 26.0)
    assert "frame rail (6.5 mm short)" in found.message
    assert "S3 not parallel" in slide_off.check(manifold(), hands(STUD, locked))[0].message


def test_a_stuck_weld_is_an_error_until_a_way_out_is_stated() -> None:
    """With a way out it is a warning and the way out is what to do."""
    stuck = replace(WELD, reach=0.7, stage_reach=0.8, stuck=True, apart=True)
    way = replace(stuck, way_out="Move the joint 12 mm upstream.")

    assert names(weld_reach.check(manifold(), hands(STUD, OFF, stuck))) == [("weld-stuck", "error")]
    (found,) = weld_reach.check(manifold(), hands(STUD, OFF, way))
    assert (found.severity, found.do) == ("warning", "Move the joint 12 mm upstream.")


def test_welds_made_apart_are_told_once_a_stage() -> None:
    """Two joints of stage 1 and one of stage 2 are two warnings that name them."""
    apart = [
        replace(WELD, id=i, reach=0.9, apart=True, stage=n)
        for i, n in (("J1.2", 1), ("J2.2", 1), ("JC.S", 2))
    ]
    found = weld_reach.check(manifold(), hands(STUD, OFF, *apart))

    assert names(found) == [("weld-apart", "warning")] * 2
    assert "J1.2, J2.2" in found[0].message
    assert "stage 2" in found[1].do


SIZES = (
    Assumed("ratchet head"),
    Assumed("socket"),
    Assumed("bolt length", "T1"),
    Assumed("bolt length", "T2"),
)


def test_assumed_sizes_are_one_note() -> None:
    """Each assumed size is named once, whoever used it."""
    stud = replace(STUD, assumed=SIZES)
    weld = replace(WELD, assumed=("cup", "ratchet head"))
    (found,) = size_assumed.check(manifold(), hands(stud, OFF, weld))

    assert (found.name, found.severity) == ("size-assumed", "note")
    assert found.parts == ("bolt length T1", "bolt length T2", "cup", "ratchet head", "socket")
    assert "bolt length T1, T2, cup" in found.message


@pytest.mark.parametrize(
    ("stud", "owner", "blocker", "says"),
    [
        ("T1", Owner("outlet", "outlet"), "outlet (O-P3) 6 mm from the cone", "larger bolt circle"),
        ("S1", Owner("runner", "runner 1"), "runner 1 (R1-P1)", "Move runner 1"),
        ("T1", Owner("runner", "runner 2"), "runner 2 (R2-P3)", "Move runner 2"),
        ("T1", None, "outlet pipe", "Move outlet pipe"),  # an obstacle may be called anything
    ],
)
def test_what_stands_on_the_flange_itself_cannot_be_moved_away(stud, owner, blocker, says) -> None:
    """A bolt behind the tube that is welded on its own flange asks for a larger bolt circle, not for a move."""
    m = manifold()
    flange = m.turbo.name if stud == "T1" else m.head.name
    bolt = Stud(stud, flange, "stud", STUD.at, (0.0, 0.0, 1.0), "M8", 38.0, "hex", True, 9.0)
    m = replace(m, studs=(bolt,))
    short = replace(
        STUD, id=stud, flange=flange, reachable=False, blocked_by=blocker, blocker=owner, shortfall_mm=4.0,
        move=(0.0, 4.0, 0.0),
    )  # fmt: skip
    (found,) = stud_reach.check(m, hands(short))
    assert says in found.do
    assert "4.0 mm" in found.do
