"""Tools on studs: limits in closed form from both sides, a second opinion, motion, monotony."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from manifoldgen.access.fasteners import Assumed
from manifoldgen.access.scene import scene
from manifoldgen.access.studs import studs
from manifoldgen.catalogue import STANDARD
from manifoldgen.geometry.pose import Frame, Pose
from manifoldgen.geometry.shapes import Box
from manifoldgen.geometry.vectors import array, rotated, vec
from manifoldgen.manifold.model import Manifold
from tests.access.rooms import bench, box, margin_of, random_room, stud
from tests.access.tool_judge import Trial, least_gap
from tests.factory import FACE

SHORT = stud("S1", tip=14.0)
FOOT = FACE + 1.8 + 0.3  # washer ISO 7089, and the gap a tool keeps from what it stands on
FIST = 30.0  # hand on a ratchet, from memory
SEED = 20


def ceiling(z: float) -> tuple[str, Box]:
    """A wide board from height z up."""
    return "board", box((-400, -400, z), (400, 400, z + 20))


def wall(x: float, side: float = 1.0) -> tuple[str, Box]:
    """A tall board beyond x."""
    return f"wall {side:+.0f}", box(*sorted([(side * x, -400.0, 0.0), (side * (x + 20), 400.0, 700.0)]))


def only(*obstacles, s=SHORT, **more):
    """The answer for one stud."""
    return studs(bench(s, obstacles=obstacles), **more)[0]


def test_open_bench_takes_the_first_tool():
    """With nothing in the way: ratchet and socket straight, all the way round, nothing short."""
    a = only()

    assert (a.tool, a.drive, a.extension_mm, a.tilt_deg) == ("3/8 ratchet, 13 mm socket", "3/8", 0.0, 0.0)
    assert (a.reachable, a.ratchet, a.swing_deg, a.shortfall_mm) == (True, True, 360.0, 0.0)
    assert (a.blocked_by, a.move, a.comes_off) == (None, None, True)
    assert a.toward == (0, 0, 1)


# heights: socket 28, ratchet head 24 (3/8); 25 and 19 (1/4); ring sizes for s = 13: see the tools' table
ON = 14.0 - 1.8  # lifted over the stud's end
CEILINGS = [
    ("3/8 ratchet, 13 mm socket", FOOT + 28 + 12 + FIST + 2, "1/4 ratchet, 13 mm socket"),
    ("1/4 ratchet, 13 mm socket", FOOT + 25 + 9.5 + FIST + 2, "13 mm ratcheting ring spanner"),
    ("13 mm ratcheting ring spanner", FOOT + 0.45 * 13 + 3.5 + ON + 2, "13 mm open-ended spanner"),
    ("13 mm open-ended spanner", FOOT + 0.35 * 13 + 1.7 + 2, None),
]


@pytest.mark.parametrize(("tool", "limit", "after"), CEILINGS)
def test_board_over_the_stud_flips_the_tool(tool, limit, after):
    """A board half a millimetre above a tool's height with its margin lets it work, half a millimetre below not."""
    assert only(ceiling(limit + 0.5)).tool == tool
    below = only(ceiling(limit - 0.5))
    assert below.reachable is (after is not None)
    if after:
        assert below.tool == after
    else:
        assert (below.blocked_by, below.shortfall_mm) == ("board", pytest.approx(0.5, abs=0.02))


WALLS = [
    ("3/8 ratchet, 13 mm socket", 35 / 2 + 2, "1/4 ratchet, 13 mm socket"),
    ("1/4 ratchet, 13 mm socket", 25 / 2 + 2, "3/8 ratchet, 75 mm wobble extension, 13 mm socket"),
    ("3/8 ratchet, 75 mm wobble extension, 13 mm socket", 20 / 2 + 2, "1/4 ratchet, 55 mm wobble extension, 13 mm socket"),
    ("1/4 ratchet, 55 mm wobble extension, 13 mm socket", 18.5 / 2 + 2, None),
]  # fmt: skip


@pytest.mark.parametrize(("tool", "limit", "after"), WALLS)
def test_wall_beside_the_stud_flips_the_tool(tool, limit, after):
    """The same with a tall wall: head or socket radius and the margin."""
    assert only(wall(limit + 0.5)).tool == tool
    beside = only(wall(limit - 0.5))
    assert beside.reachable is (after is not None)
    if after:
        assert beside.tool == after
    else:
        assert beside.shortfall_mm == pytest.approx(0.5, abs=0.02)
        assert beside.move == pytest.approx((0.5, 0, 0), abs=0.02)


