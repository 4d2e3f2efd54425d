"""What stands around the runners that are searched, as rows of numbers with the gap that each asks."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from manifoldgen.access.fasteners import fastener
from manifoldgen.access.tools import DRIVES
from manifoldgen.geometry.distance import to_shape
from manifoldgen.geometry.movement import Movement
from manifoldgen.geometry.path import Path, Straight
from manifoldgen.geometry.pose import Pose
from manifoldgen.geometry.rows import BEND, BOX, CAPSULE, CONE, HALF, NO_EDGES, ROD, run_of, shape_rows
from manifoldgen.geometry.shapes import Cone, Cylinder, HalfSpace, Tube
from manifoldgen.geometry.vectors import Array, Vec, array, vec
from manifoldgen.manifold.bodies import flange_bodies
from manifoldgen.manifold.clear_of import movement_against
from manifoldgen.manifold.model import Collector, Manifold, Run, Stud
from manifoldgen.readers import Scan, tree

OBSTACLE, TOOL, PART = 0, 1, 2  # groups of solids, as the kernels count them
HEAD_SPACE = 10.0  # mm kept from the engine's face (common practice, no source)
_SLIDE = 20.0  # mm between two places on the way off
SCAN = 7.0  # kind of row, as the kernels count them
GRID, GRID_ROOM = 8.0, 100.0  # mm: step of a scan's grid, and how far it reaches beyond ports and turbo
GRID_ERROR = 0.5  # mm added to a scan's gap for what the grid rounds off
_EVERYWHERE = 1e6  # mm: radius of the ball round a half space


@dataclass(frozen=True)
class Solid:
    """One solid to stay clear of.

    gap : asked of a runner; within `near` mm of its inlet only `near_gap` is.
    start, end : mm of the runner at the flange and at its inlet of which nothing is asked.
    attached : moves with the turbo.
    """

    name: str
    group: int
    row: Array
    edges: Array
    gap: float
    near_gap: float = 0.0
    near: float = 0.0
    start: float = 0.0
    end: float = 0.0
    attached: bool = False


def solids(m: Manifold, searched: tuple[Run, ...], travel: float) -> tuple[Solid, ...]:
    """Everything that does not depend on the collector's clock, obstacles first.

    travel : how far the manifold has to slide off its studs, mm; 0 where it cannot anyway.
    """
    room = (*_tools(m, searched), *_sliding(m, travel))
    return (*_obstacles(m), *_parts(m, searched[0].section.od), *room)


def packed(every: tuple[Solid, ...]) -> tuple[Array, Array, Array]:
    """Rows (M, 16), edges of all outlines (·, 8) and rules (M, 13) for the kernels."""
    rows, edges, rules = [], [], []
    count = 0
    for s in every:
        centre, radius = _ball(s.row, s.edges)
        spans = (count, count + len(s.edges))
        count += len(s.edges)
        rules.append([s.gap, s.near_gap if s.near else s.gap, s.near, s.start, s.end, s.group, float(s.attached),
                      *centre, radius, *spans])  # fmt: skip
        rows.append(s.row)
        edges.append(s.edges)
    return (
        np.array(rows).reshape(-1, 16),
        np.vstack([NO_EDGES, *edges]),
        np.array(rules, dtype=float).reshape(-1, 13),
    )


def keep_out(m: Manifold, stud: Stud, grip: float) -> Cylinder:
    """The room a socket with its ratchet takes over a stud: straight on, from the nut's seat."""
    tables, drive = m.tables, DRIVES[0]
    nut = fastener(stud, tables, grip)
    socket = tables.row("tools", "hand_socket", drive)
    wide = tables.socket_width(drive, nut.across_flats or nut.key)
    radius = max(wide, float(socket["d2"])) / 2
    inside = float(tables.row("tools", "socket_inside", "bolt_depth")["of_length"]) * float(socket["regular"])
    length = float(socket["regular"] if nut.tip - nut.seat <= inside else socket["deep"])
    length += float(tables.row("tools", "ratchet", drive)["head_h"])
    at, axis = array(stud.at), array(stud.axis)
    return Cylinder(vec(at + nut.seat * axis), vec(at + (nut.seat + length) * axis), radius)


def _obstacles(m: Manifold) -> Iterator[Solid]:
    for o in m.obstacles:
        gap = max(o.clearance, m.limits.heat_gap) if o.heat_sensitive else o.clearance
        movement = movement_against(m.engine, o)
        gap += most_moved(m, movement) if movement else 0.0
        if isinstance(o.shape, Scan):
            grid = scan_grid(m, o.shape)
            yield Solid(
                o.name, OBSTACLE, grid[0], grid[1], gap + o.shape.error + GRID_ERROR, attached=bool(o.joined)
            )
            continue
        row, edges = shape_rows(o.shape)
        yield Solid(o.name, OBSTACLE, row[0], edges, gap, attached=bool(o.joined))


def most_moved(m: Manifold, movement: Movement) -> float:
    """How far any point between the ports and the turbo goes with the engine, mm."""
    places = [*(p.at for p in m.ports), m.collectors[0].frame.at, m.turbo.frame.at]
    return max(movement.most(p) for p in places)


