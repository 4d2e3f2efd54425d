"""From parameters to the `Manifold`: everything the file fixes, laid out in the bench frame."""

from __future__ import annotations

from dataclasses import replace

from manifoldgen.errors import GeometryError, PathError, Where
from manifoldgen.geometry.movement import Movement
from manifoldgen.geometry.path import Arc, Path
from manifoldgen.geometry.pose import Frame, Pose
from manifoldgen.geometry.shapes import Cylinder
from manifoldgen.geometry.vectors import Vec, array, unit, vec
from manifoldgen.geometry.written import backward, forward
from manifoldgen.manifold import branches, head, ring, runners, things, tube_flange
from manifoldgen.manifold.collector import make_collector
from manifoldgen.manifold.drawn import Drawings, drawings
from manifoldgen.manifold.model import (
    Branch,
    Collector,
    Engine,
    Flange,
    Limits,
    Manifold,
    Obstacle,
    Origin,
    Port,
    Run,
    Section,
)
from manifoldgen.manifold.place import place
from manifoldgen.manifold.survey.answer import survey
from manifoldgen.manifold.survey.result import SurveyResult
from manifoldgen.manifold.workshop import ModelPrint, Workshop
from manifoldgen.parameters.job import Parameters
from manifoldgen.parameters.tubes import Tube
from manifoldgen.parameters.wastegate import ConeTakeoff, Wastegate
from manifoldgen.public import public

COLLECTOR = "A"
CHECKED_PLACES = (
    "engine.firing_order",
    "head_flange",
    "head_flange.outline",
    "head_flange.studs",
    "turbo.drain",
    "turbo.flange",
    "collector",
    "collector.order",
    "collector.path",
    "runners.length",
    "wastegate",
    "wastegate.aim",
    "wastegate.seat",
    "wastegate.takeoff",
    "wastegate.path",
    "wastegate.flange",
)


@public
def assemble(job: Parameters) -> Manifold:
    """Lay out a job; paths that the file leaves open stay open (`Run.todo`).

    Raises GeometryError or PathError where the numbers make no part, naming both sides and the values.

    >>> import manifoldgen as mg
    >>> mg.assemble(mg.load("cq_scripts/jobs/snow_groomer_three.yaml")).collectors[0].order
    (1, 2, 3)
    """
    job, drawn = drawings(job)
    up = vec(unit(job.engine.up))
    tube = _section(job.tubes.runner)
    ports = head.ports(job, drawn)
    limits = Limits(**job.limits.model_dump())
    surveyed = survey(job)
    outlet, turbo = _outlet(job, up, surveyed, drawn)
    collector, known = _collector(job, ports, outlet, up)
    runs = tuple(_runner(job, p, up, collector if known else None, limits) for p in ports)
    made = Manifold(
        name=job.name,
        description=job.description,
        engine=_engine(job, up),
        head=head.flange(job, tube, drawn),
        turbo=turbo,
        wastegate_flange=None,
        ports=ports,
        studs=(*head.studs(job), *tube_flange.studs(job.turbo.flange, turbo)),
        collectors=(collector,),
        runners=runs,
        outlet=outlet,
        branches=(),
        obstacles=things.obstacles(job, _points(surveyed)),
        limits=limits,
        stock=things.stock(job),
        equal_within=job.runners.length.equal_within,
        where=_places(job),
        unused=_unused(job, surveyed),
        survey=surveyed,
        drain=_drain(job),
        tables=job.tables,
        workshop=_workshop(job),
        drawn=drawn.told,
        origin=_origin(job),
    )
    return _with_branch(made, job, up, drawn) if job.wastegate else made


def _origin(job: Parameters) -> Origin | None:
    return Origin(str(job.path.absolute()), job.sha256) if job.path and job.sha256 else None


def _workshop(job: Parameters) -> Workshop:
    printer = job.print_
    model = ModelPrint(printer.model, printer.runner, printer.flange, printer.dummies)
    return Workshop(
        printer.bed,
        printer.fit,
        printer.wall,
        dict(job.rates),
        job.papers.size,
        job.papers.dxf,
        printer.hole_extra,
        model,
        printer.printer,
        printer.only,
    )


def _engine(job: Parameters, up: Vec) -> Engine:
    e, moves = job.engine, job.engine.movement
    movement = None
    if moves is not None:
        line = moves.about
        movement = Movement(
            moves.shift, moves.roll_deg, *((line.point, vec(unit(line.axis))) if line else ())
        )
    return Engine(e.firing_order, up, e.displacement_cc, e.rpm, e.boost_kpa, movement)


