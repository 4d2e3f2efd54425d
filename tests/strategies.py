"""Random parts shared by tests and sweeps; every function takes a numpy generator, so a seed names a case."""

from __future__ import annotations

import numpy as np

from manifoldgen.geometry.path import Bend, Path, Straight
from manifoldgen.geometry.pose import Frame, Pose
from manifoldgen.geometry.shapes import Tube
from manifoldgen.geometry.vectors import vec
from manifoldgen.manifold.collector import (
    cone_length,
    envelope_radius,
    join_depth,
    make_collector,
    ring_radius,
)
from manifoldgen.manifold.model import Collector, Section


def random_direction(rng: np.random.Generator) -> np.ndarray:
    """A direction, even over the sphere."""
    v = rng.normal(size=3)
    return v / np.linalg.norm(v)


def random_frame(rng: np.random.Generator) -> Frame:
    """A tilted frame within 300 mm of the origin."""
    return Frame.facing(rng.uniform(-300, 300, 3), random_direction(rng), (0, 1, 0), rng.uniform(-180, 180))


def random_section(rng: np.random.Generator, low: float = 25.0, high: float = 76.0) -> Section:
    """A tube of OD `low` to `high` mm with a wall of 1.2 to 3 mm."""
    return Section(float(rng.uniform(low, high)), float(rng.uniform(1.2, 3.0)), "304")


def random_path(rng: np.random.Generator, od: float, bends: int | None = None) -> Path:
    """A tangent path of 1 to 6 bends with CLR 0.6 to 3 OD; some straights are 0; it may cross itself."""
    elements: list[Straight | Bend] = [Straight(float(rng.uniform(5, 80)))]
    for _ in range(bends or int(rng.integers(1, 7))):
        elements.append(
            Bend(float(rng.uniform(5, 150)), float(od * rng.uniform(0.6, 3)), float(rng.uniform(-180, 180)))
        )
        elements.append(Straight(float(rng.choice([0.0, rng.uniform(2, 120)]))))
    return Path(Pose.heading(rng.uniform(-200, 200, 3), random_direction(rng)), tuple(elements))


def random_collector(rng: np.random.Generator) -> Collector:
    """Either kind, 2 to 8 inlets, any angle of its kind, gap 0.5 to 8, runner OD 25 to 76 x 1.2 to 3,
    outlet OD 1 to 2 times the runner's x 1.2 to 3, any allowed length, tilted frame.

    A third each: everything auto, a cone angle of 2° to 20°, a length from the least to 2.5 times it.
    """  # noqa: D205
    kind = "merge" if rng.random() < 0.5 else "bundle"
    n = int(rng.integers(2, 9))
    half_angle = float(rng.uniform(5, 25)) if kind == "merge" else float(rng.choice([0, rng.uniform(0, 25)]))
    gap = float(rng.uniform(0.5, 8))
    section = random_section(rng)
    outlet = Section(section.od * float(rng.uniform(1, 2)), float(rng.uniform(1.2, 3)), "304")
    given: dict[str, float] = {}
    choice = rng.integers(3)
    if choice == 1:
        given["cone_half_angle"] = float(rng.uniform(2, 20))
    elif choice == 2:
        ring = ring_radius(n, section.od, half_angle, gap)
        depth = join_depth(ring, section, half_angle) if kind == "merge" else 0.0
        envelope = envelope_radius(ring, section, half_angle, depth)
        least = depth + cone_length(envelope, section, outlet, half_angle, steep=20)
        given["length"] = float(least * rng.choice([1.0, rng.uniform(1, 2.5)]))
    return make_collector(
        name="collector",
        kind=kind,
        frame=random_frame(rng),
        section=section,
        outlet=outlet,
        order=[int(i) for i in rng.permutation(n) + 1],
        half_angle=half_angle,
        gap=gap,
        clock=float(rng.uniform(-180, 180)),
        mirror=bool(rng.random() < 0.5),
        **given,
    )


def random_tube(rng: np.random.Generator, spread: float = 150.0) -> Tube:
    """A tube of OD 30 to 60 with 1 to 4 bends of CLR 1 to 2 OD; it may begin or end in a bend."""
    od = float(rng.uniform(30, 60))
    elements: list[Straight | Bend] = []
    if rng.random() < 0.7:
        elements.append(Straight(float(rng.uniform(2, 100))))
    for _ in range(int(rng.integers(1, 5))):
        elements.append(
            Bend(float(rng.uniform(10, 110)), float(od * rng.uniform(1, 2)), float(rng.uniform(-180, 180)))
        )
        if rng.random() < 0.75:
            elements.append(Straight(float(rng.uniform(2, 100))))
    return Tube(
        Path(Pose.heading(rng.normal(size=3) * spread, random_direction(rng)), tuple(elements)), od / 2
    )


def random_tube_pair(rng: np.random.Generator, parallel: bool) -> tuple[Tube, Tube]:
    """Two tubes; where `parallel`, the same path twice, a gap of 1 to 30 mm aside of its start."""
    a = random_tube(rng)
    if not parallel:
        return a, random_tube(rng)
    start = a.path.start
    aside = np.cross(start.direction, random_direction(rng))
    aside *= (2 * a.radius + rng.uniform(1, 30)) / np.linalg.norm(aside)
    moved = Pose(vec(np.array(start.at) + aside), start.direction, start.normal)
    return a, Tube(Path(moved, a.path.elements), a.radius)
