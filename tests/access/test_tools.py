"""Hand tools against their tables: sizes, which there are, what is assumed, the shop's own."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from manifoldgen.access.fasteners import Assumed, fastener
from manifoldgen.access.tools import tools
from manifoldgen.catalogue import STANDARD
from tests.access.rooms import stud


def for_(s, tables=STANDARD):
    """The tools of a stud and its fastener."""
    f = fastener(s, tables)
    return f, tools(f, tables)


def test_sizes_of_an_m10():
    """Nut, washer and socket of an M10: heights and diameters of the standard beside each."""
    f, made = for_(stud("S1", thread="M10", nut="hex", tip=18.0))
    regular = next(t for t in made if t.name == "3/8 ratchet, 16 mm socket")

    assert f.seat == 2.2  # washer ISO 7089, h max
    assert f.top == pytest.approx(2.2 + 8.4)  # nut ISO 4032, m
    assert f.across_flats == 16  # ISO 4032
    assert 2 * regular.seat[0].r0 == 22.2  # socket ISO 2725-1, 10 drive, from memory
    assert 2 * f.body == pytest.approx(17.77)  # e ISO 4032
    assert f.radius == 10.0  # washer ISO 7089, d2 20


def test_order_is_a_fabricators():
    """Ratchet straight first, then longer, deep, wobble, swivel, ring and open-ended spanners, impact: common practice, no source."""
    _, made = for_(stud("S1", tip=14.0))
    names = [t.name for t in made]

    def first(word: str) -> int:
        return next(k for k, n in enumerate(names) if word in n)

    assert names[0] == "3/8 ratchet, 13 mm socket"
    words = [
        "mm extension",
        "deep socket",
        "wobble",
        "swivel",
        "ratcheting ring spanner",
        "13 mm ring spanner",
        "open-ended",
        "impact",
    ]
    assert [first(w) for w in words] == sorted(first(w) for w in words)
    assert all(t.ratchet == ("/" in t.name and "impact" not in t.name) for t in made)


def test_swing_needs():
    """Least swings of each kind of tool, their sources in the order below.

    Open end flipped: Modern Machine-Shop Practice I, figures 445-448. 12-point ring: NAVEDTRA 14001, chapter 1.
    Ratchets: common practice, no source. Hexagon key: six sides.
    """
    _, made = for_(stud("S1", tip=14.0))
    _, keys = for_(stud("T1", kind="socket-head", nut=None, tip=0.0))

    for word, need in (
        ("open-ended", 30),
        ("13 mm ring spanner", 30),
        ("ratcheting", 20),
        ("3/8 ratchet", 20),
        ("impact", 0),
    ):
        assert {t.need for t in made if word in t.name} == {need}
    assert {t.need for t in keys if "key" in t.name} == {60}


def test_rings_are_dropped_on_whole():
    """A ring goes over the stud's end with its handle: lifted by what stands out above the nut's foot."""
    f, made = for_(stud("S1", tip=14.0))
    for t in made:
        if "ring spanner" in t.name:
            assert [a.lift for a in t.arms] == [pytest.approx(14.0 - 1.8)]
            assert t.on[0].z1 - t.seat[0].z1 == pytest.approx(14.0 - 1.8)
        if "open-ended" in t.name:
            assert [a.slide for a in t.arms] == [13, 13]
    assert f.tip == 14.0


def test_long_stud_wants_a_deep_socket():
    """A stud's end that bottoms in a regular socket (60 % of its length, ASME B107.5M) leaves the deep ones."""
    just = 1.8 + 0.3 + 0.6 * 28  # washer, gap, hollow of a 28 mm socket
    for tip, there in ((just - 0.01, True), (just + 0.01, False)):
        names = [t.name for t in for_(stud("S1", tip=tip))[1]]
        assert ("3/8 ratchet, 13 mm socket" in names) is there
        assert "3/8 ratchet, 13 mm deep socket" in names


def test_quarter_drive_stops_at_its_largest_socket():
    """No 1/4 sockets beyond 14 mm are tabled (ISO 2725-1, from memory)."""
    assert any(t.drive == "1/4" for t in for_(stud("S1"))[1])
    assert not any(t.drive == "1/4" for t in for_(stud("S1", thread="M12"))[1])


def test_socket_heads_take_keys_and_bits():
    """Hexagon of ISO 4762: M8 takes a 6 mm key, by either arm (DIN 911 90 x 32, from memory), and bit sockets."""
    f, made = for_(stud("T1", kind="socket-head", nut=None, tip=0.0))
    keys = [t for t in made if "key" in t.name]

    assert f.key == 6
    assert f.top == pytest.approx(1.8 + 8)
    assert [t.name for t in keys] == ["6 mm hex key, short arm in", "6 mm hex key, long arm in"]
    assert keys[0].arms[0].rho1 + 6 / math.sqrt(3) == pytest.approx(90 - 6 / math.sqrt(3))
    assert keys[0].seat[0].r0 == pytest.approx(6 / math.sqrt(3))
    assert {t.drive for t in made if "bit socket" in t.name} == {"1/4", "3/8", "1/2"}
    assert not [t for t in made if "spanner" in t.name or "impact" in t.name]


def test_flange_nut_is_gripped_above_its_rim():
    """A socket stands on the flange nut's rim: ISO 4161 c 1.2 for M8, washer 1.8 under it."""
    f, made = for_(stud("S1", nut="flange"))

    assert f.rim == pytest.approx(3.0)
    assert made[0].seat[0].z0 == pytest.approx(3.3)
    assert f.radius == pytest.approx(8.95)  # dc 17.9


