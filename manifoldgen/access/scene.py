"""What stands in the bench, grouped and named: balls along every tube, convex solids for all else.

    Scene ── balls       (n, 4) centre and radius, along the centrelines
          ── solids      (k, 16) rows of `access.pack`, their hulls' corners in `points`
          ── halves      (h, 6) a point of the plane, outward normal: the engine behind z = 0
          ── scans       triangles of foreign surfaces, picked where they are near

Every ball, solid and half space belongs to a group; a group is one piece, one flange, one nut with its
stud, one obstacle or the engine. Balls stand so close that nothing of the tube lies more than `SCALLOP`
outside them. At a tube's end they are round where the tube is flat: never too small.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray

from manifoldgen.access import fasteners
from manifoldgen.access.pack import ROUND, Packing, blocks, bound, rod
from manifoldgen.geometry.path import Arc, Path
from manifoldgen.geometry.shapes import HalfSpace
from manifoldgen.geometry.vectors import Array, array
from manifoldgen.manifold.bodies import flange_bodies
from manifoldgen.manifold.collector_profile import outer_profile
from manifoldgen.manifold.model import Collector, Manifold, Owner, Piece, Run, Stud
from manifoldgen.readers import Scan, triangles

SCALLOP = 0.05  # mm a tube may stand outside its balls
ENGINE = "engine"
_ROUNDED = 1e-6  # mm: what rounding may take off a ball round balls

Index = NDArray[np.int64]
_FROM = {"runner": "the port", "outlet": "the cone", "wastegate": "its root"}


@dataclass(frozen=True, eq=False)
class Scene:
    """Everything a hand can bump into; arrays in mm, bench frame.

    groups : id of every group: a piece (``R2-P3``; the run's name before `split`), a flange, ``nut S3``, an
        obstacle, ``engine``.  words : the same as a person says it.
    owners : the run or the collector that a group belongs to; None for all that is bolted on or stands round it.
    balls : (n, 4) centre, radius; ball_group (n,); ball_station (n,) mm along the run.
    solids : (k, 16) rows; bounds : (k, 4) a ball round each; solid_group (k,).  points : (p, 3).
    halves : (h, 6); half_group (h,).  scans : foreign surfaces, each with its group.
    """

    groups: tuple[str, ...]
    words: tuple[str, ...]
    owners: tuple[Owner | None, ...]
    balls: Array
    ball_group: Index
    ball_station: Array
    solids: Array
    bounds: Array
    solid_group: Index
    points: Array
    halves: Array
    half_group: Index
    scans: tuple[Surface, ...] = ()

    def number(self, group: str) -> int:
        """The number of the first group of this id; -1 where there is none."""
        return self.groups.index(group) if group in self.groups else -1

    def near(self, point: ArrayLike, radius: float) -> Near:
        """What reaches within `radius` mm of a point, the nearest first."""
        at = array(point)
        off = np.linalg.norm(self.balls[:, :3] - at, axis=1) - self.balls[:, 3]
        away = np.linalg.norm(self.bounds[:, :3] - at, axis=1) - self.bounds[:, 3]
        behind = np.einsum("ij,ij->i", at - self.halves[:, :3], self.halves[:, 3:])
        return Near(_sorted(off, radius), _sorted(away, radius), np.flatnonzero(behind <= radius))

    def facets(self, point: ArrayLike, radius: float) -> Iterator[tuple[Surface, Index]]:
        """The scans' triangles that reach within `radius` mm of a point, neighbours in the mesh side by side."""
        at = array(point)
        for surface in self.scans:
            yield surface, surface.near(at, radius)

    def said(self, group: int, station: float = math.nan) -> str:
        """The words for a group, with the place on its run where there is one."""
        owner = self.owners[group]
        if math.isnan(station) or owner is None:
            return self.words[group]
        return f"{self.words[group]} {station:.0f} mm from {_FROM[owner.kind]}"


@dataclass(frozen=True, eq=False)
class Surface:
    """A scan's triangles.

    corners : (n, 3, 3) mm; bounds : (n, 4) a ball round each.  rounding : how far the true surface may lie off.
    """

    group: int
    corners: Array
    bounds: Array
    rounding: float = 0.0

    @property
    def rows(self) -> Array:
        """Hulls of three points; the points are the corners, one triangle after another."""
        rows = np.zeros((len(self.corners), 16))
        rows[:, 1] = 3 * np.arange(len(rows))
        rows[:, 2] = 3
        rows[:, ROUND] = self.rounding
        return rows

    @cached_property
    def leaves(self) -> Array:
        """Balls round neighbours in the mesh, as of `access.pack.blocks`."""
        return blocks(self.bounds)

    def near(self, at: Array, radius: float) -> Index:
        """Numbers of the triangles whose ball reaches within `radius` mm of a point, in the mesh's order."""
        count = (self.leaves[:, 5] - self.leaves[:, 4]).astype(np.int64)
        far = np.linalg.norm(self.leaves[:, :3] - at, axis=1) - self.leaves[:, 3] > radius + _ROUNDED
        numbers = np.flatnonzero(np.repeat(~far, count))
        balls = self.bounds[numbers]
        off = np.linalg.norm(balls[:, :3] - at, axis=1) - balls[:, 3]
        near: Index = numbers[off <= radius]
        return near

    def within(self, low: Array, high: Array) -> Surface:
        """The triangles whose ball reaches into a box; more do no harm."""
        middle, reach = self.bounds[:, :3], self.bounds[:, 3:] + _ROUNDED
        return self.picked(np.flatnonzero(((middle + reach >= low) & (middle - reach <= high)).all(axis=1)))

    def picked(self, numbers: Index) -> Surface:
        """Only some of the triangles."""
        return replace(self, corners=self.corners[numbers], bounds=self.bounds[numbers])


def surface(group: int, vertices: ArrayLike, faces: ArrayLike, rounding: float = 0.0) -> Surface:
    """The triangles of a mesh: vertices (v, 3) in mm, faces (n, 3)."""
    corners = array(vertices)[np.asarray(faces, dtype=np.int64)]
    middle = (corners.min(axis=1) + corners.max(axis=1)) / 2
    reach = np.linalg.norm(corners - middle[:, None], axis=2).max(axis=1) + rounding
    return Surface(group, corners, np.column_stack([middle, reach]), rounding)


@dataclass(frozen=True, eq=False)
class Near:
    """Numbers of a scene's balls, solids and half spaces, the nearest first."""

    balls: Index
    solids: Index
    halves: Index


def _sorted(off: Array, radius: float) -> Index:
    inside = np.flatnonzero(off <= radius)
    return inside[np.argsort(off[inside], kind="stable")]


@dataclass
class _Builder:
    """A scene while it is put together."""

    groups: list[str] = field(default_factory=list)
    words: list[str] = field(default_factory=list)
    owners: list[Owner | None] = field(default_factory=list)
    balls: list[Array] = field(default_factory=list)
    ball_group: list[Index] = field(default_factory=list)
    stations: list[Array] = field(default_factory=list)
    pool: Packing = field(default_factory=Packing)
    solid_group: list[int] = field(default_factory=list)
    half_group: list[int] = field(default_factory=list)
    scans: list[Surface] = field(default_factory=list)

    def group(self, name: str, words: str = "", owner: Owner | None = None) -> int:
        """A new group's number."""
        self.groups.append(name)
        self.words.append(words or name)
        self.owners.append(owner)
        return len(self.groups) - 1

    def owned(self, group: int) -> None:
        """Everything added to the pool since the last call belongs to `group`."""
        self.solid_group += [group] * (len(self.pool.rows) - len(self.solid_group))
        self.half_group += [group] * (len(self.pool.halves) - len(self.half_group))

    def tube(self, group: int, path: Path, radius: float, start: float = 0.0) -> None:
        """Balls along a path; `start` is the station of its first point."""
        placed = list(tube_balls(path, radius))
        if placed:
            rows = np.array([(*p, radius) for _, p in placed])
            self.balls.append(rows)
            self.ball_group.append(np.full(len(rows), group))
            self.stations.append(np.array([start + s for s, _ in placed]))

    def scene(self) -> Scene:
        """All of it as arrays."""
        pool = self.pool
        points = np.array(pool.points).reshape(-1, 3)
        solids = np.array(pool.rows).reshape(-1, 16)
        return Scene(
            tuple(self.groups),
            tuple(self.words),
            tuple(self.owners),
            np.concatenate([*self.balls, np.empty((0, 4))]),
            np.concatenate([*self.ball_group, np.empty(0, np.int64)]).astype(np.int64),
            np.concatenate([*self.stations, np.empty(0)]),
            solids,
            np.array([bound(row, points) for row in solids]).reshape(-1, 4),
            np.array(self.solid_group, dtype=np.int64),
            points,
            np.array(pool.halves).reshape(-1, 6),
            np.array(self.half_group, dtype=np.int64),
            tuple(self.scans),
        )


def nut(stud: Stud) -> str:
    """The group of a nut or bolt head with its stud."""
    return f"nut {stud.id}"


def scene(m: Manifold) -> Scene:
    """Everything of a manifold that a hand, a tool or a torch can bump into.

    Runs without a path are left out. Pieces are the groups where the manifold is split, else whole runs.
    """
    build = _Builder()
    for run in m.runs:
        _run(build, m, run)
    for collector in m.collectors:
        _collector(build, m, collector)
    for flange in m.flanges:
        number = build.group(flange.name)
        for shape in flange_bodies(flange):
            build.pool.shape(shape)
        build.owned(number)
    for stud in m.studs:
        number = build.group(nut(stud), f"{'nut' if stud.kind == 'stud' else 'bolt head'} {stud.id}")
        for row in fasteners.rows(stud, m.tables):
            build.pool.add(row)
        build.owned(number)
    for obstacle in m.obstacles:
        number = build.group(obstacle.name)
        if isinstance(obstacle.shape, Scan):
            build.scans.append(surface(number, *triangles(obstacle.shape), obstacle.shape.error))
        else:
            build.pool.shape(obstacle.shape)
            build.owned(number)
    number = build.group(ENGINE, "the engine")
    build.pool.shape(HalfSpace((0.0, 0.0, 0.0), (0.0, 0.0, 1.0)))
    build.owned(number)
    return build.scene()


def _run(build: _Builder, m: Manifold, run: Run) -> None:
    if run.path is None:
        return
    mine = [p for p in m.pieces if p.owner == run.owner]
    if not mine:
        build.tube(build.group(run.name, owner=run.owner), run.path, run.section.radius)
        return
    station = 0.0
    for piece in mine:
        if piece.path is None:
            continue
        number = build.group(piece.id, f"{run.name} ({piece.id})", run.owner)
        build.tube(number, piece.path, piece.section.radius, station)
        station += piece.path.length


def _collector(build: _Builder, m: Manifold, c: Collector) -> None:
    """Inlets below the collector joint plane, transition plate and cone."""
    for cylinder, pose in zip(c.order, c.inlets, strict=True):
        run = next((r for r in m.runners if r.number == cylinder), None)
        piece = next((p.id for p in m.pieces if p.inlet == cylinder), run.name if run else "")
        if run is None or c.kind == "bundle" or c.merge_depth <= 0 or piece not in build.groups:
            continue
        leg = c.merge_depth / math.cos(math.radians(c.half_angle))
        start = run.path.length if run.path else 0.0
        steps = np.linspace(0.0, leg, math.ceil(leg / _step(c.section.radius, math.inf)) + 1)
        rows = array(pose.at) + steps[:, None] * array(pose.direction)
        build.balls.append(np.column_stack([rows, np.full(len(rows), c.section.radius)]))
        build.ball_group.append(np.full(len(rows), build.groups.index(piece)))
        build.stations.append(start + steps)
    z = array(c.frame.z)
    flat = c.frame.out((0.0, 0.0, c.merge_depth))
    build.pool.add(rod(flat, flat + c.section.wall * z, c.rim_radius))
    build.owned(_sheet(build, c, m.lid_of(c), "the collector's transition plate", "lid"))
    profile = outer_profile(c)
    for (r, a), (s, b) in pairwise(profile):
        if b - a > 1e-6:
            ends = (c.frame.out((0.0, 0.0, h)) for h in (a, b))
            build.pool.add(rod(next(ends), next(ends), r, s))
    build.owned(_sheet(build, c, m.cone_of(c), "the cone", "cone"))


def _sheet(build: _Builder, c: Collector, piece: Piece | None, words: str, name: str) -> int:
    """The group of a lid or a cone, called `name` before `split`."""
    if piece is None:
        return build.group(name, words, c.owner)
    return build.group(piece.id, f"{words} ({piece.id})", c.owner)


def _step(radius: float, clr: float) -> float:
    """Spacing h of balls along a centreline so that the tube stands at most `SCALLOP` outside them.

    On a straight the balls leave a scallop R - √(R² - h²/4). On a bend the tube's back, half way between two
    balls, is √(R² + (1 + R/clr)·h²/4) from either centre: the step shrinks by √(1 + R/clr).
    """
    half = math.sqrt(radius**2 - max(radius - SCALLOP, 0.0) ** 2)
    return 2 * half / math.sqrt(1 + radius / clr)


def tube_balls(path: Path, radius: float) -> Iterator[tuple[float, Array]]:
    """Stations and centres of the balls along a path, both ends included."""
    start = 0.0
    last = None
    for segment in path.segments:
        clr = segment.clr if isinstance(segment, Arc) else math.inf
        count = max(1, math.ceil(segment.length / _step(radius, clr))) if segment.length > 0 else 0
        for k in range(count):
            s = segment.length * k / count
            yield start + s, segment.point(s)
        start += segment.length
        last = segment
    if last is not None:
        yield start, last.point(last.length)
