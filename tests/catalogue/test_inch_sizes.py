"""Inch fasteners and their tools against the printed tables named beside each number."""

from __future__ import annotations

import pytest

from manifoldgen.catalogue import STANDARD

INCH = 25.4


def inches(*mm: float | None) -> tuple[float | None, ...]:
    """Millimetres as inches to the three decimals that tables print."""
    return tuple(None if x is None else round(x / INCH, 3) for x in mm)


# finished hex nuts, ASME B18.2.2: basic F, greatest corners, greatest height (supplier's table "Finished Hex Nuts")
@pytest.mark.parametrize(
    ("thread", "flats", "corners", "height"),
    [("1/4-20", 7 / 16, 0.505, 0.226), ("3/8-16", 9 / 16, 0.650, 0.337), ("7/16-14", 11 / 16, 0.794, 0.385), ("1/2-13", 3 / 4, 0.866, 0.448)],
)  # fmt: skip
def test_hex_nut(thread: str, flats: float, corners: float, height: float) -> None:
    """Across flats, across corners and height."""
    nut = STANDARD.nut("hex", thread)

    assert inches(nut.across_flats, nut.across_corners, nut.height) == (round(flats, 3), corners, height)


# hex flange nuts, ASME B18.2.2: means of F, B and H (data table of an open-source fastener library)
@pytest.mark.parametrize(
    ("thread", "flats", "flange", "height"),
    [("5/16-18", 0.4945, 0.670, 0.2755), ("3/8-16", 0.5565, 0.739, 0.3385), ("1/2-13", 0.743, 1.0155, 0.4475)],
)  # fmt: skip
def test_flange_nut(thread: str, flats: float, flange: float, height: float) -> None:
    """Ours are the greatest sizes: over the means by no more than half a tolerance (0.016 in, the widest there is)."""
    nut = STANDARD.nut("flange", thread)

    assert nut.flange is not None
    for ours, mean in ((nut.across_flats, flats), (nut.flange, flange), (nut.height, height)):
        assert 0 <= ours / INCH - mean < 0.0165


# prevailing-torque nuts, all-metal type, IFI 100/107: greatest height (supplier's table "Grade C Lock Nuts")
@pytest.mark.parametrize(("thread", "height"), [("5/16-18", 0.336), ("3/8-24", 0.415), ("1/2-20", 0.573)])
def test_lock_nut(thread: str, height: float) -> None:
    """Height over all."""
    assert inches(STANDARD.nut("all-metal-lock", thread).height) == (height,)


# hex cap screws, ASME B18.2.1: F and greatest H (supplier's table "ASME B18.2.1 Hex Cap Screws")
@pytest.mark.parametrize(
    ("thread", "flats", "height"),
    [("5/16-18", 0.500, 0.211), ("3/8-16", 0.562, 0.243), ("7/16-20", 0.625, 0.291)],
)
def test_hex_head(thread: str, flats: float, height: float) -> None:
    """Across flats and head height; the head of 7/16 is smaller than its nut."""
    head = STANDARD.head("bolt", thread)

    assert inches(head.across_flats, head.height) == (flats, height)


# socket head cap screws, ASME B18.3: A, H, J (supplier's table "Socket Head Cap Screw Dimensions", ASME B18.3-2003)
@pytest.mark.parametrize(
    ("thread", "diameter", "height", "key"),
    [("1/4-28", 0.375, 0.250, 3 / 16), ("3/8-16", 0.562, 0.375, 5 / 16), ("1/2-13", 0.750, 0.500, 3 / 8)],
)
def test_socket_head(thread: str, diameter: float, height: float, key: float) -> None:
    """Head diameter, height and hexagon."""
    head = STANDARD.head("socket-head", thread)

    assert inches(head.diameter, head.height, head.key) == (diameter, height, round(key, 3))


# plain washers type A narrow, ASME B18.21.1: bore, outside with its plus, greatest thickness (Machinery's Handbook, 31st ed., page 1694)
@pytest.mark.parametrize(
    ("thread", "bore", "outside", "thickness"),
    [("5/16-18", 0.344, 0.688 + 0.015, 0.080), ("3/8-16", 0.406, 0.812 + 0.015, 0.080), ("1/2-13", 0.531, 1.062 + 0.030, 0.121)],
)  # fmt: skip
def test_washer(thread: str, bore: float, outside: float, thickness: float) -> None:
    """Bore, outside and thickness."""
    washer = STANDARD.washer(thread)

    assert inches(washer.bore, washer.od, washer.thickness) == (bore, round(outside, 3), thickness)


# clearance holes, ASME B18.2.8: least hole of close, normal, loose fit (Machinery's Handbook, 31st ed., page 1741, and a supplier's chart)
@pytest.mark.parametrize(
    ("thread", "holes"),
    [("1/4-20", (0.266, 0.281, 0.297)), ("5/16-24", (0.328, 0.344, 0.359)), ("3/8-16", (0.391, 0.406, 0.422)),
     ("7/16-14", (0.453, 0.469, 0.484)), ("1/2-13", (0.531, 0.562, 0.609))],
)  # fmt: skip
def test_clearance_holes(thread: str, holes: tuple[float, ...]) -> None:
    """Close, normal and loose stand for fine, medium and coarse."""
    assert inches(*(STANDARD.hole(thread, fit) for fit in ("fine", "medium", "coarse"))) == holes


# box wrenches, US commercial item description A-A-1346A: outside of the head, its thickness
@pytest.mark.parametrize(
    ("size", "od", "t"), [(1 / 2, 0.775, 3 / 8), (9 / 16, 0.868, 11 / 32), (11 / 16, 1.025, 33 / 64)]
)
def test_ring(size: float, od: float, t: float) -> None:
    """A ring of that size has a row of its own."""
    row = STANDARD.across_flats("box_wrench", size * INCH)

    assert row is not None
    assert inches(row["od_max"], row["t"]) == (od, round(t, 3))


# hexagon keys, ASME B18.3-2012: greatest short and long arm of the short arm series (supplier's data sheet "Hex Keys & Bits")
@pytest.mark.parametrize(
    ("key", "short", "long"), [(3 / 16, 1.031, 2.844), (5 / 16, 1.344, 3.844), (3 / 8, 1.469, 4.344)]
)
def test_hex_key(key: float, short: float, long: float) -> None:
    """Both arms."""
    row = STANDARD.across_flats("hex_key", key * INCH)

    assert row is not None
    assert inches(row["short"], row["long"]) == (short, long)


# Birmingham wire gauge (two engineering tables): 16 is 1.651 mm, 14 is 2.108, 18 is 1.245, 11 is 3.048
@pytest.mark.parametrize(("gauge", "mm"), [("18", 1.245), ("16", 1.651), ("14", 2.108), ("11", 3.048)])
def test_gauges(gauge: str, mm: float) -> None:
    """Walls by gauge."""
    assert STANDARD.row("tube_stock", "gauge", gauge)["wall"] == pytest.approx(mm, abs=6e-4)
