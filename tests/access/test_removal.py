"""The way off: travel, what stops it, the turbo's three ways, studs that lean."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from manifoldgen.access.removal import not_parallel, removal
from manifoldgen.access.scene import scene, surface
from manifoldgen.geometry.path import Bend, Straight
from manifoldgen.geometry.pose import Frame, Pose
from manifoldgen.geometry.shapes import Cylinder
from manifoldgen.geometry.vectors import array, vec
from manifoldgen.manifold.model import Hole, Manifold, Obstacle
from manifoldgen.pieces.split import split
from tests.access.rooms import bench, box, runner_from, stud
from tests.factory import FACE, manifold, with_branch

TIP = 22.0
TRAVEL = FACE + TIP  # the flange's far face has to pass the stud's end


def loop(*obstacles) -> Manifold:
    """One runner that rises to z = 122 and turns along y, two studs, and what stands over it."""
    bends = [Straight(50.0), Bend(90.0, 60.0), Straight(60.0)]
    run = runner_from(1, Pose.heading((0, 0, FACE), (0, 0, 1)), bends)
    return bench(stud("S1", (-40, 0, FACE)), stud("S2", (40, 0, FACE)), runs=(run,), obstacles=obstacles)


def test_free_bench_slides_off():
    """Nuts first, then the flange slides by its own thickness and what stands out of it."""
    r = removal(loop())

    assert r.head_flange_slides_off
    assert r.nuts_come_off
    assert (r.travel_mm, r.free_mm) == (TRAVEL, TRAVEL)
    assert r.order[-2:] == ("head nuts S1-S2", f"slide off along +z {TRAVEL:.0f} mm")
    assert (r.blocked_by, r.missing_mm, r.not_parallel) == ((), (), ())


@pytest.mark.parametrize(("gap", "passes"), [(TRAVEL + 0.5, True), (TRAVEL - 0.5, False)])
def test_board_over_the_runner_from_both_sides(gap, passes):
    """A board over the tube's back: free with the travel and a hair, else named with what is missing."""
    top = FACE + 50 + 60 + 21.2
    r = removal(loop(("board", box((-50, 70, top + gap), (50, 110, top + gap + 10)))))

    assert r.head_flange_slides_off is passes
    if not passes:
        assert r.blocked_by == ("board",)
        assert r.missing_mm == (pytest.approx(0.5, abs=0.01),)
        assert r.free_mm == pytest.approx(gap, abs=0.01)


def test_rod_over_the_flange_edge():
    """A thin rod over the plate's corner stops the plate itself (closed form), a scan of a board likewise."""
    rod = ("rod", Cylinder((140, 140, 30), (160, 140, 30), 3.0))
    r = removal(loop(rod))
    assert r.blocked_by == ("rod",)
    assert r.free_mm == pytest.approx(30 - 3 - FACE, abs=0.01)

    m = loop()
    corners = np.array([(100, 100, 40), (160, 100, 40), (160, 160, 40), (100, 160, 40)], dtype=float)
    m = replace(m, obstacles=(Obstacle("bay", box((900, 900, 900), (901, 901, 901)), 0.0),))
    s = scene(m)
    s = replace(s, scans=(surface(s.number("bay"), corners, [(0, 1, 2), (0, 2, 3)]),))
    r = removal(m, s)
    assert r.blocked_by == ("bay",)
    assert r.free_mm == pytest.approx(40 - FACE, abs=0.01)


def test_swept_against_steps():
    """Random bodies: free travel agrees with trying the manifold step by step with the ball distances."""
    rng = np.random.default_rng(5)
    stopped = 0
    for _ in range(12):
        at = (rng.uniform(-40, 40), rng.uniform(0, 120), rng.uniform(100, 170))
        r = float(rng.uniform(5, 25))
        m = loop(("rod", Cylinder((at[0] - 30, *at[1:]), (at[0] + 30, *at[1:]), r)))
        s = scene(m)
        balls = s.balls[s.ball_group == s.number("runner 1")]

        def clear(t, balls=balls, at=at, r=r) -> bool:
            p = balls[:, :3] + (0, 0, t) - at
            q = np.column_stack([np.hypot(p[:, 1], p[:, 2]) - r, abs(p[:, 0]) - 30])
            d = np.linalg.norm(np.maximum(q, 0), axis=1) + np.minimum(q.max(1), 0)
            return bool((d >= balls[:, 3]).all())

        steps = np.arange(0.0, TRAVEL + 0.1, 0.1)
        first = next((t for t in steps if not clear(t)), math.inf)
        found = removal(m, s)
        if math.isinf(first):
            assert found.free_mm >= TRAVEL - 0.1
        else:
            stopped += 1
            assert found.free_mm == pytest.approx(max(first, 0.0), abs=0.11)
    assert stopped > 3


def lean(m: Manifold, degrees: float) -> Manifold:
    """The second stud leant."""
    a = math.radians(degrees)
    return replace(m, studs=(m.studs[0], replace(m.studs[1], axis=(math.sin(a), 0.0, math.cos(a)))))


