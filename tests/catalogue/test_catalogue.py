"""Typed access, held against the printed tables beside each value."""

from __future__ import annotations

import math

import pytest
from fluids.piping import nearest_pipe

from manifoldgen.catalogue import NUTS, STANDARD, Pipe


@pytest.mark.parametrize("schedule", ["5S", "10S", "40S"])
@pytest.mark.parametrize("pipe", STANDARD.pipes(), ids=lambda pipe: pipe.nps)
def test_pipes(pipe: Pipe, schedule: str) -> None:
    """OD and wall of pipe (ASME B36.19M, B36.10M as tabled by the `fluids` library)."""
    nps = sum(float(a) / float(b or 1) for a, _, b in (part.partition("/") for part in pipe.nps.split("-")))
    _, _, od, wall = nearest_pipe(NPS=nps, schedule=schedule)

    assert pipe.od == pytest.approx(od * 1000, abs=0.051)
    assert pipe.wall(schedule) == pytest.approx(wall * 1000, abs=0.0051)


def test_elbows() -> None:
    """Long radius is 1.5 NPS, short radius 1 NPS (ASME B16.9); a bought 45 is no arc of the 90's radius."""
    found = {(e.nps, e.kind): e for e in STANDARD.elbows()}

    for nps, inches in (("1", 1), ("1-1/2", 1.5), ("2", 2), ("2-1/2", 2.5), ("3", 3)):
        long, short, half = (found[nps, kind] for kind in ("90 long", "90 short", "45 long"))
        assert long.clr == long.centre_to_end == pytest.approx(1.5 * inches * 25.4, abs=0.06)
        assert short.clr == pytest.approx(inches * 25.4, abs=0.06)
        assert half.clr is None
        assert half.centre_to_end - long.centre_to_end * math.tan(math.pi / 8) > 3.4


@pytest.mark.parametrize(
    ("thread", "pitch", "holes"),
    [
        ("M3", 0.5, (3.2, 3.4, 3.6)),
        ("M4", 0.7, (4.3, 4.5, 4.8)),
        ("M6", 1.0, (6.4, 6.6, 7.0)),
        ("M8", 1.25, (8.4, 9.0, 10.0)),
        ("M10", 1.5, (10.5, 11.0, 12.0)),
        ("M12", 1.75, (13.0, 13.5, 14.5)),
    ],
)
def test_threads(thread: str, pitch: float, holes: tuple[float, ...]) -> None:
    """Coarse pitches of ISO 261 and clearance holes of ISO 273 (from memory)."""
    found = STANDARD.thread(thread)

    assert (found.pitch, found.diameter) == (pitch, float(thread[1:]))
    assert tuple(STANDARD.hole(thread, fit) for fit in ("fine", "medium", "coarse")) == holes


def test_nuts_and_washers() -> None:
    """ISO 4032: M8 is 13 across flats, 6.8 high; ISO 7089: 16 outside, 1.6 nominal, 1.8 most (from memory)."""
    nut, washer = STANDARD.nut("hex", "M8"), STANDARD.washer("M8")

    assert (nut.across_flats, nut.height, nut.flange) == (13, 6.8, None)
    assert nut.across_flats < nut.across_corners <= nut.across_flats / math.cos(math.pi / 6)
    assert (washer.bore, washer.od, washer.thickness) == (8.4, 16, 1.8)
    assert STANDARD.nut("flange", "M10").diameter == 21.8
    assert STANDARD.head("socket-head", "M8").key == 6


@pytest.mark.parametrize("kind", NUTS)
@pytest.mark.parametrize("thread", ["M6", "M8", "M10", "M12"])
def test_every_metric_nut(kind: str, thread: str) -> None:
    """Every kind of nut is there for every metric thread, wider than the thread."""
    assert STANDARD.nut(kind, thread).across_flats > STANDARD.thread(thread).diameter


@pytest.mark.parametrize(
    ("name", "id_"),
    [("304", "304"), ("304L", "304"), ("304l ", "304"), ("321", "321"), ("Mild steel", "mild steel")],
)
def test_material_names(name: str, id_: str) -> None:
    """An alloy answers to its names."""
    assert STANDARD.material(name).id == id_


@pytest.mark.parametrize("name", STANDARD.material_names())
def test_materials(name: str) -> None:
    """Numbers of every alloy lie where steels and nickel alloys lie (common practice, no source)."""
    found = STANDARD.material(name)

    assert 7700 < found.density < 8500
    assert 10 < found.alpha(20) <= found.alpha(600) <= found.alpha(1200) < 22
    assert 200 > found.modulus(500) > found.modulus(800) > 100 or name in {"625", "mild steel"}
    assert found.t_max_air > 500


def test_curve() -> None:
    """Linear between the points, constant beyond them (closed form); 304 at 207.5 °C is halfway 100 to 315."""
    alpha = STANDARD.material("304").alpha

    assert alpha(207.5) == pytest.approx((17.3 + 17.8) / 2)
    assert alpha(-50) == 17.3
    assert alpha(2000) == 19.3


@pytest.mark.parametrize(
    ("look", "told"),
    [
        (lambda: STANDARD.material("inox"), "there is no material 'inox' in the catalogue: use 304, 321"),
        (lambda: STANDARD.thread("M9"), "use M3, M4, M6, M8, M8x1, M10, M10x1.25"),
        (lambda: STANDARD.hole("M8", "loose"), "use fine, medium, coarse"),
        (lambda: STANDARD.nut("wing", "M8"), "use hex, flange, all-metal-lock"),
        (lambda: STANDARD.nut("all-metal-lock", "M4"), "no all-metal-lock nut of M4"),
        (lambda: STANDARD.row("tig", "torch", "huge"), "use small, large"),
    ],
)
def test_unknown_names(look: object, told: str) -> None:
    """A name that is not there is answered with the names that are."""
    with pytest.raises(KeyError) as caught:
        look()  # type: ignore[operator]

    assert told in str(caught.value)


def test_defaults() -> None:
    """The defaults that the parameter file promises (common practice, no source)."""
    limits = STANDARD.defaults("limits")

    assert (limits["gap"], limits["merge_zone"], limits["end_tolerance"], limits["heat_gap"]) == (
        12,
        85,
        0.05,
        50,
    )
    assert len(limits) == 14
