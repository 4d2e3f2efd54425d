"""The readings as a net of points: which are known, which are to be found, and what ties them together."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Literal

from manifoldgen.errors import GeometryError, Where
from manifoldgen.geometry.pose import Frame
from manifoldgen.geometry.vectors import Vec, array, unit, vec
from manifoldgen.manifold.head import stud_places
from manifoldgen.manifold.place import place
from manifoldgen.manifold.tube_flange import places
from manifoldgen.parameters.job import Parameters
from manifoldgen.parameters.scalars import AXES
from manifoldgen.parameters.survey import Distance

FACING = "turbo.facing"
IN_FRONT = (150.0, 250.0)  # mm up and out from the ports: where a turbo stands while nobody has measured


@dataclass(frozen=True)
class Measured:
    """A distance between `a` and `b` (mm), or the angle between a direction `a` and an axis `b` (degrees).

    sigma : its standard deviation, in the same unit.  number : its place in the file's block, or -1.
    """

    a: str
    b: str
    value: float
    sigma: float
    unit: Literal["mm", "deg"] = "mm"
    number: int = -1
    where: Where | None = None

    @property
    def label(self) -> str:
        """As it is named to the user."""
        return f"{self.a} to {self.b}"


@dataclass(frozen=True)
class Net:
    """Points known and unknown, and the readings between them.

    fixed : stud tips and port centres.  holes : bolt hole centres in the turbine face's own axes.
    free : names of points to be found.  turbo_open : whether the turbo's pose is to be found.
    guess : the turbine face's axes as typed, or a nominal place in front of the flange.
    tape, gauge : standard deviation of a distance by tape, mm, and of an angle by gauge, degrees.
    """

    fixed: Mapping[str, Vec]
    holes: Mapping[str, tuple[float, float]]
    free: tuple[str, ...]
    turbo_open: bool
    guess: Frame
    up: Vec
    readings: tuple[Measured, ...]
    tape: float
    gauge: float


def make_net(job: Parameters, *, turbo_open: bool) -> Net:
    """The net of a job's survey.

    Raises GeometryError, with its place in the file, for a point or direction that is not there.
    """
    block = job.turbo.flange
    ports = job.head_flange.ports
    studs = stud_places(job)
    fixed: dict[str, Vec] = {
        f"S{i}": (x, y, job.head_flange.studs.length) for i, (x, y) in enumerate(studs, start=1)
    }
    fixed |= {f"P{n}": (*ports.place(n), 0.0) for n in range(1, job.cylinders + 1)}
    spots = places(block.bolts) if block.bolts else ()
    holes = {f"turbo.B{i}": at for i, at in enumerate(spots, start=1)}
    strays = job.tables.defaults("survey")
    readings = tuple(_reading(job, i, {*fixed, *holes}, strays) for i in range(len(job.survey)))
    ends = [end for r in readings if r.unit == "mm" for end in (r.a, r.b)]
    free = tuple(dict.fromkeys(end for end in ends if end not in fixed and end not in holes))
    up = vec(unit(job.engine.up))
    guess = _guess(job, up)
    return Net(fixed, holes, free, turbo_open, guess, up, readings, strays["tape"], strays["gauge"])


def _reading(job: Parameters, i: int, known: set[str], strays: Mapping[str, float]) -> Measured:
    """One reading of the file.  strays : by tape and gauge, as in `Net`."""
    entry, where = job.survey[i], job.where("survey", i)
    if isinstance(entry, Distance):
        for key, end in (("from", entry.from_), ("to", entry.to)):
            if end not in known and re.fullmatch(r"[SP]\d+|turbo\..*", end):
                raise GeometryError(place(job, "survey", i, key) + _no_such_point(job, end, known))
        return Measured(entry.from_, entry.to, entry.mm, strays["tape"], "mm", i, where)
    if entry.angle != FACING:
        raise GeometryError(
            place(job, "survey", i, "angle")
            + f"survey: there is no direction '{entry.angle}': an angle is read on {FACING}"
        )
    return Measured(entry.angle, entry.to, entry.deg, strays["gauge"], "deg", i, where)


def _no_such_point(job: Parameters, name: str, known: Iterable[str]) -> str:
    if name.startswith("turbo.") and job.turbo.flange.bolts is None:
        return f"survey: {name}: the turbo flange is a vband and has no bolt holes to measure to"
    letter = name[: re.match(r"turbo\.B?|[SP]", name).end()]  # type: ignore[union-attr]
    there = [k for k in known if k.startswith(letter)]
    count = len(there)
    if not there:
        return f"survey: there is no point '{name}': the bolt holes are turbo.B1, turbo.B2 …"
    return f"survey: there is no point '{name}': there are {count}, {letter}1 to {letter}{count}"


def _guess(job: Parameters, up: Vec) -> Frame:
    """The typed pose, or a nominal one above and in front of the ports, facing up and away."""
    inlet = job.turbo.inlet
    out = array((0.0, 0.0, 1.0))
    facing = array(inlet.facing) if inlet.facing is not None else out + 0.5 * array(up)
    if not isinstance(inlet.at, str):
        return Frame.facing(inlet.at, facing, up, inlet.clock)
    ports = array([(*job.head_flange.ports.place(n), 0.0) for n in range(1, job.cylinders + 1)]).mean(axis=0)
    return Frame.facing(ports + IN_FRONT[0] * array(up) + IN_FRONT[1] * out, facing, up, inlet.clock)


def axis(name: str) -> Vec:
    """A bench axis by its name."""
    x, y, z = AXES[name]
    return (x, y, z)
