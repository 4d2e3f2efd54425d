"""The weld plan: purge against closed forms and a worked example, order, tacks, filler, and rates of the shop's own."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from manifoldgen.access.hands import hands
from manifoldgen.catalogue import STANDARD
from manifoldgen.errors import GeometryError
from manifoldgen.geometry.path import Bend, Path, Straight
from manifoldgen.manifold.bolted import Section
from manifoldgen.manifold.collector_volume import cone_bore, inlet_bore, lid_bore
from manifoldgen.manifold.model import Manifold
from manifoldgen.pieces import split
from manifoldgen.shop import filler, purging
from manifoldgen.shop.bore import litres, piece_bore
from manifoldgen.shop.prep import filler_metal, prep
from manifoldgen.shop.tacks import tacks
from manifoldgen.shop.weldorder import middle_out, opposite_first
from manifoldgen.shop.weldplan import weld_plan
from tests import factory


@pytest.fixture(scope="module")
def four() -> Manifold:
    """Four straight runners, a branch off the outlet's bend."""
    return split(factory.with_branch(factory.manifold(4)))


@pytest.fixture(scope="module")
def reached(four):
    """What a torch reaches on it."""
    return hands(four)


def with_rates(m: Manifold, **rates: float) -> Manifold:
    """The same with rates of the shop's own."""
    return replace(m, workshop=replace(m.workshop, rates=rates))


def test_the_worked_example_of_a_purge() -> None:
    """Worked by hand: 326.5 mm of ID 42.76 hold π 42.76²/4 · 326.5 mm³ = 0.469 l; four of it at 8 l/min take 14 s."""
    m = factory.manifold(3)
    run = m.runners[0]
    section = Section(48.3, (48.3 - 42.76) / 2, "304")
    path = Path(
        run.start, (Straight(100.0), Bend(90.0, 57.15), Straight(326.5 - 100.0 - math.pi / 2 * 57.15))
    )
    piece = replace(split(m).pieces[0], path=path, section=section, inlet=0)

    volume = piece_bore(m, piece) / 1e6
    assert volume == pytest.approx(0.469, abs=5e-4)
    assert 60 * purging.minutes(volume, 4, 8.0) == pytest.approx(14.0, abs=0.1)


def test_mixing_volumes_are_the_catalogues_and_the_washed_out_tanks() -> None:
    """The catalogue's table (one digit), and a tank washed out in small steps: c' = (cs - c) a volume change."""
    table = STANDARD.row("shop", "purge", "volumes_mixed").values
    for ppm, changes in table.items():
        if ppm != "note":
            assert purging.mixing_volumes(float(ppm)) == pytest.approx(changes, abs=0.06)

    c, changes, step = purging.AIR, 0.0, 1e-4
    while c > 100.0:
        c += (5.0 - c) * step
        changes += step
    assert purging.mixing_volumes(100.0, 5.0) == pytest.approx(changes, abs=2e-3)


def test_cleaner_than_the_argon_is_refused() -> None:
    """Argon with 5 ppm never gets below 5 ppm: one sentence with both numbers and the rates to change."""
    with pytest.raises(GeometryError, match=r"5 ppm.*5 ppm.*purge_target.*argon_oxygen"):
        purging.mixing_volumes(5.0, 5.0)
    with pytest.raises(GeometryError, match="purge_flow"):
        purging.minutes(1.0, 5.0, 0.0)


def test_gas_inside_is_the_sum_of_cylinders(four, reached) -> None:
    """Closed form for the last stage: every straight π r² L, the bend by Pappus, openings through the flanges."""
    plan = weld_plan(four, reached)
    last = plan.purges[-1]
    runs = sum(
        math.pi * (r.section.od / 2 - r.section.wall) ** 2 * r.path.length
        for r in four.runs
        if r.path is not None
    )
    c = four.collectors[0]
    hub = 4 * inlet_bore(c) + lid_bore(c) + cone_bore(c)
    holes = math.pi * (
        4 * 19.0**2 * 12.0 + 26.0**2 * 12.0 + 17.5**2 * 10.0
    )  # head, turbo and wastegate flange

    assert last.litres == pytest.approx((runs + hub + holes) / 1e6, rel=1e-9)
    assert last.by_volumes == pytest.approx(5 * last.litres / 10.0)
    assert last.by_mixing == pytest.approx(math.log((209000 - 5) / 95) * last.litres / 10.0)
    assert last.minutes == last.by_mixing


