"""The order of welding: found whenever there is one, with what has to come first, and a way out where there is none."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from itertools import permutations

import numpy as np
import pytest

from manifoldgen.access.order import Link, WeldStages, plan, together
from manifoldgen.access.purge import Volume, volumes
from manifoldgen.access.reach import bench_of, reach_of, reaches
from manifoldgen.access.results_welds import PurgeOpening
from manifoldgen.access.torch import torches
from manifoldgen.access.wayout import find
from manifoldgen.access.welding import blocked_run, tackable, welding
from manifoldgen.access.welds import curve_of
from manifoldgen.catalogue import STANDARD
from manifoldgen.geometry.path import Straight
from manifoldgen.manifold.model import Manifold
from manifoldgen.pieces import split
from tests import factory


def bits(*groups: int) -> int:
    """A set of groups."""
    return sum(1 << g for g in groups)


def chain(n: int) -> tuple[Link, ...]:
    """Pieces 0 … n in a row."""
    return tuple(Link(f"J{k}", bits(k, k + 1)) for k in range(n))


def toy(links, blocks, **more) -> WeldStages:
    """A plan where a joint is reached unless one of its blockers hangs there too."""

    def full(name: str, present: int) -> bool:
        return not blocks.get(name, 0) & present

    return plan(links, full, share=lambda name, present: float(full(name, present)), **more)


def welded_in(order, full: Callable[[str, int], bool]) -> bool:
    """Whether an order of single joints works, each with what hangs together once it is closed."""
    return all(full(link.id, together(order[: k + 1])(link)) for k, link in enumerate(order))


def test_an_order_is_found_wherever_there_is_one() -> None:
    """Every order of up to five joints tried by brute force, 60 random jobs: one exists, or the plan is stuck."""
    print("seed 2")
    rng = np.random.default_rng(2)
    stuck = 0
    for _ in range(60):
        n = int(rng.integers(2, 6))
        links = tuple(Link(f"J{k}", bits(k + 1, int(rng.integers(0, k + 1)))) for k in range(n))
        blocks = {j.id: bits(*map(int, rng.permutation(n + 1)[: int(rng.integers(0, 2))])) for j in links}
        there = any(
            welded_in(order, lambda name, present, b=blocks: not b[name] & present)
            for order in permutations(links)
        )
        found = toy(links, blocks)
        assert (not found.stuck) is there
        stuck += not there
        assert sorted(j for stage in found.stages for j in stage) == sorted(j.id for j in links)
    assert 10 < stuck < 50


def test_every_stage_can_be_welded_with_what_it_says_hangs_there() -> None:
    """Played forwards over more than 62 pieces: each joint is free among the joints closed by then."""
    links = chain(90)
    blocks = {f"J{k}": bits(k + 5) for k in range(0, 80, 7)} | {"J40": bits(0), "J85": bits(90)}
    blocks["J85"] = bits(80)
    found = toy(links, blocks)

    assert not found.stuck
    assert len(found.stages) > 1
    for stage, closed in zip(found.stages, found.closed, strict=True):
        assert set(stage) <= set(closed)
        hangs = together([j for j in links if j.id in closed])
        for j in links:
            if j.id in stage:
                assert not blocks.get(j.id, 0) & hangs(j)
    for before, after in zip(found.closed, found.closed[1:], strict=False):
        assert set(before) < set(after)


def test_what_is_reached_with_everything_in_place_is_welded_last() -> None:
    """One blocked joint in a chain of three comes first, alone; the rest is one stage."""
    assert toy(chain(3), {"J0": bits(3)}).stages == (("J0",), ("J1", "J2"))
    assert toy(chain(3), {}).stages == (("J0", "J1", "J2"),)


def test_before_is_kept_and_a_wish_is_dropped_when_nothing_else_is_left() -> None:
    """J0 before J2 makes two stages; the same wished the other way round in a circle is let go."""
    assert toy(chain(3), {}, before={"J0": ("J2",)}).stages == (("J0",), ("J1", "J2"))
    wished = toy(chain(3), {}, rather_before={"J0": ("J2",), "J2": ("J0",), "J1": ("J0",)})
    assert not wished.stuck
    assert {j for s in wished.stages for j in s} == {"J0", "J1", "J2"}


def test_a_joint_blocked_by_its_own_pieces_is_stuck_and_the_rest_goes_on() -> None:
    """It counts as stuck once; with a way out it still does, and comes where it is possible."""
    blocks = {"J1": bits(1)}
    found = toy(chain(4), blocks)
    assert found.stuck == ("J1",)
    assert sorted(j for s in found.stages for j in s) == ["J0", "J1", "J2", "J3"]
    asked = []

    def rescue(name: str, present: int) -> bool:
        asked.append((name, present))
        return True

    assert toy(chain(4), blocks, rescue=rescue).stuck == ("J1",)
    assert asked == [("J1", bits(1, 2))]


@pytest.fixture(scope="module")
def four() -> Manifold:
    """Four straight runners that lean together, a branch off the outlet's bend."""
    return split(factory.with_branch(factory.manifold(4)))


