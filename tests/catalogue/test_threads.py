"""Threads: their names however written, which there are, and what the shop adds."""

from __future__ import annotations

import pytest

from manifoldgen.catalogue import FITS, NUTS, SIZES, STANDARD

INCH = (
    "1/4-20",
    "1/4-28",
    "5/16-18",
    "5/16-24",
    "3/8-16",
    "3/8-24",
    "7/16-14",
    "7/16-20",
    "1/2-13",
    "1/2-20",
)
METRIC = ("M6", "M8", "M10", "M12")
FINE = (
    "M8x1",
    "M10x1.25",
    "M10x1",
    "M12x1.5",
    "M12x1.25",
)  # ISO 261 series of fine pitches in use (from memory)


@pytest.mark.parametrize(
    ("written", "name"),
    [
        ("M8", "M8"), ("m8", "M8"), ("M8x1.25", "M8"), ("M 10 x 1.5", "M10"), ("M8-1.25", "M8"),
        ("m10X1.25", "M10x1.25"), ("M10×1.25", "M10x1.25"), ("M10x1.0", "M10x1"),
        ("3/8-16", "3/8-16 UNC"), ("3/8-16 UNC", "3/8-16 UNC"), ("3/8-16unc", "3/8-16 UNC"), ('3/8"-16', "3/8-16 UNC"),
        ("3/8 - 24", "3/8-24 UNF"), ("3/8 UNC", "3/8-16 UNC"), ("1/2 in-20 UNF", "1/2-20 UNF"),
        ("3/8-16 UNF", "3/8-16 UNF"), ("M10x0.9", "M10x0.9"), ("W 3/8", "W 3/8"),
    ],
)  # fmt: skip
def test_names(written: str, name: str) -> None:
    """However it is written, a thread has one name; what is no thread of ours stays as it is."""
    assert STANDARD.thread_name(written) == name


@pytest.mark.parametrize("text", ["", "M", "Mx1", "3/0-16", "3/8-0", "-", "3/8-16 UNC UNC", "M8x", "1e5"])
def test_what_is_no_name(text: str) -> None:
    """Odd text is no thread, and nothing falls over it."""
    assert STANDARD.thread_name(text) not in STANDARD.threads()
    with pytest.raises(KeyError):
        STANDARD.thread(text)


def test_a_size_is_no_thread() -> None:
    """3/8 may be UNC or UNF: it is refused, and the two are named."""
    assert "3/8" not in STANDARD.threads()
    assert STANDARD.threads_of_size("3/8") == ("3/8-16 UNC", "3/8-24 UNF")


@pytest.mark.parametrize("thread", INCH)
def test_inch_pitch_and_diameter(thread: str) -> None:
    """An inch by the threads on it, and the nominal diameter (closed form)."""
    size, per_inch = thread.split("-")
    top, bottom = map(int, size.split("/"))
    found = STANDARD.thread(thread)

    assert found.pitch == pytest.approx(25.4 / int(per_inch), abs=1e-9)
    assert found.diameter == pytest.approx(25.4 * top / bottom, abs=1e-6)
    assert found.name.startswith(f"{thread} UN")


def test_internal_minor_diameters() -> None:
    """D - 1.0825 P is ASME B1.1's least minor diameter of the nut: 0.307, 0.252, 0.417, 0.267 in (from memory)."""
    for name, inches in (("3/8-16", 0.307), ("5/16-18", 0.252), ("1/2-13", 0.417), ("5/16-24", 0.267)):
        found = STANDARD.thread(name)
        assert (found.diameter - 1.0825 * found.pitch) / 25.4 == pytest.approx(inches, abs=6e-4)


@pytest.mark.parametrize("thread", [*METRIC, *FINE, *INCH])
def test_every_size_is_there(thread: str) -> None:
    """Nuts, heads, washer and holes of every thread, in an order of size that could be bolted together."""
    d = STANDARD.thread(thread).diameter
    washer = STANDARD.washer(thread)
    fine, medium, coarse = (STANDARD.hole(thread, fit) for fit in FITS)

    assert d < fine < medium < coarse < 1.3 * d
    assert d < washer.bore < washer.od
    for kind in NUTS:
        nut = STANDARD.nut(kind, thread)
        assert 1.3 * d < nut.across_flats < nut.across_corners < 1.25 * nut.across_flats
        assert 0.6 * d < nut.height < 1.3 * d
        assert (nut.flange is not None) == (kind == "flange")
        assert nut.rim < nut.height / 3
    bolt, socket = STANDARD.head("bolt", thread), STANDARD.head("socket-head", thread)
    assert bolt.across_flats
    assert 1.3 * d < bolt.across_flats < bolt.diameter
    assert socket.key
    assert 0.6 * d < socket.key < d < socket.diameter < 1.75 * d