def _runner(job: Parameters, port: Port, up: Vec, collector: Collector | None, limits: Limits) -> Run:
    keys = ("runners", "paths", port.number)
    start = head.start_pose(port, job.head_flange.thickness)
    run = Run(
        name=f"runner {port.number}",
        kind="runner",
        section=_section(job.tubes.runner),
        start=start,
        path=None,
        number=port.number,
        where=job.where(*keys),
    )
    try:
        return runners.fill(run, job.runners.paths[port.number], up, collector, limits)
    except PathError as error:
        raise PathError(place(job, *keys) + str(error)) from None


def _drain(job: Parameters) -> tuple[Vec, Vec] | None:
    drain = job.turbo.drain
    return (vec(drain.from_), vec(drain.to)) if drain else None


def _section(tube: Tube) -> Section:
    return Section(tube.od, tube.wall, tube.material)


def _places(job: Parameters) -> dict[str, Where]:
    found = {key: job.where(*key.split(".")) for key in CHECKED_PLACES}
    return {key: where for key, where in found.items() if where is not None}


def _points(surveyed: SurveyResult | None) -> dict[str, Vec]:
    return {name: p.at for name, p in surveyed.points.items()} if surveyed else {}


def _unused(job: Parameters, surveyed: SurveyResult | None) -> tuple[str, ...]:
    """What the file says and nothing can read: obstacles at points the survey does not place."""
    return tuple(f"obstacle {name}" for name in things.unplaced(job, _points(surveyed)))


def _face(job: Parameters, surveyed: SurveyResult | None) -> tuple[Vec, Vec, float]:
    """Centre, facing and clock of the turbine's own face: surveyed, or as typed."""
    inlet = job.turbo.inlet
    if surveyed and surveyed.turbo:
        return surveyed.turbo.at, surveyed.turbo.facing, surveyed.turbo.clock
    if isinstance(inlet.at, str) or inlet.facing is None:
        raise PathError(
            place(job, "turbo", "inlet") + "turbo.inlet: give at: [x, y, z] and facing: [x, y, z]"
        )
    return inlet.at, inlet.facing, inlet.clock


def _outlet(job: Parameters, up: Vec, surveyed: SurveyResult | None, drawn: Drawings) -> tuple[Run, Flange]:
    """The outlet read backwards from the turbo flange, and that flange."""
    block = job.turbo.flange
    at, towards, clock = _face(job, surveyed)
    facing = unit(towards)
    end = vec(array(at) - (block.depth + block.gasket) * facing)
    try:
        path = backward(end, vec(facing), runners.steps(job.collector.steps, up))
    except PathError as error:
        raise PathError(f"{place(job, 'collector', 'path')}outlet: {error}") from None
    tube = _section(job.tubes.outlet)
    frame = Frame.facing(end, facing, up, clock)
    edge = drawn.outlines.get("turbo")
    flange = tube_flange.make(block, "turbo flange", "T", frame, tube, tables=job.tables, drawn=edge)
    run = Run("outlet", "outlet", tube, path.start, path, where=job.where("collector", "path"))
    return run, flange


def _collector(job: Parameters, ports: tuple[Port, ...], outlet: Run, up: Vec) -> tuple[Collector, bool]:
    """The collector, and whether its clock is known (given, or fitted to hand-written paths)."""
    block = job.collector

    def made(frame: Frame, fit: ring.RingFit) -> Collector:
        try:
            return make_collector(
                name=COLLECTOR,
                kind=block.kind,
                frame=frame,
                section=_section(job.tubes.runner),
                outlet=outlet.section,
                order=fit.order,
                order_rule=block.order if isinstance(block.order, str) else "list",
                clock=fit.clock,
                mirror=fit.mirror,
                half_angle=block.half_angle,
                gap=block.gap,
                stub=None if block.stub == "auto" else float(block.stub),
                length=None if block.length == "auto" else float(block.length),
                cone_half_angle=None if block.cone_half_angle == "auto" else float(block.cone_half_angle),
            )
        except GeometryError as error:
            raise GeometryError(place(job, "collector") + str(error)) from None

    order = job.engine.firing_order if isinstance(block.order, str) else block.order
    start = ring.RingFit(tuple(order), 0.0, block.mirror is True)
    axis = outlet.start.direction
    plain = made(Frame.facing(outlet.start.at, axis, up), start)
    frame = Frame.facing(vec(array(outlet.start.at) - plain.length * array(axis)), axis, up)
    fit = _fitted(job, ports, frame, start, up)
    collector = made(frame, fit or start)
    either = block.mirror == "auto" and (fit is None or block.clock != "auto")
    return replace(collector, clock_free=fit is None, mirror_free=either), fit is not None


