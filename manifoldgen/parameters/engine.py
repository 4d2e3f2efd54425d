"""`engine`: firing order, which way is up, what the flow numbers need, how it moves on its mounts."""

from __future__ import annotations

from typing import Annotated, Self

from pydantic import BeforeValidator, model_validator

from manifoldgen.parameters.scalars import (
    Block,
    Count,
    Direction,
    LengthOrZero,
    Misfit,
    NotNegative,
    Point,
    Positive,
    listed,
)


class Axis(Block):
    """A line through `point` along `axis`."""

    point: Point
    axis: Direction


class Movement(Block):
    """How far the engine moves on its mounts: `shift` mm along x, y, z, and `roll_deg` about a line."""

    shift: Annotated[
        tuple[LengthOrZero, LengthOrZero, LengthOrZero], BeforeValidator(listed(3, "a shift [x, y, z]"))
    ] = (0.0, 0.0, 0.0)
    roll_deg: NotNegative = 0.0
    about: Axis | None = None

    @model_validator(mode="after")
    def _roll_has_axis(self) -> Self:
        if self.roll_deg and self.about is None:
            raise ValueError("roll_deg needs about: {point: [x, y, z], axis: [x, y, z]}")
        return self


class Engine(Block):
    """What fires when, and which way is up in the bench frame."""

    firing_order: tuple[Count, ...]
    up: Direction = (0.0, 1.0, 0.0)
    displacement_cc: Positive | None = None
    rpm: Positive | None = None
    boost_kpa: NotNegative | None = None
    movement: Movement | None = None

    @property
    def cylinders(self) -> int:
        """How many cylinders."""
        return len(self.firing_order)

    @model_validator(mode="after")
    def _each_once(self) -> Self:
        n = len(self.firing_order)
        if n < 2 or sorted(self.firing_order) != list(range(1, n + 1)):
            told = ", ".join(str(k) for k in self.firing_order[:20])
            raise Misfit.at(
                f"[{told}] is no firing order: each cylinder from 1 to N stands in it once, N 2 or more",
                "firing_order",
            )
        return self
