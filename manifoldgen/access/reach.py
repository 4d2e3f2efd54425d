"""Which places of a weld a torch, a filler rod and an eye reach, for the whole manifold or any part of it.

What is on the bench is only the manifold itself: it is welded off the engine, in a vice or on a plate no
larger than its flange, and turned as needed; engine, obstacles, studs and nuts are not there. With
``bench=True`` a bench plate stands behind the head flange (z < 0) wherever that flange is fitted.

The geometry is looked at once. It leaves, for every place, the least sets of pieces that block it
(`_masks`); whether a place is free with some pieces present is then a test of bits.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from manifoldgen.access.pack import Packing, bound
from manifoldgen.access.results import Primitive
from manifoldgen.access.scene import Scene, scene
from manifoldgen.access.torch import TIERS, Holds, Torch, TorchPose, holds, placed
from manifoldgen.access.welds import Weld, welds
from manifoldgen.catalogue import Catalogue
from manifoldgen.geometry.pose import BENCH, Frame
from manifoldgen.geometry.shapes import Box
from manifoldgen.geometry.vectors import Array, array, cos_sin
from manifoldgen.manifold.model import Collector, Manifold

HOST_MARGIN = 0.3  # mm the torch keeps from the pieces it joins; common practice, no source
BENCH_PLATE = "bench plate"
_BENCH_SIZE, _BENCH_THICK = 2000.0, 20.0
_LIFT = 2.0  # mm above the weld where rod and sight begin, on the bead
_ROD_FROM, _SIGHT_FROM = (
    10.0,
    12.0,
)  # mm from there: nearer in, rod and eye share the groove with the tungsten
_ROD_TILT = (70.0, 55.0, 40.0, 25.0)  # degrees from the bisector
_ROD_TURN = (0.0, 180.0, 25.0, 155.0, -25.0, -155.0, 50.0, 130.0, -50.0, -130.0)
_SIGHT_TILT = (30.0, 50.0, 10.0, 65.0)
_SIGHT_TURN = tuple(30.0 * k for k in range(12))

Sets = tuple[int, ...]
Index = NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Bench:
    """The scene as it lies on the bench: pieces and flanges only, numbered as bits of a set."""

    names: tuple[str, ...]
    words: tuple[str, ...]
    balls: Array
    ball_group: Index
    solids: Array
    bounds: Array
    solid_group: Index
    points: Array

    def bits(self, names: Sequence[str]) -> int:
        """The set of these names; names that are not on the bench count for nothing."""
        return sum(1 << i for i, name in enumerate(self.names) if name in names)

    @property
    def everything(self) -> int:
        """The set of all groups."""
        return (1 << len(self.names)) - 1

    def named(self, present: int) -> tuple[str, ...]:
        """The names in a set."""
        return tuple(name for i, name in enumerate(self.names) if present >> i & 1)


@dataclass(frozen=True, eq=False)
class WeldSide:
    """One side of a weld: per place the least blocking sets of torch (by tier), rod and sight.

    first : per place the first hold that nothing blocks: tier, tangents of travel and work, roll (rad),
        stick-out, room beyond the margin; tier -1 where there is none, then the best hold that was seen.
    """

    weld: Weld
    torch: tuple[tuple[Sets, ...], ...]  # by tier, then by place
    rod: tuple[Sets, ...]
    sight: tuple[Sets, ...]
    first: Array


@dataclass(frozen=True, eq=False)
class JointReach:
    """What is known about one joint with one torch; `hosts` is the set of the pieces it joins."""

    id: str
    torch: Torch
    hosts: int
    sides: tuple[WeldSide, ...]
    hold: Holds

    def free(self, present: int, tier: int = len(TIERS) - 1) -> NDArray[np.bool_]:
        """Which places can be welded with these groups present; by side (s, places).

        tier : index in `TIERS` of the most awkward hold allowed.  A weld that is one point counts as reached
        where any of its places is.
        """
        there = present | self.hosts
        rows = [
            [
                _free(t, there) and _free(r, there) and _free(s, there)
                for t, r, s in zip(side.torch[tier], side.rod, side.sight, strict=True)
            ]
            for side in self.sides
        ]
        best = max(rows, key=lambda row: sum(row) / len(row))
        if not self.sides[0].weld.length:
            best = [any(best)] * len(best)
        return np.array(best, dtype=np.bool_)

    def full(self, present: int) -> bool:
        """Whether all of it can be welded with these groups present."""
        return bool(self.free(present).all())

    def tier(self, present: int) -> int | None:
        """Index of the least awkward tier that does all of it; None where none does."""
        return next((t for t in range(len(TIERS)) if self.free(present, t).all()), None)

    def blockers(self, present: int) -> Counter[int]:
        """How many places each group keeps from being reached: of each place the smallest of its sets.

        -1 stands for the joined pieces themselves.
        """
        there = present | self.hosts
        return min((_blockers(side, there) for side in self.sides), key=lambda c: (-1 in c, c.total()))

    def worst(self) -> tuple[WeldSide, int, int, float] | None:
        """Side of the weld, place, tier and clearance of the most awkward place that is reached with everything in place."""
        side = max(self.sides, key=lambda s: int((s.first[:, 0] >= 0).sum()))
        reached = [k for k in range(len(side.first)) if side.first[k, 0] >= 0]
        if not reached:
            return None
        k = max(reached, key=lambda i: (side.first[i, 0], -side.first[i, 5]))
        return side, k, int(side.first[k, 0]), float(side.first[k, 5])

    def pose(self, side: WeldSide, place: int) -> TorchPose | None:
        """The hold that reaches a place with everything in place."""
        tier, travel, work, roll, stick, _ = side.first[place]
        if tier < 0:
            return None
        leans = math.degrees(math.atan(travel)), math.degrees(math.atan(work))
        return TorchPose(*leans, math.degrees(roll), float(stick))


def _blockers(side: WeldSide, there: int) -> Counter[int]:
    found: Counter[int] = Counter()
    for kinds in zip(side.torch[-1], side.rod, side.sight, strict=True):
        for sets in kinds:
            if not _free(sets, there):
                least = min((m & there for m in sets), key=lambda m: m.bit_count(), default=0)
                found.update([i for i in range(least.bit_length()) if least >> i & 1] or [-1])
                break
    return found


def _free(sets: Sets, present: int) -> bool:
    return any(m & present == 0 for m in sets)


def bench_of(m: Manifold, whole: Scene | None = None, *, bench: bool = False) -> Bench:
    """The pieces and flanges of a split manifold, without engine, obstacles and nuts.

    whole : the scene, if it is there already.  bench : with a plate behind the head flange.
    """
    whole = whole or scene(m)
    keep = {*(p.id for p in m.pieces), *(f.name for f in m.flanges)}
    kept = [i for i, name in enumerate(whole.groups) if name in keep]
    number = {old: new for new, old in enumerate(kept)}
    names = tuple(whole.groups[i] for i in kept)
    words = tuple(whole.words[i] for i in kept)
    balls = np.isin(whole.ball_group, kept)
    solids = np.isin(whole.solid_group, kept)
    group = np.array([number[int(g)] for g in whole.ball_group[balls]], dtype=np.int64)
    owner = np.array([number[int(g)] for g in whole.solid_group[solids]], dtype=np.int64)
    rows, bounds, points = whole.solids[solids], whole.bounds[solids], whole.points
    if bench:
        pool = Packing(points=list(points))
        low = Frame((0.0, 0.0, -_BENCH_THICK / 2), BENCH.x, BENCH.y, BENCH.z)
        pool.shape(Box(low, (_BENCH_SIZE / 2, _BENCH_SIZE / 2, _BENCH_THICK / 2)))
        points = np.array(pool.points)
        names, words = (*names, BENCH_PLATE), (*words, "the bench plate")
        owner = np.append(owner, len(names) - 1)
        rows = np.vstack([rows, pool.rows[0]])
        bounds = np.vstack([bounds, bound(pool.rows[0], points)])
    return Bench(names, words, whole.balls[balls], group, rows, bounds, owner, points)


def reaches(m: Manifold, torch: Torch, on: Bench, only: Sequence[str] = ()) -> dict[str, JointReach]:
    """The reach of every joint (or only of some) with one torch."""
    wanted = welds(m)
    chosen = {k: v for k, v in wanted.items() if not only or k in only}
    return {name: reach_of(m, sides, torch, on) for name, sides in chosen.items()}


def reach_of(
    m: Manifold, sides: Sequence[Weld], torch: Torch, on: Bench, *, climb: bool = True
) -> JointReach:
    """The reach of one joint, given the sides it can be welded from.

    climb : look between the tried poses for places that they leave blocked with everything on the bench; not
        for welds with two sides, which are made before everything is in place.
    """
    hold = holds(m.tables, torch)
    climb = climb and len(sides) == 1
    made = tuple(_side(m, weld, torch, on, hold, climb=climb) for weld in sides)
    return JointReach(sides[0].id, torch, on.bits(sides[0].hosts), made, hold)


def _side(m: Manifold, weld: Weld, torch: Torch, on: Bench, hold: Holds, *, climb: bool) -> WeldSide:
    from manifoldgen.access import _masks

    groups, places = len(on.names), len(weld.points)
    words = max(1, math.ceil(groups / 64))
    hosts = {*weld.hosts}
    host = np.array([name in hosts for name in on.names])
    hollow = np.array([name in weld.hollow for name in on.names])
    seen = ~hollow[on.ball_group]
    bores, flat = _bores(m, weld)
    things = (on.balls[seen], on.ball_group[seen], on.solids, on.bounds, on.solid_group, on.points)
    margin = m.limits.torch_margin
    close = min(HOST_MARGIN, margin)
    rules = (np.where(host, close, margin), host, bores, flat, close)
    sets = np.zeros((places, len(TIERS), _masks.CAPACITY, words), np.uint64)
    count, first = np.zeros((places, len(TIERS)), np.int64), np.full((places, 6), -1.0)
    at = (weld.points, weld.along, weld.bisector)
    way, sizes, ball = (hold.axes, hold.tier, hold.turns), torch.sizes, torch.reach(hold.arc)
    _masks.torch_masks(*at, hold.arc, *way, sizes, ball, things, rules, climb, sets, count, first)
    by_tier = tuple(
        tuple(_numbers(sets[k, t, : count[k, t]]) for k in range(places)) for t in range(len(TIERS))
    )
    straight = []
    for ways, radius, off, length, end, asked in _straights(m.tables):
        least, number = np.zeros((places, _masks.CAPACITY, words), np.uint64), np.zeros(places, np.int64)
        asks = (np.full(groups, asked), host, bores, flat, asked)
        _masks.rod_masks(*at, _LIFT, ways, radius, off, length, end, things, asks, least, number)
        straight.append(tuple(_numbers(least[k, : number[k]]) for k in range(places)))
    return WeldSide(weld, by_tier, straight[0], straight[1], first)


def _numbers(rows: NDArray[np.uint64]) -> Sets:
    """Sets of bits as whole numbers of any length."""
    return tuple(sum(int(word) << (64 * w) for w, word in enumerate(row)) for row in rows)


def _straights(tables: Catalogue) -> list[tuple[Array, float, float, float, float, float]]:
    """Filler rod with its hand, and line of sight: ways, radius, start, length, end radius, margin."""
    rod = tables.row("tig", "filler_rod", "hand")
    ray = tables.row("tig", "sight_line", "ray")
    thick = max(float(d) for d in rod["diameters"]) / 2
    return [
        (_ways(_ROD_TILT, _ROD_TURN), thick, _ROD_FROM, float(rod["free_length"]), float(rod["hand_radius"]), HOST_MARGIN),
        (_ways(_SIGHT_TILT, _SIGHT_TURN), float(ray["radius"]), _SIGHT_FROM, float(ray["length"]), 0.0, 0.0),
    ]  # fmt: skip


def _ways(tilts: Sequence[float], turns: Sequence[float]) -> Array:
    made = []
    for tilt in tilts:
        c, s = cos_sin(tilt)
        made += [(s * cos_sin(turn)[0], s * cos_sin(turn)[1], c) for turn in turns]
    return array(made)


def _bores(m: Manifold, weld: Weld) -> tuple[Array, Array]:
    """The bores the torch goes through from the merge side, and the flat they end in; none from outside."""
    if not weld.hollow:
        return np.empty((0, 7)), np.zeros(6)
    c = _collector(m, weld)
    rows = [(*p.at, *p.direction, c.section.bore_radius) for p in c.inlets]
    return array(rows), array([*c.frame.out((0.0, 0.0, c.merge_depth)), *c.frame.z])


def _collector(m: Manifold, weld: Weld) -> Collector:
    held = {p.inlet for p in m.pieces if p.id in weld.hollow}
    return next(c for c in m.collectors if held <= set(c.order))


def shapes_of(reach: JointReach, side: WeldSide, place: int) -> tuple[Primitive, ...]:
    """The torch's primitives at one place, in the hold that reaches it with everything in place."""
    pose = reach.pose(side, place)
    if pose is None:
        return ()
    w = side.weld
    return placed(reach.torch, (w.points[place], w.along[place], w.bisector[place]), pose, reach.hold.arc)
