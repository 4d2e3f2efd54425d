"""Small hand-made manifolds in pure dataclasses, for tests of everything that reads a `Manifold`.

`manifold()` is a bundle of straight runners that lean towards the collector's axis: ports on a ring in the
flange, each runner one straight in its inlet's own direction, the outlet a straight, a 90° bend and a
straight above it. It has no findings. Tests change one thing of it with `dataclasses.replace`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from manifoldgen.geometry import contour
from manifoldgen.geometry.path import Bend, Element, Path, Straight
from manifoldgen.geometry.pose import BENCH, Frame, Pose
from manifoldgen.geometry.vectors import array
from manifoldgen.manifold.branches import off_bend
from manifoldgen.manifold.collector import make_collector
from manifoldgen.manifold.model import (
    Branch,
    Engine,
    Flange,
    Hole,
    Limits,
    Manifold,
    Opening,
    Port,
    Run,
    Section,
    StockItem,
)

TUBE = Section(42.4, 2.0, "304")
OUTLET = Section(60.3, 2.77, "304")
GATE = Section(38.0, 1.5, "304")
FACE = 12.0  # head flange, mm
LIMITS = Limits(
    gap=12.0, gap_at_merge=0.5, merge_zone=85.0, gap_at_flange=6.0, flange_zone=45.0, ramp=30.0, gap_other=12.0,
    self_gap=8.0, flange_straight=25.0, inlet_straight=15.0, end_tolerance=0.05, tool_margin=2.0, torch_margin=2.0,
    heat_gap=50.0,
)  # fmt: skip
STOCK = (
    StockItem("el90", "elbow", "runner", TUBE.od, TUBE.wall, clr=63.6, angle=90.0, price=11.0),
    StockItem("el45", "elbow", "runner", TUBE.od, TUBE.wall, clr=63.6, angle=45.0, price=9.0),
    StockItem("bar", "straight", "runner", TUBE.od, TUBE.wall, length=1000.0, price=20.0),
    StockItem("out90", "elbow", "outlet", OUTLET.od, OUTLET.wall, clr=76.2, angle=90.0),
)


def round_opening(diameter: float, at: tuple[float, float] = (0.0, 0.0)) -> Opening:
    """A round opening."""
    return Opening("round", diameter, diameter, diameter / 2, at, contour.circle(diameter))


def runner(
    number: int, elements: Sequence[Element], at: Sequence[float] = (0.0, 0.0, FACE), **more: object
) -> Run:
    """A runner that starts at `at`, square to the head flange unless `direction` says otherwise."""
    direction = more.pop("direction", (0.0, 0.0, 1.0))
    start = Pose.heading(array(at), direction)
    path = Path(start, tuple(elements))
    return Run(f"runner {number}", "runner", TUBE, start, path, number=number, **more)  # type: ignore[arg-type]


def manifold(
    cylinders: int = 3, *, length: float = 200.0, half_angle: float = 12.0, **collector: object
) -> Manifold:
    """Straight runners of `length` mm into one merge collector; `collector` goes to the collector."""
    order = tuple(range(1, cylinders + 1))
    rise = length * math.cos(math.radians(half_angle))
    frame = Frame.facing((0.0, 0.0, FACE + rise), (0.0, 0.0, 1.0), (0.0, 1.0, 0.0))
    hub = make_collector(
        name="A", kind="merge", frame=frame, section=TUBE, outlet=OUTLET, order=order, half_angle=half_angle, gap=2.0,
    )  # fmt: skip
    hub = replace(hub, **collector)  # type: ignore[arg-type]
    runs, ports, openings = [], [], []
    for number, inlet in zip(hub.order, hub.inlets, strict=True):
        at = array(inlet.at) - length * array(inlet.direction)
        opening = round_opening(38.0, (float(at[0]), float(at[1])))
        runs.append(runner(number, [Straight(length)], at, direction=inlet.direction, target=inlet))
        ports.append(Port(number, (float(at[0]), float(at[1]), 0.0), inlet.direction, opening))
        openings.append(opening)
    rim = contour.hull([(o.at, 60.0) for o in openings])
    head = Flange("head flange", BENCH, FACE, "304", rim, tuple(openings), (), TUBE, "end")
    top = Pose.heading(frame.out((0.0, 0.0, hub.length)), frame.z)
    outlet = Run(
        "outlet", "outlet", OUTLET, top, Path(top, (Straight(25.0), Bend(90.0, 76.2), Straight(40.0)))
    )
    end = outlet.path.end if outlet.path else top
    face = Frame.facing(end.at, end.direction, (0.0, 0.0, 1.0))
    bolts = tuple(Hole(f"T{k + 1}", (45.0 * i, 45.0 * j), 11.0) for k, (i, j) in enumerate(CORNERS))
    plate = contour.hull([(h.at, 16.0) for h in bolts])
    turbo = Flange("turbo flange", face, 12.0, "304", plate, (round_opening(52.0),), bolts, OUTLET, "start")
    return Manifold(
        name="bundle",
        description="straight runners that lean together",
        engine=Engine(order, (0.0, 1.0, 0.0)),
        head=head,
        turbo=turbo,
        wastegate_flange=None,
        ports=tuple(ports),
        studs=(),
        collectors=(hub,),
        runners=tuple(runs),
        outlet=outlet,
        branches=(),
        obstacles=(),
        limits=LIMITS,
        stock=STOCK,
        equal_within=0.01,
    )


CORNERS = ((1, 1), (-1, 1), (-1, -1), (1, -1))


def with_branch(
    m: Manifold, *, aim: float = 0.0, shift: float = 0.0, tube: Section = GATE, seat: float = 34.0
) -> Manifold:
    """The manifold with a wastegate branch off the outside of the outlet's bend, 60 mm to its flange."""
    path = m.outlet.path
    assert path is not None
    way = off_bend(path, 1, m.outlet.section.radius, aim=aim, shift=shift)
    start = Pose.heading(array(way.root) + way.wall_length * array(way.axis), way.axis)
    run = Run("wastegate branch", "wastegate", tube, start, Path(start, (Straight(60.0),)))
    branch = Branch("outlet", 1, run, way.root, way.axis, way.wall_length, aim, shift, seat)
    face = Frame.facing(Path(start, (Straight(60.0),)).end.at, way.axis, (0.0, 1.0, 0.0))
    rim = contour.circle(90.0)
    flange = Flange("wastegate flange", face, 10.0, "304", rim, (round_opening(35.0),), (), tube, "start")
    return replace(m, branches=(branch,), wastegate_flange=flange)


def alone(m: Manifold, *runs: Run) -> Manifold:
    """Only these runners: no collector, the outlet far away."""
    far = Pose.heading((0.0, 0.0, 5000.0), (0.0, 0.0, 1.0))
    away = Path(far, (Straight(50.0),))
    turbo = replace(m.turbo, frame=Frame.facing(away.end.at, (0.0, 0.0, 1.0), (0.0, 1.0, 0.0)))
    return replace(
        m, runners=runs, collectors=(), outlet=replace(m.outlet, start=far, path=away), turbo=turbo
    )
