"""Gaps between straight tubes and plain shapes, one job just inside and one just outside each limit."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import pytest

from manifoldgen.checks import heat_gap, obstacle_gap, other_gap, runner_gap, self_gap
from manifoldgen.checks.gaps import gap_table
from manifoldgen.checks.pairs import Pair, along_runner, short
from manifoldgen.errors import Where
from manifoldgen.geometry.gap import Gap
from manifoldgen.geometry.path import Bend, Path, Straight
from manifoldgen.geometry.pose import BENCH, Frame, Pose
from manifoldgen.geometry.shapes import Box, Cylinder
from manifoldgen.geometry.vectors import array
from manifoldgen.manifold.model import Obstacle, VBand
from tests import factory
from tests.factory import FACE, GATE, LIMITS, OUTLET, TUBE, alone, manifold, runner

NEAR = 0.02  # mm either side of a limit
EITHER = pytest.mark.parametrize("side", [-1, 1], ids=["outside", "inside"])


def two(distance: float, length: float = 400.0, **limits: float):
    """Two parallel runners, wall to wall `distance` mm apart."""
    pitch = TUBE.od + distance
    runs = (runner(1, [Straight(length)], where=Where(7, 3)), runner(2, [Straight(length)], (pitch, 0, FACE)))
    m = alone(manifold(), *runs)
    return replace(m, limits=replace(m.limits, **limits))


@EITHER
def test_parallel_runners_need_the_full_gap_in_the_middle(side) -> None:
    """Closed form: two straight runners, gap = pitch - OD; 12 mm is asked between the zones."""
    found = runner_gap.check(two(12.0 + side * NEAR))

    assert len(found) == (side < 0)
    for finding in found:
        assert (finding.name, finding.severity, finding.unit) == ("runner-gap", "error", "mm")
        assert finding.value == pytest.approx(12.0 - NEAR, abs=1e-3)
        assert finding.limit == pytest.approx(12.0, abs=1e-6)
        assert finding.parts == ("runner 1", "runner 2")
        assert finding.where == Where(7, 3)
        (xa, _, za), (xb, _, zb) = finding.points
        assert (xa, xb) == pytest.approx((TUBE.radius, TUBE.radius + 12.0 - NEAR), abs=1e-3)
        assert FACE + 45 + 30 - 1 < za < FACE + 400 - 85 - 30 + 1
        assert za == pytest.approx(zb, abs=0.5)


@EITHER
def test_near_the_flange_and_the_inlet_less_is_asked(side) -> None:
    """All within flange_zone: 6 mm; all within merge_zone: 0.5 mm (a runner of 60 mm lies in both: 0.5)."""
    assert bool(
        runner_gap.check(two(6.0 + side * NEAR, 120.0, flange_zone=150.0, merge_zone=0.0, ramp=0.0))
    ) == (side < 0)
    assert bool(runner_gap.check(two(0.5 + side * NEAR, 60.0))) == (side < 0)


def test_the_larger_of_two_asked_gaps_counts() -> None:
    """Runner 2 is short, all in its merge zone (0.5); beside it runner 1 asks 12: gap 8 is too small."""
    long, brief = runner(1, [Straight(600)]), runner(2, [Straight(60)], (TUBE.od + 8.0, 0, FACE + 270))
    (finding,) = runner_gap.check(alone(manifold(), long, brief))

    assert finding.value == pytest.approx(8.0, abs=1e-3)
    assert finding.limit == pytest.approx(12.0)


@pytest.mark.parametrize(
    ("s", "asked"),
    [(0, 6), (45, 6), (60, 9), (75, 12), (150, 12), (285, 12), (300, 6.25), (315, 0.5), (400, 0.5)],
)
def test_the_asked_gap_along_a_runner(s, asked) -> None:
    """400 mm: 6 to 45, up to 12 at 75; 12 to 285, down to 0.5 at 315 (linear: half way 9 and 6.25)."""
    assert asked_at(along_runner(runner(1, [Straight(400)]), LIMITS), s) == pytest.approx(asked)


@pytest.mark.parametrize("s", [0, 20, 29, 31, 40, 45, 45.4, 47.5, 60, 100, 145])
def test_where_both_rules_meet_the_smaller_is_asked(s) -> None:
    """145 mm, by hand: flange rule 6, from 45 on 6 + 0.2 (s - 45); merge rule 12 at 30 down to 0.5 at 60."""
    flange = 6 + 0.2 * min(max(s - 45, 0), 30)
    merge = 0.5 + 11.5 * min(max(60 - s, 0), 30) / 30
    assert asked_at(along_runner(runner(1, [Straight(145)]), LIMITS), s) == pytest.approx(min(flange, merge))


def test_a_ramp_of_no_length_is_a_step() -> None:
    """Ramp 0: 6 up to 45 mm, 12 right after it."""
    asked = along_runner(runner(1, [Straight(400)]), replace(LIMITS, ramp=0.0))

    assert asked.at == pytest.approx((0, 45, 45, 315, 315, 400))
    assert asked.gap == pytest.approx((6, 6, 12, 12, 0.5, 0.5))


def asked_at(asked, s: float) -> float:
    """The asked gap at arc length s, straight between its corners."""
    for (a, u), (b, v) in pairwise(zip(asked.at, asked.gap, strict=True)):
        if a <= s <= b and b > a:
            return u + (v - u) * (s - a) / (b - a)
    raise AssertionError(s)


@EITHER
def test_a_loop_keeps_clear_of_itself(side) -> None:
    """Closed form: 45° out, 270° round, 45° back on one CLR R: the legs stand (2√2 - 2) R apart."""
    clr = (TUBE.od + 8.0 + side * NEAR) / (2 * math.sqrt(2) - 2)
    loop = [Straight(80), Bend(45, clr), Bend(270, clr, 180), Bend(45, clr, 180), Straight(80)]
    found = self_gap.check(alone(manifold(), runner(1, loop)))

    assert len(found) == (side < 0)
    for finding in found:
        assert finding.value == pytest.approx(8.0 - NEAR, abs=2e-3)
        assert finding.parts == ("runner 1",)
        assert "to itself" in finding.message


def obstacle(m, shape, **more):
    """The manifold with one obstacle."""
    return replace(m, obstacles=(Obstacle("frame rail", shape, 10.0, **more),))


@EITHER
def test_an_obstacle_has_its_own_clearance(side) -> None:
    """Closed form: a box whose face stands 10 mm beside a straight runner's wall."""
    x = TUBE.radius + 10.0 + side * NEAR
    box = Box(Frame((x + 20, 0, FACE + 100), *BENCH_AXES), (20.0, 50.0, 30.0))
    m = obstacle(alone(manifold(), runner(1, [Straight(300)])), box)
    found = obstacle_gap.check(m)

    assert len(found) == (side < 0)
    for finding in found:
        assert finding.parts == ("runner 1", "frame rail")
        assert finding.value == pytest.approx(10.0 - NEAR, abs=1e-3)
        assert finding.limit == 10.0
    joined = obstacle(m, box, joined=("runner 1",))
    assert not obstacle_gap.check(joined)


