"""A second opinion on tools at studs, which shares no distance with the package.

Passed poses are held as meshes against meshes. Failed studs are tried with random poses: every part of a tool
is a cloud of points that the signed distances of the bodies, written here anew, may not find inside.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import manifold3d as md
import numpy as np

from manifoldgen.access.fasteners import fastener
from manifoldgen.access.results import StudAccess
from manifoldgen.access.studs import clamped
from manifoldgen.access.tools import Frustum, Tool, tools
from manifoldgen.geometry import contour
from manifoldgen.geometry.shapes import Box, Capsule
from manifoldgen.geometry.vectors import array, rotated, vec
from manifoldgen.manifold.model import Manifold, Stud
from tests.access.metal import axes, gap, placed, plate, shape, tube, turned

Field = Callable[[np.ndarray], np.ndarray]
NEAR = 12.0  # mm: gaps beyond are not measured


def bodies(m: Manifold, s: Stud) -> dict[str, md.Manifold]:
    """Everything but the stud's own nut, as meshes; the engine as a thick slab."""
    made = {r.name: tube(r.path, r.section.radius) for r in m.runs if r.path}
    made |= {f.name: plate(f) for f in m.flanges}
    for o in m.obstacles:
        if isinstance(o.shape, Box):
            f = o.shape.frame
            cube = md.Manifold.cube([2 * h for h in o.shape.half], center=True)
            made[o.name] = placed(cube, f.at, f.x, f.y, f.z)
        else:
            made[o.name] = turned(o.shape.start, o.shape.end, o.shape.radius, o.shape.radius)
    for other in m.studs:
        if other.id != s.id:
            made[f"nut {other.id}"] = _nut(m, other)
    made["engine"] = md.Manifold.cube([4000, 4000, 500], center=True).translate((0, 0, -250))
    return made


def _nut(m: Manifold, s: Stud) -> md.Manifold:
    """A neighbour's nut and stud end."""
    f = fastener(s, m.tables)
    at, axis = array(s.at), array(s.axis)
    solid = turned(at + f.seat * axis, at + f.top * axis, f.body, f.body)
    if f.tip > f.top:
        r = m.tables.thread(s.thread).diameter / 2
        solid = solid + turned(at + f.top * axis, at + f.tip * axis, r, r)
    return solid + turned(at, at + f.seat * axis, f.radius, f.radius) if f.seat else solid


def least_gap(m: Manifold, s: Stud, a: StudAccess) -> tuple[float, str]:
    """Least distance of the reported tool to anything, at the middle and both ends of its swing, and to whom.

    The face that the nut stands on only has to stay free of it.
    """
    fixed = [shape(p) for p in a.shapes]
    turning = [p for p in a.shapes if isinstance(p, Capsule) and p.start != p.end]
    origin = array(turning[0].start) if turning else array(s.at)
    swept = list(fixed)
    for angle in (-a.swing_deg / 2, a.swing_deg / 2):
        for p in turning:
            ends = (vec(origin + rotated(array(e) - origin, a.toward, angle)) for e in (p.start, p.end))
            swept.append(shape(Capsule(next(ends), next(ends), p.radius)))
    found = {name: gap(swept, body, NEAR) for name, body in bodies(m, s).items()}
    own = found.pop(s.flange)
    if own <= 0.0:
        return 0.0, s.flange
    return min((d, name) for name, d in found.items())


def fields(m: Manifold, s: Stud) -> list[Field]:
    """Signed distances of everything but the own nut (and the own flange's plate, which is taken in depth only)."""
    made: list[Field] = [lambda p: p[:, 2]]
    for r in m.runs:
        if r.path:
            line = np.array([r.path.point(t) for t in np.arange(0.0, r.path.length, 1.0)])
            made.append(_line(line, r.section.radius))
    for f in m.flanges:
        made.append(_plate(f.frame, f.outline, f.thickness))
    for o in m.obstacles:
        if isinstance(o.shape, Box):
            made.append(_box(o.shape.frame, array(o.shape.half)))
        else:
            made.append(_rod(array(o.shape.start), array(o.shape.end), o.shape.radius))
    for other in m.studs:
        if other.id != s.id:
            f = fastener(other, m.tables)
            at, axis = array(other.at), array(other.axis)
            made.append(_rod(at + f.seat * axis, at + f.top * axis, f.body))
            made.append(_rod(at, at + f.tip * axis, m.tables.thread(other.thread).diameter / 2))
    return made


def _line(line: np.ndarray, radius: float) -> Field:
    def field(p: np.ndarray) -> np.ndarray:
        return np.sqrt(((p[:, None] - line[None]) ** 2).sum(2).min(1)) - radius

    return field


def _box(frame, half: np.ndarray) -> Field:
    def field(p: np.ndarray) -> np.ndarray:
        q = abs(frame.into(p)) - half
        return np.linalg.norm(np.maximum(q, 0), axis=1) + np.minimum(q.max(1), 0)

    return field


def _rod(a: np.ndarray, b: np.ndarray, radius: float) -> Field:
    length = np.linalg.norm(b - a)
    along = (b - a) / length

    def field(p: np.ndarray) -> np.ndarray:
        h = (p - a) @ along
        rho = np.linalg.norm(p - a - h[:, None] * along, axis=1)
        q = np.column_stack([rho - radius, np.maximum(-h, h - length)])
        return np.linalg.norm(np.maximum(q, 0), axis=1) + np.minimum(q.max(1), 0)

    return field