@pytest.fixture(scope="module")
def told(four):
    """All that is said about its welds."""
    return welding(four)


def test_inner_seams_and_star_come_before_lid_and_cone(four, told) -> None:
    """The merge end is open while they are welded: neither lid nor cone is fitted in their stage."""
    stage = {w.id: w.stage for w in told.welds}
    late = min(stage["JC.L"], stage["JC.C"])
    inner = [j.id for j in four.joints if j.kind in ("inner seam", "star")]

    assert inner
    assert all(stage[j] < late for j in inner)
    for entry in told.stages:
        if set(entry.joints) & set(inner):
            assert not {"collector", "C-P1", "C-P2"} & set(entry.fitted)
    assert stage["JW.1"] < stage["JO.2"]


def test_every_weld_is_in_one_stage_and_the_numbers_fit_together(four, told) -> None:
    """Reach, tier, apart and stage say the same thing; shapes stand where the torch reaches anything."""
    assert [w.id for w in told.welds] == [j.id for j in four.joints]
    listed = [j for s in told.stages for j in s.joints]
    assert sorted(listed) == sorted(j.id for j in four.joints)
    for w in told.welds:
        assert w.apart is (w.reach < 1.0)
        assert (w.tier is None) is (w.stage_reach < 1.0 and w.reach < 1.0)
        assert w.stage_reach >= w.reach - 1e-9
        assert w.stuck is (w.stage_reach < 1.0)
        assert bool(w.blocked_by) is w.apart
        assert set(w.as_dict()) >= {"id", "reach", "tier", "blocked_by", "stage", "apart", "shapes"}
        assert w.assumed == ("torch head and handle", "cup")
    for s in told.stages:
        assert set(s.as_dict()) == {"stage", "joints", "fitted", "purge"}
        assert set(s.purge.as_dict()) == {"cap", "gas_in", "vent"}


def test_the_whole_is_purged_from_the_lowest_opening_to_the_highest(told, four) -> None:
    """Bench z: the ports at z = 0 are lowest, the turbo flange sits above; all other openings are capped."""
    last = told.stages[-1].purge
    heights = {f"port {n}": 0.0 for n in range(1, 5)} | {f.name: f.frame.at[2] for f in four.flanges[1:]}

    assert last.gas_in.kind == "port"
    assert heights[last.vent.words] == max(heights.values())
    assert {o.words for o in (last.gas_in, last.vent, *last.cap)} == set(heights)


def test_open_ends_are_named_by_piece_and_joint() -> None:
    """A bare stub on the flange: its port and its free end, and each runner is a volume of its own."""
    m = split(factory.manifold(3, stub=40.0))
    found = volumes(m, ["J1.1", "J2.1"])

    first = next(v for v in found if "R1-P1" in v.pieces)
    assert first.pieces == {"R1-P1"}
    assert [o.words for o in first.openings] == ["port 1", "R1-P1 at J1.1a"]
    assert first.purge.as_dict() == {"cap": [], "gas_in": "port 1", "vent": "R1-P1 at J1.1a"}


def test_a_plate_has_a_hole_for_every_inlet_that_is_not_in_it_yet() -> None:
    """Two of three inlets welded in: the third's hole and the plate's rim are open, each told once, and one is the vent."""
    m = split(factory.manifold(3, kind="bundle", merge_depth=0.0, join_depth=0.0))
    last = [j.id for j in m.joints if j.kind == "plate"][-1]
    shut = [j.id for j in m.joints if j.kind == "plate" and j.id != last]
    shut += [j.id for j in m.joints if j.kind == "flange" and m.head.name in j.between]
    whole = next(v for v in volumes(m, shut) if "C-P1" in v.pieces)
    names = [o.words for o in whole.openings]

    assert sorted(names) == sorted(["port 1", "port 2", "C-P1 at JC.C", f"hole in C-P1 for {last}"])
    assert whole.purge.vent is not None
    assert whole.purge.vent not in whole.purge.cap