def test_corridor_flips_the_swing():
    """Between two walls the fist, 150 mm out, may swing 10 degrees to either side, or not quite."""
    limit = 150 * math.sin(math.radians(10)) + FIST + 2
    wide, narrow = (only(wall(limit + d), wall(limit + d, -1.0)) for d in (0.7, -0.7))

    assert wide.tool == "3/8 ratchet, 13 mm socket"
    assert 20 <= wide.swing_deg < 21.5
    assert narrow.tool != wide.tool


def test_key_flips_under_a_board():
    """A 6 mm key by its short arm: 4 mm deep in the head, lifted out by as much; nothing else is as low."""
    s = stud("T1", kind="socket-head", nut=None, tip=20.0)
    limit = FACE + 1.8 + 4 + 32 + 4 + 2
    a, b = only(ceiling(limit + 0.5), s=s), only(ceiling(limit - 0.5), s=s)

    assert (a.tool, a.ratchet, a.reachable) == ("6 mm hex key, short arm in", False, True)
    assert (b.reachable, b.tool) == (False, "6 mm hex key, short arm in")


def test_nut_comes_off_from_both_sides():
    """The nut leaves the end of the stud by its own height and 2 mm of air; a bolt comes out by its length."""
    limit = FACE + 14 + 8 + 2
    bolt = stud("T1", kind="bolt", nut=None, tip=40.0)
    out = FACE + 40 + 1.8 + 5.3 + 2

    assert only(ceiling(limit + 0.5)).comes_off
    assert (only(ceiling(limit - 0.5)).comes_off, only(ceiling(limit - 0.5)).off_blocked_by) == (
        False,
        "board",
    )
    assert only(ceiling(limit - 0.5)).off_mm == pytest.approx(-0.5)
    assert only(ceiling(out + 0.5), s=bolt).comes_off
    assert not only(ceiling(out - 0.5), s=bolt).comes_off


def test_nut_without_a_washer_is_reached():
    """A tool stands on the face itself there: from its own flange it keeps the seat's gap, not the margin."""
    a = only(s=replace(SHORT, washer=False, nut="hex"))

    assert (a.tool, a.swing_deg) == ("3/8 ratchet, 13 mm socket", 360.0)


def test_shops_own_ratchet_counts():
    """A smaller head that the shop measured passes where the table's does not, and is not called assumed."""
    m = bench(SHORT, obstacles=[wall(18.0)])
    own = STANDARD.with_overrides({"tools": {"ratchet": {"10": {"head_d": 31}}}})
    plain, better = studs(m)[0], studs(replace(m, tables=own))[0]

    assert plain.drive == "1/4"
    assert better.drive == "3/8"
    assert Assumed("ratchet head") in plain.assumed
    assert Assumed("ratchet head") not in better.assumed


def test_move_frees_the_stud():
    """Taking the only blocker away by the move told lets the tool named work, by no more than it takes."""
    rng = np.random.default_rng(SEED)
    freed = 0
    for _ in range(22):
        middle = (*rng.uniform(-30, 30, 2), rng.uniform(25, 45))
        b = Box(Frame.facing(middle, rng.normal(size=3), (0, 1, 0)), (45.0, 45.0, 8.0))
        a = only(("b", b))
        if a.reachable:
            continue
        freed += 1
        for share, passes in ((1.01, True), (0.5, False)):
            at = vec(array(b.frame.at) + share * array(a.move))
            moved = replace(b, frame=replace(b.frame, at=at))
            assert only(("b", moved)).reachable or not passes
        assert np.linalg.norm(a.move) == pytest.approx(a.shortfall_mm)
        assert a.blocked_by == "b"
    assert freed > 5


def turned(m: Manifold, angle: float, shift) -> Manifold:
    """The whole bench turned about z and shifted along the plane."""
    z = (0.0, 0.0, 1.0)

    def go(p):
        return vec(rotated(p, z, angle) + array((*shift, 0.0)))

    def way(d):
        return vec(rotated(d, z, angle))

    def frame(f: Frame) -> Frame:
        return Frame(go(f.at), way(f.x), way(f.y), way(f.z))

    def pose(p: Pose) -> Pose:
        return Pose(go(p.at), way(p.direction), way(p.normal))

    def shape(s):
        if isinstance(s, Box):
            return replace(s, frame=frame(s.frame))
        return replace(s, start=go(s.start), end=go(s.end))

    return replace(
        m,
        head=replace(m.head, frame=frame(m.head.frame)),
        turbo=replace(m.turbo, frame=frame(m.turbo.frame)),
        outlet=replace(m.outlet, path=replace(m.outlet.path, start=pose(m.outlet.path.start))),
        runners=tuple(replace(r, path=replace(r.path, start=pose(r.path.start))) for r in m.runners),
        studs=tuple(replace(s, at=go(s.at), axis=way(s.axis)) for s in m.studs),
        obstacles=tuple(replace(o, shape=shape(o.shape)) for o in m.obstacles),
    )