def _plate(frame, outline, thickness: float) -> Field:
    ring = np.array(contour.points(outline, 0.01))
    edge = np.roll(ring, -1, axis=0) - ring

    def field(p: np.ndarray) -> np.ndarray:
        q = frame.into(p)
        off = q[:, None, :2] - ring[None]
        t = np.clip((off * edge).sum(2) / (edge**2).sum(1), 0, 1)
        away = np.linalg.norm(off - t[..., None] * edge, axis=2).min(1)
        x, y = q[:, None, 0], q[:, None, 1]
        above = (ring[:, 1] > y) != (np.roll(ring[:, 1], -1) > y)
        with np.errstate(divide="ignore", invalid="ignore"):
            crossing = ring[:, 0] + (y - ring[:, 1]) / edge[:, 1] * edge[:, 0]
        inside = (above & (x < crossing)).sum(1) % 2 == 1
        flat = np.column_stack([np.where(inside, -away, away), np.maximum(-q[:, 2], q[:, 2] - thickness)])
        return np.linalg.norm(np.maximum(flat, 0), axis=1) + np.minimum(flat.max(1), 0)

    return field


def cloud(part: Frustum, *, fine: bool) -> np.ndarray:
    """Points (rho, turn, z, radius) that lie in a part: rings on its side, balls on its axis."""
    if part.rounding:
        return np.array([(0.0, 0.0, part.z0, part.rounding)])
    made = []
    for t in np.linspace(0, 1, max(2, math.ceil((part.z1 - part.z0) / (2 if fine else 4)))):
        r, z = part.r0 + t * (part.r1 - part.r0), part.z0 + t * (part.z1 - part.z0)
        made += [(r, a, z, 0.0) for a in np.linspace(0, 2 * math.pi, 128 if fine else 16, endpoint=False)]
        made.append((0.0, 0.0, z, min(r * 0.9, z - part.z0, part.z1 - z)))
    return np.array(made)


class Trial:
    """One failed stud, to be tried with poses of its own making."""

    def __init__(self, m: Manifold, s: Stud) -> None:
        self.fields = fields(m, s)
        self.at, self.n = array(s.at), array(s.axis)
        self.u, self.v, _ = axes(self.n)
        self.tools = tools(fastener(s, m.tables, clamped(m, s)), m.tables)
        seats = {(*t.seat, *t.on): True for t in self.tools}
        for parts in seats:
            seats[parts] = all(
                self._clear(_cloud(parts, fine=fine), self.at, self.n, self.u, self.v)
                for fine in (False, True)
            )
        self.sits = [seats[(*t.seat, *t.on)] for t in self.tools]

    def _clear(self, points: np.ndarray, o, a, u, v) -> bool:
        rho, turn, z, radius = points.T
        placed = o + np.outer(rho * np.cos(turn), u) + np.outer(rho * np.sin(turn), v) + np.outer(z, a)
        return all(bool((f(placed) >= radius - 1e-9).all()) for f in self.fields)

    def free(self, tries: int, rng: np.random.Generator) -> str | None:
        """A random pose that is free without any margin, in words; None where none of `tries` is."""
        for k in rng.integers(len(self.tools), size=tries):
            tool, draws = self.tools[k], rng.random(3)
            if self.sits[k] and self._fits(tool, *draws):
                return f"{tool.name}, {draws}"
        return None

    def _fits(self, tool: Tool, lean: float, way: float, turn: float) -> bool:
        tilt, psi, azimuth = lean * math.radians(tool.tilts[-1]), 2 * math.pi * way, 2 * math.pi * turn
        out = math.cos(psi) * self.u + math.sin(psi) * self.v
        a = math.cos(tilt) * self.n + math.sin(tilt) * out
        o = self.at + tool.pivot * self.n
        u, v, _ = axes(a)
        half = math.radians(tool.need) / 2
        for step in (5, 41):  # coarse, then fine
            if tool.shaft and not self._clear(_cloud(tool.shaft, fine=step > 5), o, a, u, v):
                return False
            for swing in np.linspace(-half, half, step):
                c, d = math.cos(azimuth + swing), math.sin(azimuth + swing)
                if not self._clear(_arms(tool, step), o, a, c * u + d * v, c * v - d * u):
                    return False
        return True


def _cloud(parts: tuple[Frustum, ...], *, fine: bool) -> np.ndarray:
    return np.concatenate([cloud(p, fine=fine) for p in parts] + [np.zeros((0, 4))])


def _arms(tool: Tool, step: int) -> np.ndarray:
    """The handle's points, with the way on; finer for more steps."""
    made = []
    for arm in tool.arms:
        for lift in np.linspace(0, arm.lift, 2 if step == 5 else 6):
            for slide in np.linspace(0, arm.slide, 2 if step == 5 else 6):
                if arm.flat:
                    for a in np.arange(24) * math.pi / 12:
                        x, y = slide + arm.radius * math.cos(a), arm.radius * math.sin(a)
                        for z in (arm.z0, (arm.z0 + arm.z1) / 2, arm.z1):
                            made.append((math.hypot(x, y), math.atan2(y, x), z, 0.0))
                    continue
                for t in np.linspace(0, 1, 20 if step == 5 else 60):
                    rho = arm.rho0 + t * (arm.rho1 - arm.rho0) + slide
                    made.append((rho, 0.0, arm.z0 + t * (arm.z1 - arm.z0) + lift, arm.radius))
    return np.array(made)
