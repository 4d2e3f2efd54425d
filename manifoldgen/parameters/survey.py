"""`survey`: distances by tape and angles by gauge instead of typed coordinates."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Self

from pydantic import BeforeValidator, Discriminator, Field, Tag, model_validator

from manifoldgen import units
from manifoldgen.parameters.scalars import ANGLE_SCHEMA, AxisName, Block, Length, PointName, within


class Distance(Block):
    """A distance between two named points: S1… stud tips, P1… ports, turbo.B1… bolt holes, or own names."""

    from_: PointName = Field(alias="from")
    to: PointName
    mm: Length

    @model_validator(mode="after")
    def _two_points(self) -> Self:
        if self.from_ == self.to:
            raise ValueError(f"a distance from {self.from_} to itself says nothing")
        return self


class Reading(Block):
    """A gauge reading: the angle between a named direction (``turbo.facing``) and a bench axis."""

    angle: PointName
    to: AxisName
    deg: Annotated[float, BeforeValidator(within(units.angle, "°", 0, 180)), ANGLE_SCHEMA]


def _kind(value: object) -> str:
    angle = isinstance(value, Reading) or (
        isinstance(value, Mapping) and ("angle" in value or "deg" in value)
    )
    return "<angle>" if angle else "<distance>"


Measured = Annotated[
    Annotated[Distance, Tag("<distance>")] | Annotated[Reading, Tag("<angle>")], Discriminator(_kind)
]
