"""`wastegate`: the branch, where it leaves, its flange and the valve behind it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, ClassVar, Literal, Self

from pydantic import BeforeValidator, Discriminator, Field, Tag, model_validator

from manifoldgen import units
from manifoldgen.parameters.flange import TubeFlange
from manifoldgen.parameters.meant import Seat
from manifoldgen.parameters.path import AnyStep, BendStep, Step, StraightStep, misfits
from manifoldgen.parameters.scalars import (
    ANGLE_SCHEMA,
    SHARE_SCHEMA,
    Angle,
    Block,
    Coordinate,
    Count,
    Length,
    Misfit,
    matching,
    within,
)

RUN = "outlet|runner [1-9][0-9]{0,2}"


class BendTakeoff(Block):
    """The branch leaves the outside of bend number `bend` of a run, its axis moved outwards by `shift` mm.

    run : ``outlet`` or ``runner 2``.
    """

    run: Annotated[
        str, matching(RUN, "use outlet, cone or a runner such as 'runner 2'"), Field(pattern=f"^({RUN})$")
    ]
    bend: Count
    shift: Coordinate = 0.0

    @property
    def cylinder(self) -> int:
        """The number of the runner it leaves; 0 for the outlet."""
        _, _, number = self.run.partition(" ")
        return int(number or 0)


class ConeTakeoff(Block):
    """The branch leaves the cone at a share `at` of its length, at the angle `around` on the inlet circle."""

    run: Literal["cone"]
    at: Annotated[float, BeforeValidator(within(units.fraction, "", 0, 1)), SHARE_SCHEMA] = 0.5
    around: Angle = 0.0


def _leaves(value: object) -> str:
    run = value.get("run") if isinstance(value, Mapping) else getattr(value, "run", None)
    return "<cone>" if run == "cone" else "<bend>"


class WastegateFlange(TubeFlange):
    """The valve's flange; the tool works from the manifold's or the valve's side."""

    sides: ClassVar[tuple[str, str]] = ("manifold", "valve")


class Valve(Block):
    """The valve's body beyond the flange, mm."""

    diameter: Length
    length: Length


class Wastegate(Block):
    """The branch.  aim : degrees between the incoming flow and the branch."""

    seat: Seat
    takeoff: Annotated[
        Annotated[BendTakeoff, Tag("<bend>")] | Annotated[ConeTakeoff, Tag("<cone>")], Discriminator(_leaves)
    ]
    aim: Annotated[float, BeforeValidator(within(units.angle, "°", 0, 180)), ANGLE_SCHEMA] = 0.0
    path: tuple[AnyStep, ...]
    flange: WastegateFlange
    valve: Valve | None = None

    @property
    def steps(self) -> tuple[Step, ...]:
        """The branch's elements."""
        return tuple(s for s in self.path if isinstance(s, StraightStep | BendStep))

    @model_validator(mode="after")
    def _walks(self) -> Self:
        found: list[tuple[tuple[str | int, ...], str]] = [
            (("path", i), told) for i, told in misfits(self.path, first="either", may_close=False)
        ]
        if not self.path:
            found.append((("path",), "the branch's path is empty: at least {straight: …}"))
        if found:
            raise Misfit(*found)
        return self