def test_tacks_need_three_places_none_too_far_apart() -> None:
    """Common practice, no source (catalogue: 3 tacks, at most 130° apart): 36 places, 10° each."""
    m = factory.manifold(3)
    row = STANDARD.row("tig", "practice", "tack")
    assert (row["min_count"], row["max_gap_deg"]) == (3, 130)
    free = np.zeros(36, bool)
    free[[0, 12, 24]] = True
    assert tackable(m, free, closed=True)
    free[24] = False
    free[26] = True  # 140° from place 12
    assert not tackable(m, free, closed=True)
    assert blocked_run(np.array([0, 1, 1, 0, 0], bool), closed=True) == 3
    assert blocked_run(np.array([0, 1, 1, 0, 0], bool), closed=False) == 2


@pytest.mark.slow
def test_moving_a_joint_upstream_is_a_way_out_that_holds() -> None:
    """Straight runners that lean together 12°: 10 mm from the ring plane they stand too close, further up not.

    The move that is said lets the whole ring be reached, 5 mm less does not.
    """
    m = split(factory.manifold(4, stub=15.0))
    on = bench_of(m)
    joint = next(j for j in m.joints if j.id == "J1.1a")
    tools = torches(m.tables)
    assert not reaches(m, tools[0], on, ["J1.1a"])["J1.1a"].full(on.everything)
    said = find(m, on, tools, joint, on.everything)

    assert said is not None
    moved = float(said.split("move it ")[1].split(" mm")[0])
    assert "upstream" in said
    back = np.array(joint.direction)
    for less, works in ((0.0, True), (5.0, False)):
        there = replace(joint, at=tuple(np.array(joint.at) - (moved - less) * back))
        assert reach_of(m, curve_of(m, there), tools[0], on).full(on.everything) is works


def test_a_bench_plate_is_in_the_way_below_the_flange_only() -> None:
    """60 mm above the plate a torch from below is blocked by the plate alone; without it, it is free."""
    m = split(factory.manifold(3))
    plain, wide = bench_of(m), bench_of(m, bench=True)
    torch = torches(m.tables)[0]
    (w,) = curve_of(m, next(j for j in m.joints if j.id == "J1.1"))
    place = np.array([[400.0, 400.0, 60.0]])
    under = replace(
        w, points=place, along=np.array([[1.0, 0, 0]]), bisector=np.array([[0, 0, -1.0]]), hosts=()
    )

    assert reach_of(m, (under,), torch, plain).full(plain.everything)
    found = reach_of(m, (under,), torch, wide)
    assert not found.full(wide.everything)
    assert found.full(plain.everything)
    assert [wide.words[g] for g in found.blockers(wide.everything)] == ["the bench plate"]


def test_a_runner_alone_is_welded_in_one_go() -> None:
    """Nothing near: every joint easy, one stage, never apart."""
    m = factory.manifold(3)
    m = split(factory.alone(m, factory.runner(1, [Straight(80)])))
    found = welding(m)

    assert found.taken_apart == 0
    assert {w.reach for w in found.welds} == {1.0}
    assert not any(w.apart or w.stuck for w in found.welds)


def test_collector_ends_held_together_are_the_vent() -> None:
    """The torch comes in through them: they cannot be capped; a single one still follows its height."""
    held = Volume(
        frozenset({"R1-P2", "R2-P2"}),
        (
            PurgeOpening("collector end", 90.0, ("R1-P2",)),
            PurgeOpening("collector end", 10.0, ("R2-P2",)),
            PurgeOpening("end", 120.0, ("R1-P2",), "J1.2"),
            PurgeOpening("end", 30.0, ("R2-P2",), "J2.2"),
        ),
    ).purge
    low, high = (
        PurgeOpening("collector end", 10.0, ("R1-P2",)),
        PurgeOpening("end", 120.0, ("R1-P2",), "J1.2"),
    )
    alone = Volume(frozenset({"R1-P2"}), (low, high)).purge

    assert held.as_dict() == {
        "cap": ["R1-P2 at J1.2"],
        "gas_in": "R2-P2 at J2.2",
        "vent": "collector ends of R2-P2, R1-P2 together, under foil with a window for the torch",
    }
    assert alone.as_dict() == {"cap": [], "gas_in": "collector end of R1-P2", "vent": "R1-P2 at J1.2"}
