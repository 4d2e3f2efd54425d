"""Random manifold jobs to be routed: `BASE` and `HARD` name the scenes that the figures are measured on.

All ranges are chosen for the test (common practice, no source), mm and degrees, uniform:

    cylinders 3 to 6, in a row         pitch        80-105, at least OD + 38
    tube OD   38, 42.4 or 48.3         dip          0-8: the ports lean down (y)
              (38 or 42.4 from five on)
    stock     90° elbows with CLR 1.5 OD, in two of three scenes also 1.0 OD, in one of three also 2.0 OD
    collector ring centre 130-230 in front of the flange, 150-300 above or below, 0-130 aside;
              flow straight on up or down, sideways, or outwards, each leaned by a normal 0.12;
              half angle 10-14; clock and mirror free; firing order
    outlet    bend 30-70 on CLR 1.3 OD; wastegate branch off that bend in two of three scenes
    studs     M8, one each side of every port, staggered
    obstacles block of turbine housing behind the turbo flange, frame rail beyond the collector, a post beside
              it, bonnet and floor; hard: a cross member across the way as well

Nothing says that a scene can be built: what none of five seeds solves with ten times the budget does not count.
Nor are the fixed parts made to fit each other: branch and wastegate flange may run into the turbo flange or the
turbine housing whatever the runners do. `fixed_faults` measures that before anything is routed.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from manifoldgen.checks import flange_room, obstacle_gap, other_gap, wastegate_area
from manifoldgen.checks.finding import Finding
from manifoldgen.geometry.path import Path, Straight
from manifoldgen.geometry.pose import Frame, Pose
from manifoldgen.geometry.vectors import Array, array, rotated, unit, vec
from manifoldgen.geometry.written import WrittenBend, forward
from manifoldgen.manifold.assemble import assemble
from manifoldgen.manifold.collector import make_collector
from manifoldgen.manifold.model import Manifold, Section
from manifoldgen.parameters.load import load

FIRING = {3: [1, 2, 3], 4: [1, 3, 4, 2], 5: [1, 2, 4, 5, 3], 6: [1, 5, 3, 6, 2, 4]}
BASE = tuple((n, seed) for n in (3, 4, 5, 6) for seed in range(101, 111))
HARD = tuple((n, seed) for n in (3, 4, 5, 6) for seed in range(201, 206))
FACE = 12.0  # head flange, mm
UP = (0.0, 1.0, 0.0)


@dataclass(frozen=True)
class Scene:
    """One job by its cylinders and seed; hard ones have a cross member in the way."""

    cylinders: int
    seed: int
    hard: bool = False

    @property
    def name(self) -> str:
        """What the tables call it."""
        return f"{'hard' if self.hard else 'base'}-{self.cylinders}-{self.seed}"

    @property
    def job(self) -> dict[str, Any]:
        """The parameter file as a mapping, all runners auto."""
        return _job(self)

    @property
    def manifold(self) -> Manifold:
        """The job laid out, its runners still to be found."""
        return assemble(load(self.job))


def fixed_faults(m: Manifold) -> tuple[Finding, ...]:
    """What no route can mend: fixed parts in each other, and a branch's mouth off its bend.

    Runners are left out, and so is what depends on how the collector is turned.
    """
    fixed = replace(m, runners=())
    found = [f for check in (other_gap.check, obstacle_gap.check, flange_room.check) for f in check(fixed)]
    inside = [f for f in found if f.value is not None and f.value < 0 and "collector" not in f.parts]
    return (*inside, *wastegate_area.check(fixed))


def without_branch(m: Manifold) -> Manifold:
    """The same manifold without wastegate branch, flange, their studs and the valve."""
    if m.wastegate_flange is None:
        return m
    gate = m.wastegate_flange.name
    return replace(
        m,
        branches=(),
        wastegate_flange=None,
        studs=tuple(s for s in m.studs if s.flange != gate),
        obstacles=tuple(o for o in m.obstacles if gate not in o.joined),
    )


def base() -> list[Scene]:
    """The forty base scenes."""
    return [Scene(n, seed) for n, seed in BASE]


def hard() -> list[Scene]:
    """The twenty hard scenes."""
    return [Scene(n, seed, hard=True) for n, seed in HARD]


def _job(scene: Scene) -> dict[str, Any]:
    n = scene.cylinders
    rng = np.random.default_rng([n, scene.seed])
    od = float(rng.choice([38.0, 42.4, 48.3] if n < 5 else [38.0, 42.4]))
    pitch = max(float(rng.uniform(80, 105)), od + 38)
    dip = math.radians(rng.uniform(0, 8))
    clrs = [1.5 * od]
    clrs += [1.0 * od] if rng.random() < 2 / 3 else []
    clrs += [2.0 * od] if rng.random() < 1 / 3 else []
    width = (n - 1) * pitch
    vertical, side = float(rng.choice([-1, 1])), float(rng.choice([-1, 1]))
    centre = np.array((
        width / 2 + side * rng.uniform(0, 130), vertical * rng.uniform(150, 300), FACE + rng.uniform(130, 230),
    ))  # fmt: skip
    flows = [(0.0, vertical, 0.25), (side, 0.35 * vertical, 0.1), (0.3 * side, 0.6 * vertical, 0.8)]
    flow = unit(np.array(flows[int(rng.integers(3))]) + rng.normal(0, 0.12, 3))
    half_angle = float(rng.uniform(10, 14))
    outlet_od = 60.3 if od > 40 else 50.8
    tubes = Section(od, 2.0, "304"), Section(outlet_od, 2.0, "304")
    outlet = _outlet(rng, n, tubes, half_angle, Frame.facing(centre, flow, UP))
    end, facing = array(outlet.end.at), array(outlet.end.direction)
    gated = rng.random() < 2 / 3
    bend = outlet.bends[0]
    before = outlet.segments[0].end
    toward = unit(rotated(before.normal, before.direction, bend.roll))
    obstacles = _obstacles(scene, centre, vertical, side, width)
    job: dict[str, Any] = {
        "format": 1,
        "name": scene.name,
        "engine": {"firing_order": FIRING[n], "up": list(UP)},
        "head_flange": {
            "thickness": FACE, "material": "304",
            "ports": {"shape": {"round": od - 4}, "pitch": pitch,
                      "direction": [0.0, -math.sin(dip), math.cos(dip)]},
            "studs": {"thread": "M8", "length": 36, "nut": "all-metal-lock",
                      "positions": _studs(n, pitch, od)},
            "outline": {"margin": 10},
        },
        "tubes": {
            "runner": {"od": od, "wall": 2.0, "material": "304"},
            "outlet": {"od": outlet_od, "wall": 2.0, "material": "304"},
            "wastegate": {"od": 38.0, "wall": 1.6, "material": "304"},
        },
        "stock": [
            *({"name": f"el90 {clr:.0f}", "kind": "elbow", "tube": "runner", "clr": clr, "angle": 90}
              for clr in sorted(clrs)),
            {"name": "bar", "kind": "straight", "tube": "runner", "length": 1000},
        ],
        "turbo": {
            "inlet": {"at": list(vec(end + 12.0 * facing)), "facing": list(vec(facing))},
            "flange": {"opening": {"round": outlet_od - 6}, "thickness": 12,
                       "bolts": {"kind": "bolt", "side": "manifold", "thread": "M10", "circle": 105, "count": 4,
                                 "start": 45}},
            "body": [{"name": "turbine housing", "clearance": 10, "cylinder": {
                "from": list(vec(end + 30.0 * facing)), "to": list(vec(end + 100.0 * facing)), "radius": 70}}],
        },
        "collector": {
            "kind": "merge", "half_angle": half_angle, "gap": 2, "order": "firing", "clock": "auto", "mirror": "auto",
            "path": [{"straight": 25}, {"bend": bend.angle, "clr": bend.clr, "toward": list(vec(toward))},
                     {"straight": 20}],
        },
        "runners": {"length": {"equal_within": 0.01}, "paths": dict.fromkeys(range(1, n + 1), "auto")},
        "obstacles": obstacles,
    }  # fmt: skip
    if gated:
        job["wastegate"] = {
            "seat": 30, "takeoff": {"run": "outlet", "bend": 1, "shift": 0}, "aim": 0, "path": [{"straight": 60}],
            "flange": {"opening": {"round": 32}, "thickness": 10,
                       "bolts": {"kind": "stud", "side": "manifold", "thread": "M8", "circle": 62, "count": 4,
                                 "start": 45}},
            "valve": {"diameter": 80, "length": 100},
        }  # fmt: skip
    else:
        del job["tubes"]["wastegate"]
    return job


def _outlet(
    rng: np.random.Generator, n: int, tubes: tuple[Section, Section], half_angle: float, frame: Frame
) -> Path:
    """The outlet from the collector's end to the turbo flange's tube side."""
    collector = make_collector(
        name="A", kind="merge", frame=frame, section=tubes[0], outlet=tubes[1], order=range(1, n + 1),
        half_angle=half_angle, gap=2.0,
    )  # fmt: skip
    start = Pose.heading(frame.out((0.0, 0.0, collector.length)), frame.z)
    angle, roll = float(rng.uniform(30, 70)), float(rng.uniform(-180, 180))
    return forward(start, (Straight(25.0), WrittenBend(angle, 1.3 * tubes[1].od, roll), Straight(20.0)))


def _studs(n: int, pitch: float, od: float) -> list[list[float]]:
    """One stud each side of every port, staggered up and down."""
    height = od / 2 + 9
    return [[(k - 0.5) * pitch, height if k % 2 else -height] for k in range(n + 1)]


def _obstacles(
    scene: Scene, centre: Array, vertical: float, side: float, width: float
) -> list[dict[str, Any]]:
    """Bonnet, floor, frame rail, post, and across the way of hard scenes a cross member."""
    reach, x, y, z = width / 2 + 170, width / 2, float(centre[1]), float(centre[2])
    far = z + 240

    def box(name: str, low: tuple[float, float, float], high: tuple[float, float, float]) -> dict[str, Any]:
        low, high = vec(np.minimum(low, high)), vec(np.maximum(low, high))
        return {"name": name, "clearance": 10, "box": {"from": list(low), "to": list(high)}}

    made = [
        box("bonnet", (x - reach, y + vertical * 330, 0), (x + reach, y + vertical * 350, far)),
        box("floor", (x - reach, -vertical * 150, 60), (x + reach, -vertical * 170, far)),
        box("frame rail", (x - reach, -vertical * 90, z + 150), (x + reach, -vertical * 30, z + 200)),
        {"name": "post", "clearance": 10, "cylinder": {
            "from": [x - side * (reach - 40), y - vertical * 170, z + 60],
            "to": [x - side * (reach - 60), y + vertical * 90, z + 40], "radius": 30}},
    ]  # fmt: skip
    if scene.hard:
        cy, cz = 0.55 * y, FACE + 0.5 * (z - FACE)
        made.append(
            box("cross member", (x - 0.7 * reach, cy - 25, cz - 25), (x + 0.7 * reach, cy + 25, cz + 25))
        )
    return made
