"""The head flange on the bench: ports, studs, and the plate round them."""

from __future__ import annotations

import math

from manifoldgen.catalogue import Catalogue
from manifoldgen.geometry.pose import BENCH, Pose
from manifoldgen.geometry.vectors import Vec, unit, vec
from manifoldgen.manifold.drawn import HEAD, NONE, Drawings
from manifoldgen.manifold.flanges import distinct, opening, outline
from manifoldgen.manifold.model import Flange, Hole, Port, Section, Stud
from manifoldgen.parameters.flange import HoleSize
from manifoldgen.parameters.job import Parameters

NAME = "head flange"
Z: Vec = (0.0, 0.0, 1.0)


def ports(job: Parameters, drawn: Drawings = NONE) -> tuple[Port, ...]:
    """The ports, in cylinder order.  drawn : what drawings give."""
    block = job.head_flange.ports
    made = []
    for n in range(1, job.cylinders + 1):
        x, y = block.place(n)
        direction = vec(unit(block.direction_of(n)))
        shape = drawn.openings[n - 1] if block.shape is None else opening(block.shape, (x, y))
        made.append(Port(n, (x, y, 0.0), direction, shape))
    return tuple(made)


def start_pose(port: Port, thickness: float) -> Pose:
    """Where the port's runner starts: on the flange's outer face, along the port's direction."""
    return Pose.heading((port.at[0], port.at[1], thickness), port.direction)


def stud_places(job: Parameters) -> tuple[tuple[float, float], ...]:
    """Every stud's place once, in the order written (port by port)."""
    block = job.head_flange.studs
    if block.positions is not None:
        return distinct(block.positions)
    spots = [job.head_flange.ports.place(n) for n in range(1, job.cylinders + 1)]
    return distinct((x + dx, y + dy) for x, y in spots for dx, dy in block.per_port or ())


def hole_diameter(tables: Catalogue, thread: str, size: HoleSize) -> float:
    """A hole's diameter in mm, from its fit in the job's catalogue or as written."""
    return tables.hole(thread, size) if isinstance(size, str) else float(size)


def flange(job: Parameters, tube: Section, drawn: Drawings = NONE) -> Flange:
    """The head flange; z = 0 is its engine side, the tubes stand on z = thickness."""
    block = job.head_flange
    placed = ports(job, drawn)
    openings = tuple(p.opening for p in placed)
    diameter = hole_diameter(job.tables, block.studs.thread, block.studs.hole)
    holes = tuple(Hole(f"S{i}", at, diameter) for i, at in enumerate(stud_places(job), start=1))
    foot = max(tube.radius / p.direction[2] for p in placed)  # a tilted tube stands on an ellipse
    margin = job.tables.defaults("flange")["margin"]
    return Flange(
        name=NAME,
        frame=BENCH,
        thickness=block.thickness,
        material=block.material,
        outline=drawn.outlines.get(HEAD) or outline(block.outline, openings, holes, foot, margin),
        openings=openings,
        holes=holes,
        tube=tube,
        tube_side="end",
        fit=block.fit,
        transition=block.transition,
        transition_length=block.transition_length or 0.0,
        gasket=block.gasket,
    )


def studs(job: Parameters) -> tuple[Stud, ...]:
    """S1 … of the head flange; the nut sits on the outer face."""
    block, face = job.head_flange.studs, job.head_flange.thickness
    diameter = hole_diameter(job.tables, block.thread, block.hole)
    return tuple(
        Stud(
            id=f"S{i}",
            flange=NAME,
            kind="stud",
            at=(x, y, face),
            axis=Z,
            thread=block.thread,
            tip=block.length - face,
            nut=block.nut,
            washer=block.washer,
            hole=diameter,
        )
        for i, (x, y) in enumerate(stud_places(job), start=1)
    )


def tilt(port: Port) -> float:
    """Degrees between the port's direction and the square of the flange."""
    return math.degrees(math.acos(min(1.0, port.direction[2])))