def test_leaning_stud_from_both_sides():
    """M8 in a 9 mm hole has 0.5 mm to either side: over 34 mm that is atan(0.5 / 34)."""
    limit = math.degrees(math.atan(0.5 / TRAVEL))
    just, over = lean(loop(), limit - 0.05), lean(loop(), limit + 0.05)

    assert not_parallel(just, just.head) == ()
    assert removal(just).head_flange_slides_off
    assert removal(over).not_parallel == ("S2",)
    assert not removal(over).head_flange_slides_off


def aimed(z, *, kind: str | None = None, body=True) -> Manifold:
    """A turbo flange that the gas leaves along `z`, on bolts or studs, with a housing behind it."""
    m = loop()
    face = Frame.facing((0, -300, 200), z, (0, 1, 0))
    turbo = replace(m.turbo, frame=face, holes=(Hole("T1", (40, 0), 11.0), Hole("T2", (-40, 0), 11.0)))
    fixed = [
        stud(h.id, face.out((*h.at, 0)), flange="turbo flange", kind=kind, axis=vec(-array(z)), tip=20.0)
        for h in turbo.holes
        if kind
    ]
    behind = Cylinder(vec(face.out((0, 0, 12))), vec(face.out((0, 0, 80))), 50.0)
    joined = Obstacle("turbine housing", behind, 0.0, joined=("turbo flange",))
    start = Pose.heading(face.out((0, 0, -60)), z)
    outlet = replace(
        m.outlet, start=start, path=replace(m.outlet.path, start=start, elements=(Straight(60.0),))
    )
    return replace(
        m, turbo=turbo, outlet=outlet, studs=(*m.studs, *fixed), obstacles=(joined,) if body else ()
    )


def test_turbo_stays_where_the_flange_slides_past():
    """Gas leaves sideways, on bolts: the turbo stays. Towards the slide it would be pushed: it goes first."""
    aside, towards = removal(aimed((0, -1, 0), kind="bolt")), removal(aimed((0, 0, 1), kind="bolt"))

    assert aside.order[0] == "turbo bolts T1-T2"
    assert "take the turbo away" not in aside.order
    assert towards.order[:2] == ("turbo bolts T1-T2", "take the turbo away")
    assert aside.head_flange_slides_off
    assert towards.head_flange_slides_off


def test_turbo_studs_lock_a_sideways_slide():
    """On studs the flange cannot slide across them: the turbo goes first; away from them it may stay."""
    assert removal(aimed((0, -1, 0), kind="stud")).order[:2] == ("turbo nuts T1-T2", "take the turbo away")
    assert removal(aimed((0, 0, -1), kind="stud")).order[1] == "head nuts S1-S2"


def test_turbo_goes_along_where_it_has_no_way_of_its_own():
    """A wall right behind a turbo on studs that must leave along them: it comes off with the manifold."""
    m = aimed((0, -1, 0), kind="stud")
    wall = Obstacle("bulkhead", box((-100, -400, 0), (100, -385, 400)), 0.0)
    r = removal(replace(m, obstacles=(*m.obstacles, wall)))

    assert r.head_flange_slides_off
    assert r.order == ("head nuts S1-S2", f"slide off along +z {TRAVEL:.0f} mm with the turbo")


def test_whole_manifold_with_branch_and_valve():
    """A split manifold with a wastegate: its fixings come in order, its valve is no obstacle to itself."""
    m = with_branch(manifold(3))
    out = m.wastegate_flange.frame
    valve = Cylinder(vec(out.out((0, 0, 10))), vec(out.out((0, 0, 120))), 40.0)
    body = Obstacle("wastegate valve", valve, 0.0, joined=("wastegate flange", "wastegate branch"))
    gate = stud("W1", out.out((31, 0, 0)), flange="wastegate flange", axis=vec(-array(out.z)), tip=20.0)
    m = split(replace(m, studs=(stud("S1"), gate), obstacles=(body,)))
    r = removal(m)

    assert "wastegate nuts W1" in r.order
    assert r.order.index("wastegate nuts W1") < r.order.index("head nuts S1")
    assert r.head_flange_slides_off


def test_blocked_nuts_are_told():
    """A nut under a board does not come off, and the removal says so."""
    m = loop(("board", box((-60, -20, FACE + 26), (-20, 20, FACE + 30))))

    assert not removal(m).nuts_come_off
    assert removal(loop()).nuts_come_off


def test_larger_bodies_free_nothing():
    """More in the way never lengthens the travel."""
    rng = np.random.default_rng(6)
    for _ in range(15):
        at, r = rng.uniform((-60, -60, 60), (60, 140, 180)), rng.uniform(4, 20)
        first, second = (
            removal(loop(("rod", Cylinder(vec(at), vec(at + array((40, 5, 3))), float(r + more)))))
            for more in (0, 4)
        )
        assert second.free_mm <= first.free_mm + 0.01
        assert first.head_flange_slides_off or not second.head_flange_slides_off
