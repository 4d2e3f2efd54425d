"""`turbo`: where the turbine's face is, its flange, the housing to stay clear of, the oil drain."""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import Discriminator, Field, Tag, model_validator

from manifoldgen.parameters.flange import TubeFlange
from manifoldgen.parameters.obstacles import Obstacle
from manifoldgen.parameters.scalars import Angle, Block, Direction, Point, only_one, text_or_list

SurveyedPoint = Annotated[
    Annotated[Point, Tag("<list>")] | Annotated[Literal["survey"], Tag("<word>")], Discriminator(text_or_list)
]


class TurboInlet(Block):
    """The turbine's mating face: centre, the way the exhaust goes into it, and the flange's clock.

    at : mm, or ``survey``.  facing : may be left out only with ``at: survey``.
    """

    at: SurveyedPoint
    facing: Direction | None = None
    clock: Angle = 0.0

    @property
    def surveyed(self) -> bool:
        """Whether the pose comes from the survey."""
        return self.at == "survey"

    @model_validator(mode="after")
    def _faces(self) -> Self:
        if self.facing is None and not self.surveyed:
            raise ValueError("'facing' is missing: the way the exhaust goes into the turbine, [x, y, z]")
        return self


class Drain(Block):
    """The oil drain: from the turbo's port to the return port."""

    from_: Point = Field(alias="from")
    to: Point


class Turbo(Block):
    """The turbine inlet, its flange on the manifold's side, and the rest of the turbo as rough shapes."""

    inlet: Annotated[TurboInlet, only_one("turbine inlets")]
    flange: TubeFlange
    body: tuple[Obstacle, ...] = ()
    drain: Drain | None = None