def test_the_collectors_gas_is_its_bores_counted_once() -> None:
    """Monte Carlo from the frame alone (seed 5): points of the hub that lie in a bore, in front of the flat cut."""
    c = factory.manifold(4).collectors[0]
    rng = np.random.default_rng(5)
    r = c.ring_radius + c.section.radius
    box = np.array([2 * r, 2 * r, c.merge_depth + 2 * c.section.radius])
    points = rng.random((400_000, 3)) * box - [r, r, 2 * c.section.radius]
    inside = np.zeros(len(points), dtype=bool)
    for pose in c.inlets:
        v = points - c.frame.into(pose.at)
        d = c.frame.matrix.T @ np.array(pose.direction)
        along = v @ d
        off = np.linalg.norm(v - np.outer(along, d), axis=1)
        inside |= (off < c.section.bore_radius) & (along > 0)
    inside &= points[:, 2] < c.merge_depth

    assert 4 * inlet_bore(c) == pytest.approx(inside.mean() * box.prod(), rel=0.02)


@pytest.mark.slow
def test_the_whole_gas_is_the_kernels_lumen(four) -> None:
    """The kernel's gas side of the same manifold: within 1 % (blends in the flanges, the branch's foot)."""
    from manifoldgen.solids import build

    ids = [p.id for p in four.pieces]
    ours = litres(four, ids, [j.id for j in four.joints])
    lumen = build(four).lumen
    assert lumen is not None
    assert ours == pytest.approx(lumen.Volume() / 1e6, rel=0.01)


def test_every_joint_is_planned_once_and_stages_never_go_back(four, reached) -> None:
    """Ranks are 1 … n; a later rank is never in an earlier stage; inner seams and star come before lid and cone."""
    plan = weld_plan(four, reached)

    assert [w.id for w in plan.welds] == [j.id for j in four.joints]
    assert [w.rank for w in plan.ordered] == list(range(1, len(four.joints) + 1))
    stages = [w.stage for w in plan.ordered]
    assert stages == sorted(stages)
    shut = min(w.rank for w in plan.welds if w.kind in {"lid", "cone"})
    assert all(w.rank < shut for w in plan.welds if w.kind in {"inner seam", "star"})


def test_every_weld_is_purged_once(four, reached) -> None:
    """Each joint stands in exactly one purge, whose volume holds the pieces that it joins."""
    plan = weld_plan(four, reached)
    named = [j for p in plan.purges for j in p.joints]
    ids = {p.id for p in four.pieces}

    assert sorted(named) == sorted(j.id for j in four.joints)
    for p in plan.purges:
        joined = {n for j in four.joints if j.id in p.joints for n in j.between if n in ids}
        assert joined <= set(p.pieces)
        assert p.gas_in
        assert p.gas_in not in p.cap


def test_opposite_places_follow_each_other() -> None:
    """Four tacks at 90°, opposite first (practice); a wider ring gets more, at most 130° apart (the catalogue)."""
    m = factory.manifold(3)
    apart = STANDARD.row("tig", "practice", "tack")["max_gap_deg"]
    for od in (33.4, 42.4, 60.3, 88.9, 114.3):
        at = tacks(m, length=math.pi * od, closed=True).at
        assert (at[1] - at[0]) % 360 == 180
        gaps = np.diff([*sorted(at), 360.0])
        assert max(gaps) <= min(apart, 90.0)
        assert max(gaps) / 360 * math.pi * od <= 60.0 + 33.4  # never much more than the step of the rates
    assert tacks(m, length=133.0, closed=True).at == (0.0, 180.0, 90.0, 270.0)
    assert tacks(m, length=133.0, closed=True).words == "4: 0, 180, 90, 270°"
    seam = tacks(m, length=80.0, closed=False)
    assert seam.at[:2] == (0.0, 80.0)
    assert max(np.diff(sorted(seam.at))) <= 30.0
    assert [opposite_first(n) for n in (3, 4, 5)] == [(0, 1, 2), (0, 2, 1, 3), (0, 2, 4, 1, 3)]
    assert middle_out(4) == (1, 2, 0, 3)


def test_filler_of_a_worked_joint() -> None:
    """Worked by hand: a 48.3 ring of 6 mm² is 910 mm³, 7.2 g at 7900 kg/m³, 0.45 m of 1.6 rod; areas as practice names them."""
    length = math.pi * 48.3
    assert filler.deposit(6.0, length, 7900.0) == pytest.approx(7.2, abs=0.02)
    assert filler.rod_length(6.0, length, 1.6) == pytest.approx(0.45, abs=0.005)
    width, height = (STANDARD.row("rates", "figures", n)["value"] for n in ("bead_width", "bead_height"))
    assert 2.4 < filler.butt_area(1.65, 0.41, width, height) < 4.0
    assert 5.0 < filler.butt_area(2.77, 0.5, width, height) < 8.0


