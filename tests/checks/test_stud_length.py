"""Studs against washer and nut: sizes of ISO 7089 and ISO 4032."""

from __future__ import annotations

from dataclasses import replace

import pytest

from manifoldgen.checks import stud_length
from manifoldgen.manifold.bolted import Stud
from tests.factory import manifold


def shortened(tip: float, **changes):
    """A job with one M8 stud that ends `tip` mm above the flange."""
    stud = Stud("S1", "head flange", "stud", (0.0, 0.0, 12.0), (0.0, 0.0, 1.0), "M8", tip, "hex", True, 9.0)
    return replace(manifold(), studs=(replace(stud, **changes),))


@pytest.mark.parametrize(("tip", "named"), [(8.6, False), (8.59, True)])
def test_a_stud_comes_through_washer_and_nut(tip, named) -> None:
    """M8 at their thickest: washer 1.8 mm (ISO 7089) and hexagon nut 6.8 mm (ISO 4032) need 8.6 mm."""
    found = stud_length.check(shortened(tip))

    assert [f.name for f in found] == ["stud-too-short"] * named
    for finding in found:
        assert (finding.value, finding.limit) == pytest.approx((tip, 8.6))


def test_without_a_washer_the_nut_alone_counts() -> None:
    """M8 hexagon nut: 6.8 mm (ISO 4032)."""
    assert stud_length.check(shortened(6.8, washer=False)) == ()
    assert len(stud_length.check(shortened(6.7, washer=False))) == 1


def test_bolts_and_unknown_lengths_are_not_judged() -> None:
    """A bolt has no nut of ours; a stud whose length nobody gave is chosen long enough."""
    assert stud_length.check(shortened(1.0, kind="bolt", nut=None)) == ()
    assert stud_length.check(shortened(0.0)) == ()
