"""`tubes`: the sections of runners, outlet and wastegate branch."""

from __future__ import annotations

from typing import Self

from pydantic import model_validator

from manifoldgen.parameters.scalars import Block, Length, Misfit, Text


class Tube(Block):
    """A round tube, mm."""

    od: Length
    wall: Length
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
