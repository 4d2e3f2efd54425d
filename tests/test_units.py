"""Lengths, angles and shares as people write them."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from manifoldgen import units

# 1 in = 25.4 mm exactly: international yard and pound agreement, 1959
TABLE = (
    ("41.3 mm", 41.3), ("41.3mm", 41.3), ("4.13 cm", 41.3), ("0.0413 m", 41.3), ("1 in", 25.4), ('1"', 25.4), ("1 inch", 25.4),
    ("1-5/8 in", 41.275), ("1 5/8 in", 41.275), ('1 3/8"', 34.925), ("5/8 in", 15.875), ('5/8"', 15.875), ("1.5e1 mm", 15.0),
    ("-1-1/2 in", -38.1), ("+2 mm", 2.0), (".5 in", 12.7), (12, 12.0), (12.5, 12.5), ("2 INCHES", 50.8),
)  # fmt: skip
WRONG = (
    ("63,5", "use a point"), ("63,5 mm", "use a point"), ("41.3", "no unit"), ("5/8", "no unit"), ("1/0 in", "divides by zero"),
    ("12 parsec", "not known"), ("mm", "not a length"), ("", "not a length"), ("1--2 in", "not a length"), ("nan", "not a length"),
    (True, "true is not a number"), (None, "an empty value"), (float("nan"), "finite"), (float("inf"), "finite"),
    (10**400, "finite"), (2e5, "too large"), ([1], "a list"), ({}, "a block"), ("9" * 300 + " mm", "not a length"),
)  # fmt: skip


@pytest.mark.parametrize(("text", "mm"), TABLE)
def test_length(text: object, mm: float) -> None:
    """Every way to write a length gives its millimetres."""
    assert units.length(text) == pytest.approx(mm, rel=1e-14)


@pytest.mark.parametrize(("text", "told"), WRONG)
def test_no_length(text: object, told: str) -> None:
    """What is no length is refused with a sentence that says why."""
    with pytest.raises(ValueError, match=told):
        units.length(text)


@given(st.integers(0, 40), st.integers(1, 63), st.sampled_from((2, 4, 8, 16, 32, 64)), st.sampled_from("- "))
def test_fractions_of_an_inch(whole: int, top: int, bottom: int, joint: str) -> None:
    """Fractions agree with exact rational arithmetic (closed form)."""
    exact = (whole + Fraction(top, bottom)) * Fraction(254, 10)

    assert units.length(f"{whole}{joint}{top}/{bottom} in") == pytest.approx(float(exact), rel=1e-14)


@given(st.floats(-9e4, 9e4), st.sampled_from(("mm", "cm", "m", "in")))
def test_decimal_with_unit(value: float, unit: str) -> None:
    """A decimal number with a unit is that number times the unit, or too large."""
    factor = {"mm": 1, "cm": 10, "m": 1000, "in": 25.4}[unit]
    if abs(value * factor) <= 1e5:
        assert units.length(f"{value!r} {unit}") == pytest.approx(value * factor, rel=1e-14, abs=1e-300)


@given(st.text(max_size=80))
def test_any_text(text: str) -> None:
    """No text gives anything but a number or a sentence."""
    for read in (units.length, units.angle, units.fraction):
        try:
            found: object = read(text)
        except ValueError as error:
            found = str(error)
        assert isinstance(found, float) or len(str(found)) < 300


def test_angle_and_share() -> None:
    """Angles and shares take their signs and nothing else."""
    assert units.angle("12.5 deg") == units.angle("12.5°") == units.angle(12.5) == 12.5
    assert units.fraction("1 %") == units.fraction(0.01) == 0.01
    for read, text in (
        (units.angle, "12 mm"),
        (units.fraction, "1 mm"),
        (units.angle, "1,5"),
        (units.fraction, "x"),
    ):
        with pytest.raises(ValueError, match=r"write|point"):
            read(text)


@pytest.mark.parametrize(
    ("mm", "said"),
    [
        (13, "13 mm"), (8, "8 mm"), (19, "19 mm"), (5.5, "5.5 mm"), (14.2875, "9/16 in"), (14.29, "9/16 in"), (7.94, "5/16 in"),
        (12.7, "1/2 in"), (19.05, "3/4 in"), (25.4, "1 in"), (28.575, "1-1/8 in"), (8.73, "11/32 in"), (14.3, "14.3 mm"),
    ],
)  # fmt: skip
def test_sizes_across_flats(mm: float, said: str) -> None:
    """Inch sizes by their fraction, as exact or to 0.01 mm; metric sizes in mm (1 in = 25.4 mm exactly)."""
    assert units.across_flats(mm) == said


def test_no_metric_size_is_taken_for_inches() -> None:
    """Whole and half millimetres up to 50 stay millimetres."""
    assert all(units.across_flats(k / 2) == f"{k / 2:g} mm" for k in range(1, 101))
