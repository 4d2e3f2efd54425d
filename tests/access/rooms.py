"""Random rooms round studs: a plate with studs, tubes that bend over them, a turbo flange, boxes and rods."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from manifoldgen.geometry import contour
from manifoldgen.geometry.path import Bend, Path, Straight
from manifoldgen.geometry.pose import BENCH, Frame, Pose
from manifoldgen.geometry.shapes import Box, Cylinder
from manifoldgen.geometry.vectors import Vec, array, vec
from manifoldgen.manifold.model import Flange, Hole, Manifold, Obstacle, Run, Stud
from tests.factory import FACE, LIMITS, OUTLET, TUBE, alone, manifold, round_opening
from tests.strategies import random_direction

THREADS = ("M6", "M8", "M10", "M12")
NUTS = ("hex", "flange", "all-metal-lock")
FAR = Pose.heading((0.0, 0.0, 5000.0), (0.0, 0.0, 1.0))


def stud(name: str, at=(0.0, 0.0, FACE), **changes: object) -> Stud:
    """An M8 stud of the head flange with washer and lock nut, 22 mm above the face."""
    plain = Stud(
        name, "head flange", "stud", vec(at), (0.0, 0.0, 1.0), "M8", 22.0, "all-metal-lock", True, 9.0
    )
    return replace(plain, **changes)  # type: ignore[arg-type]


def bench(*studs: Stud, runs: tuple[Run, ...] = (), obstacles=(), half: float = 150.0) -> Manifold:
    """A square plate with studs, and what else is asked; the turbo is far away."""
    m = alone(manifold(), *runs)
    rim = contour.polygon([(-half, -half), (half, -half), (half, half), (-half, half)])
    holes = tuple(Hole(s.id, s.at[:2], s.hole) for s in studs if s.flange == "head flange")
    head = Flange("head flange", BENCH, FACE, "304", rim, (), holes, TUBE, "end")
    bodies = tuple(Obstacle(name, shape, 0.0) for name, shape in obstacles)
    return replace(m, head=head, studs=studs, obstacles=bodies, ports=())


def box(low: Vec, high: Vec) -> Box:
    """A box along the bench's axes."""
    a, b = array(low), array(high)
    return Box(Frame.facing((a + b) / 2, (0, 0, 1), (0, 1, 0)), vec((b - a) / 2))


def runner_from(number: int, start: Pose, elements) -> Run:
    """A runner that starts at a pose."""
    return Run(f"runner {number}", "runner", TUBE, start, Path(start, tuple(elements)), number=number)


def random_room(rng: np.random.Generator) -> Manifold:
    """A random bench: 2 to 4 studs of one thread, 1 to 3 tubes, a turbo flange with bolts, 1 to 3 bodies."""
    thread, nut = str(rng.choice(THREADS)), str(rng.choice(NUTS))
    tip = float(rng.uniform(16, 34))
    spots = [
        (float(60 * k + rng.uniform(-8, 8)), float(rng.uniform(-25, 25))) for k in range(rng.integers(2, 5))
    ]
    studs = [
        stud(f"S{k + 1}", (*p, FACE), thread=thread, nut=nut, tip=tip, washer=bool(rng.random() < 0.8))
        for k, p in enumerate(spots)
    ]
    runs = tuple(_runner(rng, k + 1) for k in range(rng.integers(1, 4)))
    m = bench(*studs, runs=runs, obstacles=[_body(rng, k) for k in range(rng.integers(1, 4))])
    if rng.random() < 0.3:  # a hollow outline
        rim = contour.polygon(
            [(-60, -45), (240, -45), (240, 45), (150, 45), (150, 10), (60, 12), (60, 45), (-60, 45)]
        )
        m = replace(m, head=replace(m.head, outline=rim))
    return _with_turbo(m, rng, thread)


def _runner(rng: np.random.Generator, number: int) -> Run:
    start = Pose.heading((rng.uniform(-30, 200), rng.choice([-1, 1]) * rng.uniform(15, 60), FACE), (0, 0, 1))
    elements: list[Straight | Bend] = [Straight(float(rng.uniform(10, 60)))]
    for _ in range(rng.integers(1, 4)):
        elements.append(
            Bend(float(rng.uniform(20, 95)), float(rng.uniform(45, 80)), float(rng.uniform(-180, 180)))
        )
        elements.append(Straight(float(rng.uniform(5, 90))))
    return runner_from(number, start, elements)


def _body(rng: np.random.Generator, k: int) -> tuple[str, Box | Cylinder]:
    middle = np.array([rng.uniform(-40, 220), rng.uniform(-80, 80), rng.uniform(45, 150)])
    if rng.random() < 0.5:
        frame = Frame.facing(middle, random_direction(rng), (0, 1, 0))
        return f"box {k}", Box(frame, vec(rng.uniform(5, 45, 3)))
    along = random_direction(rng) * rng.uniform(20, 120)
    return f"rod {k}", Cylinder(vec(middle - along), vec(middle + along), float(rng.uniform(5, 35)))


def _with_turbo(m: Manifold, rng: np.random.Generator, thread: str) -> Manifold:
    """The outlet stub beside the plate and its flange with bolts of a random kind, tool on either side."""
    start = Pose.heading((rng.uniform(0, 180), 160, rng.uniform(80, 140)), random_direction(rng))
    out = Path(start, (Straight(float(rng.uniform(60, 100))),))
    face = Frame.facing(out.end.at, out.end.direction, (0.0, 1.0, 0.0), float(rng.uniform(-180, 180)))
    spots = [(45.0 * i, 45.0 * j) for i, j in ((1, 1), (-1, 1))]
    holes = tuple(Hole(f"T{k + 1}", p, 11.0) for k, p in enumerate(spots))
    rim = contour.hull([(p, 18.0) for p in [*spots, (45.0, -45.0), (-45.0, -45.0)]])
    turbo = Flange("turbo flange", face, 12.0, "304", rim, (round_opening(52.0),), holes, OUTLET, "start")
    kind = str(rng.choice(["stud", "bolt", "socket-head"]))
    here = bool(rng.random() < 0.6)
    axis = vec(array(face.z) * (-1.0 if here else 1.0))
    fixed = [
        stud(h.id, face.out((*h.at, 0.0 if here else 12.0)), flange="turbo flange", kind=kind, axis=axis, hole=11.0,
             thread=thread, nut="hex" if kind == "stud" else None, tip=float(rng.choice([0.0, 25.0])))
        for h in holes
    ]  # fmt: skip
    outlet = replace(m.outlet, start=start, path=out)
    return replace(m, turbo=turbo, outlet=outlet, studs=(*m.studs, *fixed))


def margin_of(m: Manifold, margin: float) -> Manifold:
    """The same bench with another tool margin."""
    return replace(m, limits=replace(LIMITS, tool_margin=margin))
