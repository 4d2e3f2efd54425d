"""`Parameters`: the whole parameter file, checked, with the place of every value."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Annotated, Literal, Self

from pydantic import BeforeValidator, Field, PrivateAttr, model_validator

from manifoldgen import units
from manifoldgen.errors import Where
from manifoldgen.parameters.collector import Collector
from manifoldgen.parameters.engine import Engine
from manifoldgen.parameters.flange import Drawing, TubeFlange
from manifoldgen.parameters.head_flange import HeadFlange
from manifoldgen.parameters.obstacles import Obstacle
from manifoldgen.parameters.runners import Runners, WrittenPath
from manifoldgen.parameters.scalars import Misfit, Text, matching, only_one
from manifoldgen.parameters.survey import Distance, Measured
from manifoldgen.parameters.tubes import Tubes
from manifoldgen.parameters.turbo import Turbo
from manifoldgen.parameters.wastegate import BendTakeoff, Wastegate
from manifoldgen.parameters.workshop import Shop

NAME = "[a-z0-9][a-z0-9-]{0,63}"
Key = str | int


def _format(value: object) -> object:
    if isinstance(value, bool) or value != 1:
        raise ValueError(f"{units.named(value)} is no format this version reads: write format: 1")
    return 1


class Parameters(Shop):
    """One job: what the user wrote, plain numbers (mm, degrees), frozen."""

    format: Annotated[Literal[1], BeforeValidator(_format)]
    name: Annotated[
        str, matching(NAME, "use small letters, digits and -, at most 64"), Field(pattern=f"^{NAME}$")
    ]
    description: str = ""
    shop: Text | None = None
    engine: Engine
    head_flange: Annotated[HeadFlange, only_one("head flanges")]
    tubes: Tubes
    turbo: Turbo
    collector: Annotated[Collector, only_one("collectors")]
    wastegate: Annotated[Wastegate | None, only_one("wastegates")] = None
    runners: Runners
    obstacles: tuple[Obstacle, ...] = ()
    survey: tuple[Measured, ...] = ()

    _path: Path | None = PrivateAttr(default=None)
    _sha256: str = PrivateAttr(default="")
    _places: Mapping[tuple[Key, ...], Where] = PrivateAttr(default_factory=dict)

    @property
    def cylinders(self) -> int:
        """How many cylinders."""
        return self.engine.cylinders

    @property
    def path(self) -> Path | None:
        """The file it came from, or None."""
        return self._path

    @property
    def sha256(self) -> str:
        """Of what stood in its file; empty where it was not read from one."""
        return self._sha256

    @property
    def base(self) -> Path:
        """The folder that files named in the job are relative to."""
        return self._path.parent if self._path else Path()

    def where(self, *keys: Key) -> Where | None:
        """Line and column of the value at `keys` as written in the file; of the block around it if it is a default.

        None for a job that came from a mapping.
        """
        for n in range(len(keys), 0, -1):
            if keys[:n] in self._places:
                return self._places[keys[:n]]
        return None

    def placed(self, path: Path | None, places: Mapping[tuple[Key, ...], Where], sha256: str) -> Self:
        """The same job, knowing its file, what stood in it and the place of every value (the loader's last step)."""
        copy = self.model_copy()
        copy._path = path
        copy._sha256 = sha256
        copy._places = places
        return copy

    def drawings(self) -> Iterator[tuple[tuple[Key, ...], Drawing]]:
        """Every block that may name a drawing, with its keys."""
        head = self.head_flange
        yield ("head_flange", "ports"), head.ports
        yield ("head_flange", "studs"), head.studs
        if head.outline is not None:
            yield ("head_flange", "outline"), head.outline
        flanges: list[tuple[str, TubeFlange]] = [("turbo", self.turbo.flange)]
        if self.wastegate is not None:
            flanges.append(("wastegate", self.wastegate.flange))
        for name, flange in flanges:
            if flange.bolts is not None:
                yield (name, "flange", "bolts"), flange.bolts
            if flange.outline is not None:
                yield (name, "flange", "outline"), flange.outline

    @model_validator(mode="after")
    def _belongs_together(self) -> Self:
        found = [*_counted(self), *_referred(self)]
        if found:
            raise Misfit(*found)
        return self


Problem = tuple[tuple[Key, ...], str]


def _counted(job: Parameters) -> Iterator[Problem]:
    """Everything that is given per cylinder has one for each."""
    n, ports = job.cylinders, job.head_flange.ports
    at = ("head_flange", "ports")
    if ports.positions is not None:
        yield from _one_each((*at, "positions"), ports.positions, n, "a position")
    if isinstance(ports.direction, Mapping):
        yield from _one_each((*at, "direction"), ports.direction, n, "a direction")
    yield from _one_each(("runners", "paths"), job.runners.paths, n, "a path")
    order = job.collector.order
    if not isinstance(order, str) and sorted(order) != list(range(1, n + 1)):
        told = ", ".join(str(k) for k in order[:20])
        yield (
            ("collector", "order"),
            f"[{told}] is no order around the inlet circle: each cylinder from 1 to {n} stands in it once",
        )


def _one_each(at: tuple[Key, ...], given: Mapping[int, object], n: int, what: str) -> Iterator[Problem]:
    missing = [k for k in range(1, n + 1) if k not in given]
    if missing:
        told = ", ".join(str(k) for k in missing[:20])
        yield at, f"{what} is missing for cylinder {told} (engine.firing_order has {n} cylinders)"
    for k in given:
        if k > n:
            yield (*at, k), f"there is no cylinder {k}: engine.firing_order has {n}"


def _referred(job: Parameters) -> Iterator[Problem]:
    """What one block says about another is there."""
    closing = [k for k, p in job.runners.paths.items() if isinstance(p, WrittenPath) and p.closes]
    if closing and job.collector.clock == "auto":
        yield (
            ("runners", "paths", closing[0]),
            "close needs to know where the inlet is: give collector.clock in degrees instead of auto",
        )
    if job.wastegate is not None:
        if job.tubes.wastegate is None:
            yield ("tubes",), "'wastegate' is missing: the wastegate branch needs its tube {od: …, wall: …}"
        off = job.wastegate.takeoff
        if isinstance(off, BendTakeoff) and off.cylinder > job.cylinders:
            yield (
                ("wastegate", "takeoff", "run"),
                f"there is no {off.run}: engine.firing_order has {job.cylinders} cylinders",
            )
    names: set[str] = set()
    for i, item in enumerate(job.stock):
        if item.name in names:
            yield ("stock", i, "name"), f"the stock has two items called '{item.name}': name one differently"
        names.add(item.name)
    yield from _named_points(job)


def _named_points(job: Parameters) -> Iterator[Problem]:
    """Points given by name are measured in the survey."""
    measured = {end for entry in job.survey if isinstance(entry, Distance) for end in (entry.from_, entry.to)}
    for block, obstacles in ((("obstacles",), job.obstacles), (("turbo", "body"), job.turbo.body)):
        for i, obstacle in enumerate(obstacles):
            for key in ("box", "cylinder"):
                shape = getattr(obstacle, key)
                for end in ("from", "to") if shape is not None else ():
                    point = getattr(shape, "from_" if end == "from" else end)
                    if isinstance(point, str) and point not in measured:
                        yield (
                            (*block, i, key, end),
                            f"'{point}' is not measured in the survey: give [x, y, z] or measure it",
                        )
