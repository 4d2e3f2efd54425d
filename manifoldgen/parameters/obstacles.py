"""`obstacles` (and the turbo's body): rough shapes and scans to stay clear of."""

from __future__ import annotations

from typing import Literal, Self

from pydantic import Field, ValidationInfo, model_validator

from manifoldgen.parameters import own
from manifoldgen.parameters.meant import SHAPES
from manifoldgen.parameters.scalars import (
    Block,
    Length,
    LengthOrZero,
    Misfit,
    PointOrName,
    Positive,
    Text,
    YesNo,
)


class Box(Block):
    """A box along the bench axes between two opposite corners."""

    from_: PointOrName = Field(alias="from")
    to: PointOrName

    @model_validator(mode="after")
    def _has_size(self) -> Self:
        if self.from_ == self.to:
            raise ValueError("a box between a point and itself has no size")
        return self


class Cylinder(Block):
    """A cylinder between two points, flat ends."""

    from_: PointOrName = Field(alias="from")
    to: PointOrName
    radius: Length

    @model_validator(mode="after")
    def _has_size(self) -> Self:
        if self.from_ == self.to:
            raise ValueError("a cylinder between a point and itself has no direction")
        return self


class Obstacle(Block):
    """Something to stay clear of by `clearance` mm.  mounted : moves with the engine or stays with the chassis.

    scale : factor that brings a mesh to mm (25.4 for inches); given, its size is not doubted.
    """

    name: Text
    box: Box | None = None
    cylinder: Cylinder | None = None
    mesh: Text | None = None
    scale: Positive | None = None
    clearance: LengthOrZero = own.SHOWN["obstacle"]["clearance"]
    heat_sensitive: YesNo = False
    mounted: Literal["engine", "chassis"] = "engine"

    @model_validator(mode="before")
    @classmethod
    def _defaults(cls, data: object, info: ValidationInfo) -> object:
        """What the file does not say is the catalogue's, with the shop's own rows."""
        return own.filled(data, info, "obstacle")

    @model_validator(mode="after")
    def _one_shape(self) -> Self:
        if sum(getattr(self, shape) is not None for shape in SHAPES) != 1:
            raise ValueError("an obstacle is one of box: {…}, cylinder: {…} and mesh: file")
        if self.scale is not None and self.mesh is None:
            raise Misfit.at("scale belongs to a mesh: give box and cylinder in the right unit", "scale")
        return self
