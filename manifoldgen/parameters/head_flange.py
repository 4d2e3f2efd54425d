"""`head_flange`: the plate on the engine, its ports, studs and outline."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Literal, Self

from pydantic import AfterValidator, Discriminator, Tag, ValidationInfo, model_validator

from manifoldgen.parameters.flange import (
    Drawing,
    HoleSize,
    NutKind,
    Opening,
    Outline,
    Thread,
    catalogued,
)
from manifoldgen.parameters.meant import Pitch, StudLength, Thickness
from manifoldgen.parameters.own import tables
from manifoldgen.parameters.scalars import (
    Block,
    Count,
    Direction,
    Length,
    LengthOrZero,
    Misfit,
    Place,
    Text,
    Vec,
    YesNo,
)


def _out_of_the_face(v: Vec) -> Vec:
    if v[2] <= 0:
        raise ValueError(
            f"[{v[0]:g}, {v[1]:g}, {v[2]:g}] leads into the engine: a port's direction has z above 0"
        )
    return v


def _one_or_each(value: object) -> str:
    return "<each>" if isinstance(value, Mapping) else "<one>"


def _not_zero(value: float) -> float:
    if abs(value) < 1e-3:
        raise ValueError("a pitch of 0 puts all ports in one place")
    return value


PortDirection = Annotated[Direction, AfterValidator(_out_of_the_face)]
PortDirections = Annotated[
    Annotated[PortDirection, Tag("<one>")] | Annotated[Mapping[Count, PortDirection], Tag("<each>")],
    Discriminator(_one_or_each),
]


class Ports(Drawing):
    """The ports: one shape, in a row at `pitch`, at `positions`, or where a drawing has its large openings.

    shape : may be left out with a drawing, whose own shapes then count.  first : which opening of the drawing is
    port 1, the leftmost or the rightmost.  direction : for all or for each.
    """

    shape: Opening | None = None
    pitch: Annotated[Pitch, AfterValidator(_not_zero)] | None = None
    positions: Mapping[Count, Place] | None = None
    first: Literal["left", "right"] = "left"
    direction: PortDirections = (0.0, 0.0, 1.0)

    @model_validator(mode="after")
    def _placed_once(self) -> Self:
        if [self.pitch, self.positions, self.dxf].count(None) != 2:
            raise ValueError(
                "ports stand at a pitch, at positions or in a drawing (dxf): give one of the three"
            )
        if self.shape is None and self.dxf is None:
            raise ValueError("'shape' is missing")
        if self.dxf is None and "first" in self.model_fields_set:
            raise Misfit.at("first belongs to a drawing: name it with dxf, or drop first", "first")
        return self

    def place(self, number: int) -> tuple[float, float]:
        """Centre of port `number` in the flange plane, mm."""
        if self.positions is not None:
            return self.positions[number]
        return ((number - 1) * (self.pitch or 0.0), 0.0)

    def direction_of(self, number: int) -> Vec:
        """The way the gas leaves port `number` (not yet of length 1)."""
        return self.direction[number] if isinstance(self.direction, Mapping) else self.direction


class Studs(Drawing):
    """The head's studs: offsets repeated at each port, or positions, or where a drawing has its small circles.

    length : tip above z = 0, mm.  hole : counts, whatever size the drawing's circles have.
    """

    thread: Thread
    length: StudLength
    nut: NutKind = "all-metal-lock"
    washer: YesNo = True
    hole: HoleSize = "medium"
    per_port: tuple[Place, ...] | None = None
    positions: tuple[Place, ...] | None = None

    @model_validator(mode="after")
    def _placed_once(self, info: ValidationInfo) -> Self:
        if [self.per_port, self.positions, self.dxf].count(None) != 2:
            raise ValueError(
                "studs stand per_port, at positions or in a drawing (dxf): give one of the three"
            )
        for key in ("per_port", "positions"):
            if getattr(self, key) == ():
                raise Misfit.at("the list of studs is empty", key)
        catalogued(tables(info), "stud", self.thread, self.nut, self.hole, washer=self.washer)
        return self


class HeadFlange(Block):
    """The plate on the bench, engine side at z = 0.

    gasket : mm between z = 0 and the head.  fit : tube on the face, or in the flange (socket).
    transition : the port becomes round within the thickness, or in a formed tube of `transition_length` mm.
    """

    thickness: Thickness
    gasket: LengthOrZero = 0.0
    material: Text = "304"
    ports: Ports
    fit: Literal["butt", "socket"] = "butt"
    transition: Literal["flange", "tube"] = "flange"
    transition_length: Length | None = None
    studs: Studs
    outline: Outline | None = None

    @model_validator(mode="after")
    def _holds(self) -> Self:
        if (self.transition == "tube") != (self.transition_length is not None):
            raise ValueError("transition: tube and transition_length go together: give both or neither")
        if self.studs.length <= self.thickness:
            raise Misfit.at(
                f"a stud tip {self.studs.length:g} mm above z = 0 does not come out of a flange of "
                f"{self.thickness:g} mm: measure from the engine-side face",
                "studs",
                "length",
            )
        return self