def told(a) -> tuple:
    """What has to stay."""
    return a.reachable, a.tool, a.blocked_by, a.comes_off


def test_motion_and_order_change_nothing():
    """Turned and shifted, or written in another order, every stud keeps its answer."""
    rng = np.random.default_rng(SEED)
    for _ in range(4):
        m = random_room(rng)
        found = studs(m)
        away = studs(turned(m, float(rng.uniform(-180, 180)), rng.uniform(-300, 300, 2)))
        back = replace(m, studs=m.studs[::-1], runners=m.runners[::-1], obstacles=m.obstacles[::-1])
        for a, b, c in zip(found, away, studs(back)[::-1], strict=True):
            assert told(a) == told(b) == told(c)
            assert (a.shortfall_mm, a.off_mm) == pytest.approx((b.shortfall_mm, b.off_mm), abs=0.02)
            assert (a.shortfall_mm, a.off_mm) == pytest.approx((c.shortfall_mm, c.off_mm), abs=1e-6)
            assert a.swing_deg == pytest.approx(b.swing_deg, abs=1.01)


def test_tilted_tool_turns_with_the_bench():
    """A tool that leans away from a wall does so by its tilt, and the same in a bench that stands askew."""
    m = bench(SHORT, obstacles=[wall(11.6)])
    a, b = studs(m)[0], studs(turned(m, 41.0, (30.0, 7.0)))[0]

    assert a.tilt_deg > 0
    assert math.degrees(math.acos(a.toward[2])) == pytest.approx(a.tilt_deg)
    assert np.linalg.norm(a.toward) == pytest.approx(1.0)
    assert a.toward[0] < 0
    assert b.toward == pytest.approx(rotated(a.toward, (0, 0, 1), 41.0), abs=1e-9)


def test_more_in_the_way_frees_nothing():
    """A larger margin, a thicker body or one more body never reaches a stud that was out of reach."""
    rng = np.random.default_rng(SEED + 1)
    for _ in range(6):
        m = random_room(rng)
        plain = studs(m)
        more = random_room(rng).obstacles
        grown = tuple(
            replace(o, shape=replace(o.shape, half=vec(1.2 * array(o.shape.half))))
            if isinstance(o.shape, Box)
            else replace(o, shape=replace(o.shape, radius=o.shape.radius + 3))
            for o in m.obstacles
        )
        for worse in (
            margin_of(m, 3.0),
            replace(m, obstacles=grown),
            replace(m, obstacles=(*m.obstacles, *more)),
        ):
            for a, b in zip(plain, studs(worse), strict=True):
                assert a.reachable or not b.reachable
                assert b.shortfall_mm >= a.shortfall_mm - 0.05
                assert b.off_mm <= a.off_mm + 1e-4


def test_first_fit_is_the_full_answer():
    """Stopping at the first tool that passes gives the same tool and pose; what it misses only the full search finds."""
    rng = np.random.default_rng(SEED + 2)
    for _ in range(6):
        m = random_room(rng)
        for a, b in zip(studs(m, full=False, standing=scene(m)), studs(m), strict=True):
            if a.reachable:
                assert a == b
            else:
                assert (a.tool, a.move, a.shortfall_mm) == (None, None, 0.0)
            assert b.reachable or not a.reachable


def test_rooms_hold_before_a_second_opinion(capsys):
    """Five random rooms: passed tools keep their margin as meshes, failed ones let no random pose in."""
    rng = np.random.default_rng(SEED + 3)
    with capsys.disabled():
        print(f" seed {SEED + 3}", end=" ")
    held = failed = 0
    for _ in range(5):
        m = random_room(rng)
        for s, a in zip(m.studs, studs(m), strict=True):
            if a.reachable:
                held += 1
                gap, who = least_gap(m, s, a)
                assert gap >= m.limits.tool_margin - 0.1, (s.id, a.tool, who)
                assert a.clearance_mm >= m.limits.tool_margin - 1e-6
            elif a.shortfall_mm > m.limits.tool_margin and failed < 4:
                failed += 1
                assert Trial(m, s).free(400, rng) is None, (s.id, a.tool, a.shortfall_mm)
    assert held > 5
    assert failed > 0


def test_report_keys():
    """What is told of a stud is what the report promises, in plain numbers and lists."""
    a = only(ceiling(20.0)).as_dict()
    keys = {
        "id",
        "at",
        "reachable",
        "ratchet",
        "tool",
        "drive",
        "extension_mm",
        "tilt_deg",
        "toward",
        "swing_deg",
    }
    keys |= {"clearance_mm", "blocked_by", "shortfall_mm", "move", "assumed", "shapes"}

    assert keys <= set(a)
    assert isinstance(a["move"], list)
    assert {k for s in a["shapes"] for k in s} <= {"capsule", "cylinder", "cone", "sphere"}
