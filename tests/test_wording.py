"""Numbers in words: rounded as it helps at the bench, never so that two that differ read the same."""

from __future__ import annotations

import math
from decimal import ROUND_HALF_EVEN, Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from manifoldgen.wording import compared, compass, counted, fixed, place, signed, size, sizes, some, turn

LENGTHS = st.floats(-1e4, 1e4)


@given(LENGTHS, st.integers(1, 3))
def test_rounded_to_the_nearest(value, decimals) -> None:
    """By decimal arithmetic of the standard library, ties as the binary number has them; zero without a sign."""
    exact = Decimal(value).quantize(Decimal(1).scaleb(-decimals), ROUND_HALF_EVEN)

    assert Decimal(fixed(value, decimals)) == exact
    assert fixed(value, decimals).lstrip("-0.") or not fixed(value, decimals).startswith("-")


@pytest.mark.parametrize("nearly", [-0.04, -0.0, 0.0, 0.04, -1e-12])
def test_zero_is_never_negative(nearly) -> None:
    """Whatever is small enough to read nothing reads nothing."""
    assert fixed(nearly) == signed(nearly) == compass(nearly) == turn(nearly) == "0.0"
    assert size(nearly / 10) == "0"
    assert place((nearly, 1.0, nearly)) == "0.0, 1.0, 0.0"


def test_sizes_are_those_of_the_catalogue() -> None:
    """EN ISO 1127 and inch tube (1-5/8 in = 41.275 mm, 2-1/4 in = 57.15 mm): nothing cut, nothing added."""
    assert [size(v) for v in (38.0, 42.4, 57.15, 1.65, 2.0, 9.0, 8.4, 41.275)] == [
        "38", "42.4", "57.15", "1.65", "2", "9", "8.4", "41.27",
    ]  # fmt: skip
    assert sizes(60.3, 2.77) == "60.3 x 2.77"
    assert size(100.0) == "100"


@given(st.floats(-1e4, 1e4))
def test_angles_once_round(degrees) -> None:
    """The same direction, in one turn: never 360.0, never below -180."""
    once, short = float(compass(degrees)), float(turn(degrees))

    assert 0.0 <= once < 360.0
    assert -180.0 < short <= 180.0
    for shown in (once, short):
        assert abs((shown - degrees + 180.0) % 360.0 - 180.0) <= 0.0501


def test_angles_at_the_seam() -> None:
    """Just short of a whole or half turn rounds onto it, and that is called by one name."""
    assert [compass(a) for a in (372.1, 359.94, 359.96, -0.04, -90.0)] == [
        "12.1",
        "359.9",
        "0.0",
        "0.0",
        "270.0",
    ]
    assert [turn(a) for a in (372.1, 179.96, -179.96, 180.0, -180.0, 350.0)] == [
        "12.1", "180.0", "180.0", "180.0", "180.0", "-10.0",
    ]  # fmt: skip


@given(st.floats(1e-5, 1e4))
def test_what_is_there_never_reads_nothing(value) -> None:
    """To 0.1, or to the first digit that is not zero; at most half of that off."""
    said = some(value)

    assert float(said) > 0.0
    assert abs(float(said) - value) <= 0.5 * 10.0 ** -len(said.partition(".")[2]) * (1 + 1e-9)
    assert len(said.partition(".")[2]) == (1 if round(value, 1) else math.ceil(-math.log10(2 * value)))


@given(st.floats(0.0, 200.0), st.floats(-20.0, 20.0))
def test_a_value_reads_as_something_else_than_its_limit(limit, off) -> None:
    """Where they differ by a thousandth or more their texts do, in the same order, and the rest is not nothing."""
    told = compared(limit + off, limit)
    if abs(off) < 1e-3:
        return
    assert (float(told.value) > float(told.limit)) == (off > 0)
    assert float(told.value) != float(told.limit)
    assert float(told.apart) > 0.0


def test_no_more_digits_than_needed() -> None:
    """One decimal where it tells them apart, one more where not; equal ones stay short."""
    assert compared(8.84, 12.0) == compared(8.84, 12.0, least=1)
    assert (compared(8.84, 12.0).value, compared(8.84, 12.0).limit, compared(8.84, 12.0).apart) == (
        "8.8",
        "12.0",
        "3.2",
    )
    near = compared(11.98, 12.0)
    assert (near.value, near.limit, near.apart) == ("11.98", "12.00", "0.02")
    assert compared(12.0, 12.0).value == "12.0"
    assert compared(0.19, 1.0, least=2).value == "0.19"


@pytest.mark.parametrize(
    ("number", "word", "told"),
    [
        (0, "error", "no errors"),
        (1, "branch", "1 branch"),
        (2, "branch", "2 branches"),
        (2, "piece", "2 pieces"),
    ],
)
def test_counted(number, word, told) -> None:
    """As one says it."""
    assert counted(number, word) == told