def _parts(m: Manifold, od: float) -> Iterator[Solid]:
    """The manifold's own parts, with the gaps of the check `other-gap`."""
    full, zone = m.limits.gap_other, m.limits.merge_zone
    for c in m.collectors:
        row, edges = shape_rows(cone_of(c))
        yield Solid("collector", PART, row[0], edges, full, 0.0, zone, 0.0, od, attached=True)
    for run in (m.outlet, *(b.run for b in m.branches)):
        if run.path is not None and run.path.length > 0:
            for row in run_of(Tube(run.path, run.section.radius)).segs:
                yield Solid(run.name, PART, row, NO_EDGES, full, 0.0, zone, attached=True)
    for flange in m.flanges:
        head = flange is m.head
        for shape in flange_bodies(flange):
            row, edges = shape_rows(shape)
            gap, start = (0.0, od) if head else (full, 0.0)
            yield Solid(flange.name, PART, row[0], edges, gap, start=start, attached=not head)
    row, edges = shape_rows(engine_block())
    yield Solid("engine", PART, row[0], edges, HEAD_SPACE, start=od)


def engine_block() -> HalfSpace:
    """What lies behind the flange's engine-side face."""
    return HalfSpace((0.0, 0.0, 0.0), (0.0, 0.0, 1.0))


def cone_of(c: Collector) -> Cone:
    """The collector's cone, outside."""
    start, end = (vec(c.frame.out((0, 0, z))) for z in (c.merge_depth, c.length))
    return Cone(start, end, c.rim_radius, c.outlet.radius)


def _tools(m: Manifold, searched: tuple[Run, ...]) -> Iterator[Solid]:
    """A keep-out over every stud, unless what stands already is in it: no runner could give that way."""
    there = tuple(_standing(m, searched))
    for stud in m.studs:
        flange = next(f for f in m.flanges if f.name == stud.flange)
        room = keep_out(m, stud, flange.thickness + flange.gasket)
        if all(to_shape(t, room).gap >= m.limits.tool_margin for t in there):
            row, edges = shape_rows(room)
            yield Solid(
                f"tool on {stud.id}", TOOL, row[0], edges, m.limits.tool_margin,
                attached=stud.flange != m.head.name,
            )  # fmt: skip


def _sliding(m: Manifold, travel: float) -> Iterator[Solid]:
    """Obstacles where they come to stand against the manifold while it slides off: only a keep-out, too."""
    mine = [s for s in m.studs if s.flange == m.head.name]
    steps = math.ceil(travel / _SLIDE) if mine else 0
    for o in m.obstacles:
        if o.joined or isinstance(o.shape, Scan):
            continue
        for k in range(1, steps + 1):
            row, edges = shape_rows(o.shape)
            passed = row[0].copy()
            passed[1:4] -= travel * k / steps * array(mine[0].axis)
            yield Solid(f"{o.name} while it slides off", TOOL, passed, edges, m.limits.tool_margin)


def _standing(m: Manifold, searched: tuple[Run, ...]) -> Iterator[Tube]:
    """Tubes that stay where they are: fixed runners, outlet, branches, collector, every runner's first straight."""
    for run in m.runs:
        if run.path is not None and run.path.length > 0:
            yield Tube(run.path, run.section.radius)
    for run in searched:
        yield Tube(Path(run.start, (Straight(m.limits.flange_straight),)), run.section.radius)
    for c in m.collectors:
        at = vec(c.frame.out((0, 0, -m.limits.inlet_straight)))
        pose = Pose.heading(at, c.frame.z)
        whole = Straight(c.length + m.limits.inlet_straight)
        yield Tube(Path(pose, (whole,)), max(c.rim_radius, c.ring_radius + c.section.radius))


def scan_grid(m: Manifold, scan: Scan) -> tuple[Array, Array]:
    """A scan as distances on a grid over the room between ports and turbo: its row and the values, eight a row.

    Negative inside a closed scan.
    """
    from manifoldgen.routing import _scan_kernels as kernels

    found = tree(scan)
    corners = array([*(p.at for p in m.ports), m.collectors[0].frame.at, m.turbo.frame.at])
    low, high = corners.min(axis=0) - GRID_ROOM, corners.max(axis=0) + GRID_ROOM
    counts = np.ceil((high - low) / GRID).astype(int) + 1
    values = np.zeros(math.ceil(counts.prod() / 8) * 8)
    kernels.fill(*found.arrays, low, GRID, counts, values, scan.closed)
    return np.array([SCAN, *counts, *low, GRID, *[0.0] * 8]), values.reshape(-1, 8)


def _ball(row: Array, edges: Array) -> tuple[Vec, float]:
    """A ball that holds a solid."""
    kind = row[0]
    if kind == HALF:
        return vec(row[1:4]), _EVERYWHERE
    if kind == SCAN:
        return vec(row[4:7]), _EVERYWHERE
    if kind == BOX:
        return vec(row[1:4]), float(np.linalg.norm(row[13:16]))
    if kind == BEND:
        return vec(row[1:4]), float(row[13] + row[15])
    if kind in {ROD, CAPSULE, CONE}:
        radius = float(max(row[8], row[9]) if kind == CONE else row[8])
        middle = row[1:4] + row[4:7] * row[7] / 2
        return vec(middle), math.hypot(row[7] / 2, radius) + (radius if kind == CAPSULE else 0.0)
    reach = float(np.abs(edges[:, :4]).max()) * math.sqrt(2) + float(edges[:, 7].max())
    return vec(row[1:4]), math.hypot(reach, float(row[13]))