BENCH_AXES = (BENCH.x, BENCH.y, BENCH.z)


@EITHER
def test_the_collector_keeps_clear_of_obstacles(side) -> None:
    """A box over the whole height beside the cone's rim: the rim is no further out than the inlets' skin."""
    m = manifold(3)
    c = m.collectors[0]
    at = array(c.frame.at)[2] + c.merge_depth
    x = c.rim_radius + 10.0 + side * 1.2  # the cone is measured at most 1 mm too large
    box = Box(Frame((x + 20, 0, at + 40), *BENCH_AXES), (20.0, 100.0, 40.0))
    found = obstacle_gap.check(obstacle(replace(m, runners=()), box))

    assert [f.parts for f in found] == [("collector", "frame rail")] * (side < 0)


@EITHER
def test_heat_sensitive_things_keep_further_away(side) -> None:
    """Closed form: a hose of radius 8 crossing 50 mm off a runner's wall; it is no obstacle-gap there."""
    x = TUBE.radius + 50.0 + side * NEAR + 8.0
    hose = Cylinder((x, -200.0, 150.0), (x, 200.0, 150.0), 8.0)
    m = alone(manifold(), runner(1, [Straight(300)]))
    hot = obstacle(m, hose, heat_sensitive=True)

    assert [f.name for f in heat_gap.check(hot)] == ["heat-gap"] * (side < 0)
    assert not heat_gap.check(obstacle(m, hose))
    assert not obstacle_gap.check(hot)


@EITHER
def test_a_runner_keeps_clear_of_the_outlet(side) -> None:
    """Closed form: outlet parallel to a runner, 12 mm wall to wall, beyond the runner's merge zone."""
    m = alone(manifold(), runner(1, [Straight(400)]))
    x = TUBE.radius + m.outlet.section.radius + 12.0 + side * NEAR
    start = replace(m.outlet.start, at=(x, 0.0, FACE + 120))
    m = replace(m, outlet=replace(m.outlet, start=start, path=Path(start, (Straight(50.0),))))
    found = other_gap.check(m)

    assert [f.parts for f in found] == [("runner 1", "outlet")] * (side < 0)


def test_near_its_inlet_a_runner_may_be_close_but_never_in() -> None:
    """The same 3 mm beside the last 60 mm of a runner is allowed; an overlap of 3 mm there is not."""
    for gap, names in ((3.0, []), (-3.0, ["other-gap"])):
        m = alone(manifold(), runner(1, [Straight(400)]))
        x = TUBE.radius + m.outlet.section.radius + gap
        start = replace(m.outlet.start, at=(x, 0.0, FACE + 400 - 60))
        m = replace(m, outlet=replace(m.outlet, start=start, path=Path(start, (Straight(50.0),))))
        found = [f for f in other_gap.check(m) if f.parts == ("runner 1", "outlet")]
        assert [f.name for f in found] == names
        for finding in found:
            assert "overlaps" in finding.message
            assert finding.value == pytest.approx(-3.0, abs=1e-2)