def test_rings_are_as_long_as_their_tube(four, reached) -> None:
    """π OD for a butt ring; grams and minutes are the formula's; the star of four tubes has its own length."""
    m = split(replace(factory.manifold(3), stock=factory.STOCK))
    path = Path(m.runners[0].start, (Straight(60.0), Bend(30.0, 63.6), Straight(60.0)))
    bent = split(replace(m, runners=(replace(m.runners[0], path=path), *m.runners[1:])))
    w = weld_plan(bent, None).weld("J1.2")

    assert w.length == pytest.approx(math.pi * 42.4)
    area = (
        0.7 * (2 * 2.0) * (0.5 * 2.0) + 0.5 * 2.0
    )  # w = 2 walls, h = half a wall, gap a quarter of it, wall 2
    assert w.takes.grams == pytest.approx(area * math.pi * 42.4 * 7.9e-3)
    assert w.takes.arc_min == pytest.approx(math.pi * 42.4 / 70.0)
    assert w.takes.torch_l == pytest.approx(8.0 * (math.pi * 42.4 / 70.0 + (4 + 4) * 8 / 60))
    assert weld_plan(four, reached).weld("JC.S").length > 0


def test_preparation_follows_the_wall() -> None:
    """The catalogue's rows: a quarter of the wall, at most 0.5 mm; 3 mm and over is bevelled; outside the table is said."""
    tables = factory.manifold(3).tables
    assert prep(tables, 1.5).gap == pytest.approx(0.375)
    assert (prep(tables, 2.0).gap, prep(tables, 2.77).hi_lo) == (0.5, 0.5)
    assert "zero gap" in prep(tables, 1.65).words
    assert "10S" in prep(tables, 2.77).words
    assert (prep(tables, 2.9).bevel, prep(tables, 3.05).bevel) == (False, True)
    assert (prep(tables, 1.0).outside, prep(tables, 4.0).outside) == (True, True)


def test_rod_and_purge_follow_the_alloys(four, reached) -> None:
    """From memory: 308L for 304, 347 for 321, 309L to mild steel; mild steel alone is not purged."""
    assert filler_metal(four, "304", "304") == ("ER308L", True)
    assert filler_metal(four, "321", "304") == ("ER347", True)
    assert filler_metal(four, "304", "mild steel") == ("ER309L", True)
    assert filler_metal(four, "S235", "mild steel") == ("ER70S-6", False)
    pieces = tuple(replace(p, section=replace(p.section, material="mild steel")) for p in four.pieces)
    flanges = {n: replace(f, material="mild steel") for n, f in (("head", four.head), ("turbo", four.turbo))}
    gate = replace(four.wastegate_flange, material="mild steel")  # type: ignore[type-var]
    steel = replace(four, pieces=pieces, wastegate_flange=gate, **flanges)
    assert weld_plan(steel, reached).purges == ()


def test_own_rates_replace_ours_and_are_not_called_assumed(four, reached) -> None:
    """Half the flow takes twice the time, and the figure leaves the list of what was assumed."""
    ours = weld_plan(four, reached)
    own = weld_plan(with_rates(four, purge_flow=5.0, travel=35.0), reached)

    assert own.purges[-1].minutes == pytest.approx(2 * ours.purges[-1].minutes)
    assert own.weld("J1.1").takes.arc_min == pytest.approx(2 * ours.weld("J1.1").takes.arc_min)
    assert any(a.startswith("travel ") for a in ours.assumed)
    assert not any(a.startswith(("travel ", "purge_flow ")) for a in own.assumed)


def test_without_reach_there_is_an_order_but_no_stage(four) -> None:
    """Nothing is invented: stage 0, no tier, no purge; the order still has inner seams before the lid."""
    plan = weld_plan(four, None)

    assert plan.purges == ()
    assert {w.stage for w in plan.welds} == {0}
    assert plan.weld("JC.Ai").rank < plan.weld("JC.L").rank


def test_figures_lie_within_the_ranges_of_the_shop_tables() -> None:
    """Rates that have a range elsewhere in the catalogue, with its source there, stay inside it."""
    figures = {name: row["value"] for name, row in STANDARD.table("rates", "figures").items()}
    purge = STANDARD.table("shop", "purge")
    low, high = purge["flow_before_lpm"]["manifold_tube"]
    assert low <= figures["purge_flow"] <= high
    low, high = purge["flow_welding_lpm"]["manifold_tube"]
    assert low <= figures["purge_hold"] <= high
    low, high = purge["torch_flow_lpm"]["lens_8"]
    assert low <= figures["torch_flow"] <= high
    assert figures["purge_target"] == purge["limits_ppm"]["good"]
