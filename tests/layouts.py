"""Random whole manifolds from a numpy generator: ports in a row, a collector ahead, runners closed on their inlets.

Everything a solid can meet varies: 2 to 8 cylinders, round, oval and rectangular ports, directions that lean
up to 15°, butt or socket, passage in the flange or formed tube, merge or bundle, plate or V-band, a branch off
a bend of the outlet or of a runner, off the cone, or none.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from manifoldgen.errors import GeometryError, PathError
from manifoldgen.geometry import contour
from manifoldgen.geometry.distance import between_tubes
from manifoldgen.geometry.path import Bend, Path, Straight
from manifoldgen.geometry.pose import BENCH, Frame, Pose
from manifoldgen.geometry.shapes import Tube
from manifoldgen.geometry.vectors import array, unit, vec
from manifoldgen.manifold.branches import off_bend, off_cone
from manifoldgen.manifold.collector import inlet_lead, make_collector
from manifoldgen.manifold.model import (
    Branch,
    Collector,
    Engine,
    Flange,
    Hole,
    Manifold,
    Opening,
    Port,
    Run,
    Section,
    VBand,
)
from manifoldgen.routing.closure import closures
from tests.factory import LIMITS, STOCK

UP = (0.0, 1.0, 0.0)
ROOM = 3.0  # mm between runners
TRIES = 40


def random_manifold(rng: np.random.Generator, cylinders: int | None = None) -> Manifold:
    """A manifold whose runners do not clash with each other; the rest is as it comes."""
    for _ in range(TRIES):
        found = _attempt(rng, cylinders or int(rng.integers(2, 9)))
        if found is not None:
            return found
    raise RuntimeError(f"no layout without a clash in {TRIES} tries")


def _attempt(rng: np.random.Generator, n: int) -> Manifold | None:
    tube = Section(float(rng.uniform(30, 45)), float(rng.uniform(1.5, 2.5)), "304")
    head, ports = _head(rng, n, tube)
    try:
        collector = _collector(rng, n, tube, ports)
        runners = _runners(rng, head, ports, collector)
    except (GeometryError, PathError):
        return None
    if runners is None:
        return None
    out = collector.outlet
    top = Pose.heading(collector.frame.out((0.0, 0.0, collector.length)), collector.frame.z)
    bend = Bend(
        float(rng.uniform(30, 80)), float(out.od * rng.uniform(1.1, 1.8)), float(rng.uniform(-180, 180))
    )
    path = Path(top, (Straight(float(rng.uniform(12, 40))), bend, Straight(float(rng.uniform(60, 110)))))
    outlet = Run("outlet", "outlet", out, top, path)
    m = Manifold(
        name="random", description="", engine=Engine(tuple(range(1, n + 1)), UP), head=head,
        turbo=_end_flange(rng, "turbo flange", path.end, out), wastegate_flange=None, ports=ports, studs=(),
        collectors=(collector,), runners=runners, outlet=outlet, branches=(), obstacles=(), limits=LIMITS,
        stock=STOCK,
    )  # fmt: skip
    return _with_branch(rng, m)


def _opening(rng: np.random.Generator, bore: float, at: tuple[float, float]) -> Opening:
    kind = rng.choice(["round", "same", "oval", "rectangle"])
    w, h = bore * float(rng.uniform(0.85, 1.2)), bore * float(rng.uniform(0.75, 1.05))
    if kind in ("round", "same"):
        d = 2 * bore if kind == "same" else 2 * w
        return Opening("round", d, d, d / 2, at, contour.circle(d))
    w, h = 2 * w, 2 * h
    if kind == "oval":
        return Opening("oval", w, h, min(w, h) / 2, at, contour.oval(w, h))
    corner = float(rng.choice([0.0, rng.uniform(2, 0.45 * min(w, h))]))
    return Opening("rectangle", w, h, corner, at, contour.rectangle(w, h, corner))


def _head(rng: np.random.Generator, n: int, tube: Section) -> tuple[Flange, tuple[Port, ...]]:
    pitch = tube.od * float(rng.uniform(1.7, 2.3))
    shape = _opening(rng, tube.bore_radius, (0.0, 0.0))
    one = rng.random() < 0.5
    thickness = float(rng.uniform(9, 16))
    lean = np.radians(rng.uniform(0, 15, n)) * (rng.random() < 0.7)
    turn = rng.uniform(0, 2 * math.pi, n)
    ports, holes = [], []
    for k in range(n):
        i = 0 if one else k
        d = (math.sin(lean[i]) * math.cos(turn[i]), math.sin(lean[i]) * math.sin(turn[i]), math.cos(lean[i]))
        at = (pitch * k, 0.0)
        ports.append(Port(k + 1, (*at, 0.0), vec(d), replace(shape, at=at)))
        off = max(tube.radius, shape.height / 2) + 10
        holes += [Hole(f"S{2 * k + j + 1}", (at[0] + s * 8, s * off), 9.0) for j, s in enumerate((-1, 1))]
    circles = [(h.at, h.diameter / 2 + 10) for h in holes]
    circles += [(p.opening.at, math.hypot(shape.width, shape.height) / 2 + tube.wall + 10) for p in ports]
    fit, transition = [("butt", "flange"), ("socket", "flange"), ("butt", "tube")][int(rng.integers(3))]
    head = Flange(
        "head flange", BENCH, thickness, "304", contour.hull(circles), tuple(p.opening for p in ports),
        tuple(holes), tube, "end", fit, transition, 40.0 if transition == "tube" else 0.0,
    )  # fmt: skip
    return head, tuple(ports)


def _collector(rng: np.random.Generator, n: int, tube: Section, ports: tuple[Port, ...]) -> Collector:
    middle = np.mean([p.at for p in ports], axis=0)
    span = ports[-1].at[0]
    axis = unit([rng.uniform(-0.3, 0.3), rng.uniform(-0.5, 0.5), 1.0])
    at = middle + np.array((0.0, rng.uniform(-80, 80), 230 + 0.7 * span + rng.uniform(0, 120)))
    kind = "merge" if rng.random() < 0.75 else "bundle"
    given = {
        "name": "A",
        "kind": kind,
        "frame": Frame.facing(at, axis, UP),
        "section": tube,
        "outlet": Section(tube.od * float(rng.uniform(1.25, 1.6)), 2.5, "304"),
        "half_angle": float(rng.uniform(7, 16)),
        "gap": float(rng.uniform(1, 5)),
        "clock": float(rng.uniform(0, 360)),
    }
    plain = make_collector(order=range(1, n + 1), **given)  # type: ignore[arg-type]
    rank = np.argsort(np.argsort([p.at[0] for p in plain.inlets]))
    return make_collector(order=[int(k) + 1 for k in rank], **given)  # type: ignore[arg-type]


def _runners(
    rng: np.random.Generator, head: Flange, ports: tuple[Port, ...], c: Collector
) -> tuple[Run, ...] | None:
    tube = head.tube
    radii = [(1.5 * tube.od, 120.0), (2.0 * tube.od, 90.0)][: int(rng.integers(1, 3))]
    made: list[Run] = []
    for port in ports:
        start = Pose.heading((port.at[0], port.at[1], head.thickness), port.direction)
        lead = head.transition_length + tube.radius
        for path in closures(start, c.inlet(port.number), radii, 5.0 + inlet_lead(c), limit=12, lead=lead):
            mine = Tube(path, tube.radius)
            if all(
                r.path and between_tubes(mine, Tube(r.path, tube.radius)).gap > min(ROOM, c.true_gap / 2)
                for r in made
            ):
                made.append(
                    Run(
                        f"runner {port.number}",
                        "runner",
                        tube,
                        start,
                        path,
                        port.number,
                        c.inlet(port.number),
                    )
                )
                break
        else:
            return None
    return tuple(made)


def _end_flange(rng: np.random.Generator, name: str, end: Pose, tube: Section) -> Flange:
    frame = Frame.facing(end.at, end.direction, UP, float(rng.uniform(0, 360)))
    opening = _opening(rng, tube.bore_radius, (0.0, 0.0))
    reach = max(math.hypot(opening.width, opening.height) / 2, tube.radius + 3)
    if rng.random() < 0.3:
        return Flange(
            name, frame, 14.0, "304", None, (opening,), (), tube, "start",
            vband=VBand(2 * reach + 14, 2 * reach + 34, 20.0),
        )  # fmt: skip
    angles = np.radians(45 + 90 * np.arange(4))
    spots = [(float((reach + 9) * math.cos(a)), float((reach + 9) * math.sin(a))) for a in angles]
    holes = tuple(Hole(f"{name[0].upper()}{k + 1}", at, 9.0) for k, at in enumerate(spots))
    rim = contour.hull([((0.0, 0.0), reach + 6), *((h.at, 14.0) for h in holes)])
    fit = "socket" if rng.random() < 0.3 else "butt"
    return Flange(name, frame, 12.0, "304", rim, (opening,), holes, tube, "start", fit)


def _with_branch(rng: np.random.Generator, m: Manifold) -> Manifold:
    place = rng.choice(["none", "outlet", "outlet", "cone", "runner"])
    if place == "none" or m.outlet.path is None:
        return m
    aim, shift = float(rng.uniform(0, 40)), float(rng.uniform(-4, 4))
    c = m.collectors[0]
    try:
        if place == "cone":
            aim = float(rng.uniform(45, 90))
            way, off, element = off_cone(c, at=0.5, around=float(rng.uniform(0, 360)), aim=aim), "cone", None
            parent = (c.outlet.od + 2 * c.rim_radius) / 2
        else:
            run = m.outlet if place == "outlet" else m.runners[int(rng.integers(len(m.runners)))]
            assert run.path is not None
            element = next(k for k, e in enumerate(run.path.elements) if isinstance(e, Bend))
            parent, off = run.section.od, run.name
            way = off_bend(run.path, element, run.section.radius, aim=aim, shift=shift)
    except (GeometryError, StopIteration):
        return m
    tube = Section(parent * float(rng.uniform(0.5, 0.85)), 1.65, "304")
    start = Pose.heading(array(way.root) + way.wall_length * array(way.axis), way.axis)
    more = () if rng.random() < 0.5 else (Bend(float(rng.uniform(20, 60)), 1.5 * tube.od), Straight(25.0))
    path = Path(start, (Straight(float(rng.uniform(50, 100))), *more))
    branch = Branch(off, element, Run("wastegate branch", "wastegate", tube, start, path), way.root, way.axis,
                    way.wall_length, aim, shift, 38.0)  # fmt: skip
    return replace(
        m, branches=(branch,), wastegate_flange=_end_flange(rng, "wastegate flange", path.end, tube)
    )