@EITHER
@pytest.mark.parametrize("vband", [False, True])
def test_a_runner_keeps_clear_of_a_flange_it_is_not_joined_to(side, vband) -> None:
    """Closed form: a round turbo flange of radius 50 (or a V-band with a clamp of 100) beside a runner."""
    m = alone(manifold(), runner(1, [Straight(400)]))
    x = TUBE.radius + 50.0 + 12.0 + side * 0.05
    frame = Frame((x, 0.0, FACE + 150.0), *BENCH_AXES)
    rim = None if vband else factory.contour.circle(100.0)
    body = VBand(84.0, 100.0, 20.0) if vband else None
    m = replace(m, turbo=replace(m.turbo, frame=frame, outline=rim, vband=body))
    found = [f for f in other_gap.check(m) if "runner 1" in f.parts]

    assert [f.parts for f in found] == [("runner 1", "turbo flange")] * (side < 0)


def test_a_runner_may_not_come_back_into_its_flange_or_collector() -> None:
    """A runner that turns back into the head flange is named; the straight bundle is not."""
    m = manifold(3)
    assert not other_gap.check(m)
    back = runner(1, [Straight(30), Bend(180, 63.6), Straight(60)], (0.0, 0.0, FACE))
    (finding,) = other_gap.check(alone(m, back))
    assert finding.parts == ("runner 1", "head flange")
    c = m.collectors[0]
    cone = array(c.frame.at)[2] + c.merge_depth + 20.0
    through = runner(1, [Straight(400)], (-200.0, 0.0, cone), direction=(1.0, 0.0, 0.0))
    found = other_gap.check(replace(m, runners=(through, *m.runners[1:])))
    assert ("runner 1", "collector") in [f.parts for f in found]


def test_a_branch_may_touch_its_parent_at_the_saddle_only() -> None:
    """The branch of the clean job is no finding; one whose flange end is carried into a runner is."""
    m = factory.with_branch(manifold(4))
    assert not other_gap.check(m)
    b = m.branches[0]
    start = replace(b.run.start, at=(0.0, 40.0, 100.0))
    inside = replace(b, run=replace(b.run, start=start, path=Path(start, (Straight(60.0),))))
    found = other_gap.check(replace(m, branches=(inside,)))
    assert ("runner 1", "wastegate branch") in [f.parts for f in found]


def test_a_gap_that_is_not_certified_says_so() -> None:
    """The message of an uncertified gap names by how much it may be less."""
    gap = Gap(4.0, 12.0, ((0, 0, 0), (4, 0, 0)), (1.0, 2.0), False, 0.25)
    (finding,) = short([Pair(runner_gap.RUNNER_GAP, "runner 1", "runner 2", gap, "Move one {} away.")])

    assert finding.message == (
        "runner 1 to runner 2 is 4.0 mm, 12.0 mm required. Not certified: it may be up to 0.3 mm less."
    )
    assert finding.do == "Move one 8.0 mm away."


def test_a_gap_never_reads_as_what_is_asked() -> None:
    """2 hundredths short: value, limit and cure are given in hundredths; a tenth short, in tenths."""
    for gap, told, missing in (
        (11.98, "11.98 mm, 12.00 mm required", "0.02"),
        (11.9, "11.9 mm, 12.0 mm required", "0.1"),
    ):
        met = Gap(gap, 12.0, ((0, 0, 0), (4, 0, 0)), (1.0, 2.0), True, 0.0)
        (finding,) = short([Pair(runner_gap.RUNNER_GAP, "runner 1", "runner 2", met, "Move one {} away.")])

        assert finding.message == f"runner 1 to runner 2 is {told}."
        assert finding.do == f"Move one {missing} mm away."


def test_the_table_holds_every_pair_with_its_worst_place() -> None:
    """Four runners: 6 pairs of runners first; each row has the keys of the report."""
    m = manifold(4)
    table = gap_table(m)

    assert [(p.a, p.b) for p in table[:6]] == [
        (f"runner {i}", f"runner {j}") for i in range(1, 5) for j in range(i + 1, 5)
    ]
    assert {p.kind.name for p in table} == {"runner-gap", "other-gap"}
    row = table[0].as_dict()
    assert set(row) == {"a", "b", "gap_mm", "asked_mm", "points"}
    assert row["gap_mm"] >= row["asked_mm"]


@pytest.mark.parametrize(("length", "named"), [(80.0, False), (90.0, True)])
def test_beyond_the_merge_zone_a_branch_keeps_clear_of_its_parent(length, named) -> None:
    """3 mm beside the outlet's last straight: allowed for the branch's first 85 mm, not further on."""
    m = factory.with_branch(manifold(4))
    path = Path(m.outlet.start, (Straight(25.0), Bend(90.0, 76.2), Straight(300.0)))
    x, y, z = path.point(path.length - 290.0)
    beside = Pose((x + OUTLET.radius + GATE.radius + 3.0, y, z), path.end.direction, path.end.normal)
    b = m.branches[0]
    branch = replace(b, run=replace(b.run, start=beside, path=Path(beside, (Straight(length),))))
    found = other_gap.check(replace(m, outlet=replace(m.outlet, path=path), branches=(branch,)))

    assert (("wastegate branch", "outlet") in [f.parts for f in found]) == named