@pytest.mark.parametrize(("fine", "coarse"), [("M10x1.25", "M10"), ("M12x1.5", "M12"), ("3/8-24", "3/8-16")])
def test_sizes_go_by_the_diameter(fine: str, coarse: str) -> None:
    """The nut of a fine pitch has the hexagon of the coarse one (ISO 8673 and ISO 4032; ASME B18.2.2)."""
    for kind in NUTS:
        a, b = STANDARD.nut(kind, fine), STANDARD.nut(kind, coarse)
        assert (a.across_flats, a.height, a.flange) == (b.across_flats, b.height, b.flange)
    assert STANDARD.hole(fine, "medium") == STANDARD.hole(coarse, "medium")
    assert STANDARD.thread(fine).pitch < STANDARD.thread(coarse).pitch


def own(**tables: dict[str, dict[str, object]]):
    """Our catalogue with own rows of fasteners."""
    return STANDARD.with_overrides({"fasteners": tables})


def test_own_thread_of_a_known_pitch() -> None:
    """M14 needs its sizes alone: the pitch is ISO 261's 2 mm."""
    tables = own(hex_nut={"M14": {"s": 21, "m": 12.8}})

    assert "M14" in tables.threads()
    assert "M14" not in STANDARD.threads()
    assert (tables.thread("M14").diameter, tables.thread("M14").pitch) == (14, 2.0)
    assert tables.nut("hex", "M14x2").height == 12.8


@pytest.mark.parametrize("name", ["M14x1.5", "9/16-12 UNC", "9/16-18"])
def test_own_thread_whose_name_says_all(name: str) -> None:
    """Diameter and pitch are read off the name."""
    tables = own(clearance_hole={name: {"medium": "5/8 in"}})
    d, pitch = (14, 1.5) if name[0] == "M" else (9 * 25.4 / 16, 25.4 / int(name.split("-")[1][:2]))

    assert tables.thread(name).diameter == pytest.approx(d)
    assert tables.thread(name).pitch == pytest.approx(pitch)
    assert tables.hole(name, "medium") == pytest.approx(15.875)


def test_own_thread_of_any_name() -> None:
    """A name that says nothing gives its diameter and pitch in a row of threads; without one that is said."""
    rows = {"W 3/8": {"s": 17.8, "m": 8.3}}
    tables = own(hex_nut=rows, thread={"W 3/8": {"d": "3/8 in", "tpi": 16}})

    assert (tables.thread("W 3/8").diameter, tables.thread("W 3/8").pitch) == (9.525, 1.5875)
    with pytest.raises(
        KeyError, match=r"pitch of thread 'W 3/8' are not known: .*thread: \{W 3/8: \{d: diameter"
    ):
        own(hex_nut=rows).thread("W 3/8")


def test_own_rows_start_from_the_size() -> None:
    """A row of one pitch keeps what it does not say from the row of its size, and leaves the other pitch alone."""
    tables = own(
        hex_nut={"3/8-16": {"m": 9.0}, "M10": {"s": 17}}, clearance_hole={"M10x1.25": {"medium": 11.3}}
    )

    assert tables.nut("hex", "3/8-16 UNC").height == 9.0
    assert tables.nut("hex", "3/8-16 UNC").across_flats == pytest.approx(14.2875)
    assert tables.nut("hex", "3/8-24").height == pytest.approx(0.337 * 25.4)
    assert tables.nut("hex", "M10x1").across_flats == 17
    assert (tables.hole("M10x1.25", "medium"), tables.hole("M10", "medium")) == (11.3, 11.0)
    assert tables.hole("M10x1.25", "fine") == 10.5


@pytest.mark.parametrize(
    ("look", "told"),
    [
        (lambda t: t.nut("flange", "M14"), "no flange nut of M14 in the catalogue: add it to the shop file, catalogue: {fasteners: {flange_nut: {M14: {s: across flats, m: height, dc: "),
        (lambda t: t.washer("M14"), "no washer of M14 in the catalogue: add it to the shop file, catalogue: {fasteners: {washer: {M14: {d1: bore"),
        (lambda t: t.head("bolt", "M14"), "no bolt head of M14"),
        (lambda t: t.head("socket-head", "M14"), "{socket_head: {M14: {dk: head diameter, k: head height, key: hexagon}}}"),
        (lambda t: t.hole("M14", "fine"), "no fine clearance hole of M14 in the catalogue: add it to the shop file, catalogue: {fasteners: {clearance_hole: {M14: {fine: diameter}}}}"),
        (lambda t: t.key(19.0), "no hex key or bit socket of 19 mm"),
    ],
)  # fmt: skip
def test_what_is_missing_is_said(look: object, told: str) -> None:
    """One sentence names what is missing and what to write into the shop file."""
    with pytest.raises(KeyError) as caught:
        look(own(hex_nut={"M14": {"s": 21, "m": 12.8}}))  # type: ignore[operator]

    assert told in str(caught.value)


def test_every_size_table_says_what_a_row_needs() -> None:
    """The columns that a new row is asked for are in every row of ours."""
    for table, columns in SIZES.items():
        for row in STANDARD.table("fasteners", table).values():
            assert set(columns) <= set(row.values), row.id