def test_bolts_come_out_by_their_length():
    """A bolt's shank is its length; where none is given, what it clamps and once its diameter, and that is said."""
    given = fastener(stud("T1", kind="bolt", nut=None, tip=40.0), STANDARD, 12.0)
    open_ = fastener(stud("T1", kind="bolt", nut=None, tip=0.0), STANDARD, 12.0)

    assert (given.shank, given.assumed) == (40.0, ())
    assert (open_.shank, open_.assumed) == (20.0, (Assumed("bolt length", "T1"),))
    assert given.top == pytest.approx(1.8 + 5.3)  # ISO 4014 k


def test_a_stud_of_no_length_stands_out_by_good_practice():
    """Three threads above the nut: 1.8 + 8 + 3 x 1.25."""
    f = fastener(stud("W1", tip=0.0), STANDARD)

    assert f.tip == pytest.approx(13.55)
    assert f.assumed == (Assumed("stud length", "W1"),)


def test_assumed_names_end_where_the_shop_measures():
    """Sizes from memory are named; the shop's own rows are taken and no longer named."""
    rows = {
        "ratchet": {"10": {"head_d": 31, "head_h": 22}},
        "hand_socket": {"10": {"regular": 27}},
        "hand_socket_d1": {"13": {"10": 17.6}},
        "socket_inside": {"bolt_depth": {"of_length": 0.7}},
        "hand": {"fist_on_handle": {"radius": 28}},
    }
    _, plain = for_(stud("S1", tip=14.0))
    _, own = for_(stud("S1", tip=14.0), STANDARD.with_overrides({"tools": rows}))

    assert set(plain[0].assumed) == {"socket", "ratchet head", "hand"}
    assert own[0].assumed == ()
    assert 2 * own[0].seat[0].r0 == 17.6
    assert 2 * own[0].shaft[0].r0 == 31
    assert own[0].pivot == pytest.approx(1.8 + 0.3 + 27)


def test_extensions_are_named_only_where_used():
    """A tool without an extension does not call its size assumed."""
    own = STANDARD.with_overrides({"tools": {"extension": {"10": {"d_max": 19}}}})
    low = STANDARD.with_overrides({"tools": {"ratchet": {"10": {"head_d": 31}}}})
    long = "3/8 ratchet, 75 mm extension, 13 mm socket"

    assert "extension" in next(t for t in for_(stud("S1", tip=14.0), low)[1] if t.name == long).assumed
    assert "extension" not in next(t for t in for_(stud("S1", tip=14.0), own)[1] if t.name == long).assumed
    assert "extension" not in for_(stud("S1", tip=14.0))[1][0].assumed


def test_tilts_end_at_what_is_usable():
    """Wobble up to 15 degrees (a web article and one of a trade magazine), swivel up to 30 (common practice, no source)."""
    _, made = for_(stud("S1", tip=14.0))

    assert {t.tilts[-1] for t in made if "wobble" in t.name} == {15.0}
    assert {t.tilts[-1] for t in made if "swivel" in t.name} == {30.0}
    assert {t.tilts for t in made if "wobble" not in t.name and "swivel" not in t.name} == {(0.0,)}


def test_own_key_tells_studs_apart():
    """Fasteners that differ only in what was assumed about them take the same tools."""
    f, made = for_(stud("W1", tip=0.0))

    assert tools(replace(f, assumed=()), STANDARD) == made


def test_inch_nuts_take_inch_tools():
    """A 3/8 nut is turned by 9/16 in; its ring has the head of A-A-1346A: 0.868 in across, 11/32 in thick."""
    f, made = for_(stud("S1", thread="3/8-16", nut="hex", tip=14.0))
    ring = next(t for t in made if t.name == "9/16 in ring spanner")

    assert f.top == pytest.approx((0.080 + 0.337) * 25.4)  # washer type A (ASME B18.21.1), nut (ASME B18.2.2)
    assert made[0].name == "3/8 ratchet, 9/16 in socket"
    assert not any("14.2" in t.name for t in made)
    assert 2 * ring.seat[0].r0 == pytest.approx(0.868 * 25.4)
    assert ring.seat[0].z1 - ring.seat[0].z0 == pytest.approx(11 / 32 * 25.4)


def test_inch_socket_heads_take_inch_keys():
    """A 5/16 socket head screw takes a 1/4 in key (ASME B18.3), by either arm, and bit sockets."""
    f, made = for_(stud("T1", kind="socket-head", thread="5/16-18 UNC", nut=None, tip=0.0))
    keys = [t for t in made if "key" in t.name]

    assert f.key == pytest.approx(6.35)
    assert [t.name for t in keys] == ["1/4 in hex key, short arm in", "1/4 in hex key, long arm in"]
    assert keys[0].arms[0].rho1 == pytest.approx(3.344 * 25.4 - 2 * 6.35 / math.sqrt(3))
    assert any(t.name == "3/8 ratchet, 1/4 in bit socket" for t in made)


def test_own_spanners_are_taken():
    """A ring or socket measured by the shop counts for its size alone, inch sizes by their name."""
    rows = {"box_wrench": {"13": {"od_max": 19.0, "t": 7.5}}, "hand_socket_d1": {"9/16 in": {"10": "0.8 in"}}}
    own = STANDARD.with_overrides({"tools": rows})
    ring = next(t for t in for_(stud("S1", tip=14.0), own)[1] if t.name == "13 mm ring spanner")
    socket = for_(stud("S1", thread="3/8-16", tip=14.0), own)[1][0]

    assert (2 * ring.seat[0].r0, ring.seat[0].z1 - ring.seat[0].z0) == (19.0, pytest.approx(7.5))
    assert 2 * socket.seat[0].r0 == pytest.approx(0.8 * 25.4)
    assert (
        2 * for_(stud("S1", thread="M10", tip=14.0), own)[1][0].seat[0].r0 == 22.2
    )  # ISO 2725-1, from memory