def _fitted(
    job: Parameters, ports: tuple[Port, ...], frame: Frame, start: ring.RingFit, up: Vec
) -> ring.RingFit | None:
    """The ring as given or as the hand-written paths ask for; None while paths are auto."""
    block = job.collector
    if block.clock != "auto":
        return replace(start, clock=float(block.clock))
    angles: dict[int, float] = {}
    for p in ports:
        pose = head.start_pose(p, job.head_flange.thickness)
        try:
            end = runners.end_point(job.runners.paths[p.number], pose, up)
        except PathError as error:
            at = place(job, "runners", "paths", p.number)
            raise PathError(f"{at}runner {p.number}: {error}") from None
        if end is None:
            return None
        angles[p.number] = ring.ring_angle(frame, end)
    order = ring.order_by_angle(angles, start.order[0]) if block.order == "free" else start.order
    mirrors = (False, True) if block.mirror == "auto" and block.order != "free" else (start.mirror,)
    return ring.fit_ring(angles, order, mirrors)


def _with_branch(m: Manifold, job: Parameters, up: Vec, drawn: Drawings) -> Manifold:
    """The manifold with its wastegate branch, flange, bolts and valve."""
    block = job.wastegate
    if block is None or job.tubes.wastegate is None:
        return m
    try:
        parent, element, leave = _leave(m, block)
    except (GeometryError, PathError) as error:
        raise GeometryError(f"{place(job, 'wastegate', 'takeoff')}wastegate: {error}") from None
    if leave is None:
        return replace(m, unused=(*m.unused, f"wastegate (its {parent} is still auto)"))
    tube = _section(job.tubes.wastegate)
    start = Pose.heading(array(leave.root) + leave.wall_length * array(leave.axis), leave.axis)
    path = forward(start, runners.steps(block.steps, up))
    run = Run("wastegate branch", "wastegate", tube, start, path, where=job.where("wastegate", "path"))
    frame = Frame.facing(path.end.at, path.end.direction, up)
    edge = drawn.outlines.get("wastegate")
    flange = tube_flange.make(block.flange, "wastegate flange", "W", frame, tube, tables=m.tables, drawn=edge)
    branch = Branch(
        takeoff=parent,
        element=element,
        run=run,
        root=leave.root,
        axis=leave.axis,
        wall_length=leave.wall_length,
        aim=block.aim,
        shift=0.0 if isinstance(block.takeoff, ConeTakeoff) else block.takeoff.shift,
        seat=block.seat,
    )
    return replace(
        m,
        wastegate_flange=flange,
        branches=(branch,),
        studs=(*m.studs, *tube_flange.studs(block.flange, flange)),
        obstacles=(*m.obstacles, *_valve(block, flange, m.tables.defaults("obstacle")["clearance"])),
    )


def _leave(m: Manifold, block: Wastegate) -> tuple[str, int | None, branches.Exit | None]:
    """The parent's name, the bend's index in its path, and the branch axis (None while the path is auto)."""
    left = block.takeoff
    if isinstance(left, ConeTakeoff):
        return "cone", None, branches.off_cone(m.collectors[0], at=left.at, around=left.around, aim=block.aim)
    parent = next(r for r in m.runs if r.name == left.run)
    if parent.path is None:
        return left.run, None, None
    element = _bend(parent.path, left.run, left.bend)
    exit_ = branches.off_bend(parent.path, element, parent.section.radius, aim=block.aim, shift=left.shift)
    return left.run, element, exit_


def _bend(path: Path, name: str, number: int) -> int:
    bends = [i for i, g in enumerate(path.segments) if isinstance(g, Arc)]
    if number > len(bends):
        raise GeometryError(f"there is no bend {number} to leave: the {name} has {len(bends)}")
    return bends[number - 1]


def _valve(block: Wastegate, flange: Flange, clearance: float) -> tuple[Obstacle, ...]:
    """The valve's body beyond its flange.  clearance : kept from it, mm."""
    if block.valve is None:
        return ()
    out = flange.thickness + flange.gasket
    ends = [vec(flange.frame.out((0.0, 0.0, z))) for z in (out, out + block.valve.length)]
    body = Cylinder(ends[0], ends[1], block.valve.diameter / 2)
    return (
        Obstacle(
            "wastegate valve",
            body,
            clearance,
            joined=("wastegate flange", "wastegate branch"),
        ),
    )
