"""`collector`: how the runners meet, and the outlet path to the turbo flange."""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import BeforeValidator, Discriminator, Tag, model_validator

from manifoldgen import units
from manifoldgen.parameters.path import AnyStep, BendStep, Step, StraightStep, misfits
from manifoldgen.parameters.scalars import (
    ANGLE_SCHEMA,
    AUTO_ANGLE_SCHEMA,
    AutoAngle,
    AutoLength,
    AutoLengthOrZero,
    AutoYesNo,
    Block,
    Count,
    LengthOrZero,
    Misfit,
    auto_or,
    text_or_list,
    within,
)

HALF_ANGLES = {"merge": (5.0, 25.0), "bundle": (0.0, 25.0)}
Order = Annotated[
    Annotated[tuple[Count, ...], Tag("<list>")] | Annotated[Literal["firing", "free"], Tag("<word>")],
    Discriminator(text_or_list),
]
ConeAngle = Annotated[
    float | Literal["auto"], BeforeValidator(auto_or(within(units.angle, "°", 0.5, 20))), AUTO_ANGLE_SCHEMA
]


class Collector(Block):
    """Where the runners meet.  ``auto`` stays the word; `order` is a word or the cylinders around the inlet circle."""

    kind: Literal["merge", "bundle"]
    half_angle: Annotated[float, BeforeValidator(within(units.angle, "°", 0, 25)), ANGLE_SCHEMA]
    gap: LengthOrZero = 2.0
    stub: AutoLengthOrZero = "auto"
    order: Order = "firing"
    clock: AutoAngle = "auto"
    mirror: AutoYesNo = "auto"
    length: AutoLength = "auto"
    cone_half_angle: ConeAngle = "auto"
    path: tuple[AnyStep, ...] = ()

    @property
    def steps(self) -> tuple[Step, ...]:
        """The outlet path's elements."""
        return tuple(s for s in self.path if isinstance(s, StraightStep | BendStep))

    @model_validator(mode="after")
    def _fits(self) -> Self:
        low, high = HALF_ANGLES[self.kind]
        found: list[tuple[tuple[str | int, ...], str]] = []
        if not low <= self.half_angle <= high:
            found.append(
                (
                    ("half_angle",),
                    f"{self.half_angle:g}° is not possible for a {self.kind}: use {low:g} to {high:g}°",
                )
            )
        found += [(("path", i), told) for i, told in misfits(self.path, first="toward", may_close=False)]
        if found:
            raise Misfit(*found)
        return self
