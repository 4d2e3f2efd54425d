"""Ends, straights, lengths and firing order of runners: each limit from both sides."""

from __future__ import annotations

from dataclasses import replace

import pytest

from manifoldgen.checks import end_straights, firing_order, length_spread, path_ends
from manifoldgen.geometry.path import Bend, Straight
from tests.factory import alone, manifold, runner


def first(m, **changes):
    """The manifold with its first runner changed."""
    return replace(m, runners=(replace(m.runners[0], **changes), *m.runners[1:]))


@pytest.mark.parametrize(
    ("mm", "deg", "said"),
    [
        (0.05, 0.05, None),
        (0.06, 0.0, "0.06 mm and 0.0°"),
        (0.0, 0.06, "0.0 mm and 0.06°"),
        (3.0, 2.0, "3.0 mm and 2.0°"),
    ],
)
def test_a_miss_of_more_than_the_fit_up(mm, deg, said) -> None:
    """0.05 mm and 0.05° are allowed; the finding gives both misses, never as their limit reads, and the inlet."""
    m = first(manifold(), miss_mm=mm, miss_deg=deg)
    found = path_ends.check_miss(m)

    assert [f.name for f in found] == ["path-misses-inlet"] * (said is not None)
    for finding in found:
        assert finding.limit == 0.05
        assert (finding.value, finding.unit) == ((mm, "mm") if mm > 0.05 else (deg, "deg"))
        assert f"ends {said} off its inlet" in finding.message
        assert finding.points[-1] == m.runners[0].target.at


def test_a_close_that_failed_is_a_miss_with_its_reason() -> None:
    """The trouble stands in the message; it is not also a path still to be found."""
    m = first(manifold(), path=None, todo="close", trouble="the inlet is 30 mm behind the last bend")
    (finding,) = path_ends.check_miss(m)

    assert "the inlet is 30 mm behind the last bend." in finding.message
    assert not path_ends.check_auto(m)


@pytest.mark.parametrize(("todo", "word"), [("auto", "no path"), ("close", "`close`")])
def test_paths_still_to_be_found_are_notes(todo, word) -> None:
    """`auto` and an open `close` are notes, never errors."""
    (finding,) = path_ends.check_auto(first(manifold(), path=None, todo=todo))

    assert (finding.name, finding.severity, finding.parts) == ("path-auto", "note", ("runner 1",))
    assert word in finding.message
    assert not path_ends.check_auto(manifold())


@pytest.mark.parametrize(
    ("order", "fires", "ok"),
    [
        ((1, 3, 4, 2), (1, 3, 4, 2), True),
        ((3, 4, 2, 1), (1, 3, 4, 2), True),  # turned
        ((1, 2, 4, 3), (1, 3, 4, 2), True),  # the other way round
        ((1, 2, 3, 4), (1, 3, 4, 2), False),
        ((1, 5, 6), (1, 5, 3, 6, 2, 4), True),  # any three are a ring
    ],
)
def test_firing_order_up_to_rotation_and_reflection(order, fires, ok) -> None:
    """Closed form: a ring has 2 N readings; four cylinders have rings that are none of them."""
    assert firing_order.in_firing_order(order, fires) == ok


@pytest.mark.parametrize(("rule", "severity"), [("list", "error"), ("free", "warning")])
def test_a_free_order_only_warns(rule, severity) -> None:
    """1 2 3 4 against 1 3 4 2: an error where it was asked, a warning where the order is free."""
    m = manifold(4, order_rule=rule)
    m = replace(m, engine=replace(m.engine, firing_order=(1, 3, 4, 2)))
    (finding,) = firing_order.check(m)

    assert finding.severity == severity
    assert "1, 3, 4, 2" in finding.do
    assert not firing_order.check(manifold(4))


def lengths(*mm: float):
    """Straight runners of these lengths, 1 % asked."""
    return alone(manifold(), *(runner(k + 1, [Straight(x)], (100.0 * k, 0, 12)) for k, x in enumerate(mm)))


@pytest.mark.parametrize(("longest", "named"), [(404.02, False), (404.03, True)])
def test_spread_is_longest_less_shortest_over_the_mean(longest, named) -> None:
    """By hand: 400 and x, (x - 400) / ((x + 400) / 2) = 1 % at x = 404.0201."""
    found = length_spread.check(lengths(400.0, longest))

    assert [f.name for f in found] == ["length-spread"] * named
    for finding in found:
        assert finding.limit == pytest.approx(1.0)
        assert finding.value == pytest.approx(1.00248, abs=1e-4)
        assert finding.parts == ("runner 2", "runner 1")


def test_spread_waits_for_every_path_and_for_being_asked() -> None:
    """One runner still auto, or no equal_within: nothing is said."""
    m = lengths(400.0, 500.0, 400.0)

    assert length_spread.check(m)
    assert not length_spread.check(replace(m, equal_within=None))
    assert not length_spread.check(first(m, path=None, todo="auto"))


@pytest.mark.parametrize(
    ("head", "inlet", "parts"),
    [
        (25.0, 15.0, []),
        (24.9, 15.0, ["head flange"]),
        (25.0, 14.9, ["inlet"]),
        (0.0, 0.0, ["head flange", "inlet"]),
    ],
)
def test_straights_at_both_ends(head, inlet, parts) -> None:
    """25 mm at the head flange, 15 mm at the inlet; the finding gives the missing mm."""
    found = end_straights.check(
        alone(manifold(), runner(1, [Straight(head), Bend(30, 63.6), Straight(inlet)]))
    )

    assert [f.parts[1] for f in found] == parts
    for finding in found:
        assert finding.name == "flange-straight-short"
        assert f"{finding.limit - finding.value:.1f} mm longer" in finding.do


def test_two_straights_in_a_row_count_together_and_a_formed_tube_needs_its_length() -> None:
    """10 + 15 mm are 25; a port tube formed over 40 mm needs 40."""
    m = alone(manifold(), runner(1, [Straight(10), Straight(15), Bend(30, 63.6), Straight(20)]))
    assert not end_straights.check(m)

    formed = replace(m, head=replace(m.head, transition="tube", transition_length=40.0))
    (finding,) = end_straights.check(formed)
    assert (finding.value, finding.limit) == (25.0, 40.0)


def test_a_run_without_a_way_to_its_inlet_says_only_that() -> None:
    """A `close` that failed: its straight of 5 mm at the flange is not held against it as well."""
    short = runner(1, [Straight(5.0)])
    assert end_straights.check(alone(manifold(), short))
    assert end_straights.check(alone(manifold(), replace(short, trouble="no bends lead there"))) == ()
