"""`tubes`: the sections of runners, outlet and wastegate branch.

A wall may be written by its gauge (``16 ga``). A bare number that reads like inches or a gauge (``od: 1.75``,
``wall: 0.065``, ``wall: 16``), a size or a schedule of pipe is refused with what was surely meant.
"""

from __future__ import annotations

import re
from typing import Annotated, Any, Self

from pydantic import BeforeValidator, ValidationInfo, WithJsonSchema, model_validator

from manifoldgen import units
from manifoldgen.parameters import meant
from manifoldgen.parameters.own import tables
from manifoldgen.parameters.scalars import LENGTH, LENGTH_SCHEMA, Block, Misfit, Text, read_length

_GAUGE = re.compile(r"(\d+)\s*(?:ga|gauge|bwg)\.?", re.IGNORECASE)
_SAME = 0.02  # mm
_bare_wall = meant.sized("a wall")
WALL: dict[str, Any] = {
    "anyOf": [*LENGTH["anyOf"], {"type": "string", "pattern": "^[0-9]+ ?(ga|gauge|bwg)$"}],
    "description": "mm, or text with a unit: '1.65 mm', '0.065 in', '16 ga'",
}


def _od(value: object, info: ValidationInfo) -> float:
    """An outside diameter, mm; a bare number of inches that tubes are sold by is a slip, and so is a size of pipe."""
    if isinstance(value, str) and (told := meant.pipe_size(value, tables(info))):
        raise ValueError(told)
    od = read_length(value)
    sold = tables(info).row("tube_stock", "od", "inch")["values"]
    if meant.bare(value) and any(abs(od * units.MM["in"] - v) < _SAME for v in sold):
        raise ValueError(meant.doubted("a tube", od, meant.in_inches(od)))
    return od


def _wall(value: object, info: ValidationInfo) -> float:
    """A wall, mm; by gauge, too; a bare number that can only be inches or a gauge is a slip."""
    gauges = {k: float(row["wall"]) for k, row in tables(info).table("tube_stock", "gauge").items()}
    if isinstance(value, str) and (found := _GAUGE.fullmatch(value.strip())):
        if found[1] not in gauges:
            raise ValueError(f"'{value}' is no gauge of the catalogue: use {', '.join(gauges)}, or mm")
        return gauges[found[1]]
    if isinstance(value, str) and (told := meant.schedule(value, info.data.get("od"), tables(info))):
        raise ValueError(told)
    wall = _bare_wall(value)
    if meant.bare(value) and f"{wall:g}" in gauges:
        raise ValueError(meant.doubted("a wall", wall, f"'{wall:g} ga' ({gauges[f'{wall:g}']:.2f} mm)"))
    return wall


Od = Annotated[float, BeforeValidator(_od), LENGTH_SCHEMA]
Wall = Annotated[float, BeforeValidator(_wall), WithJsonSchema(WALL)]


class Tube(Block):
    """A round tube, mm."""

    od: Od
    wall: Wall
    material: Text = "304"

    @model_validator(mode="after")
    def _hollow(self) -> Self:
        if self.wall >= self.od / 2:
            raise Misfit.at(f"a wall of {self.wall:g} mm leaves no bore in a tube of {self.od:g} mm", "wall")
        return self


class Tubes(Block):
    """One section each for the runners, the outlet and the wastegate branch."""

    runner: Tube
    outlet: Tube
    wastegate: Tube | None = None
