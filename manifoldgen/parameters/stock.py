"""`stock`: what can be bought or lies on the shelf."""

from __future__ import annotations

import math
from typing import Annotated, Literal, Self

from pydantic import BeforeValidator, model_validator

from manifoldgen import units
from manifoldgen.parameters.meant import Clr
from manifoldgen.parameters.scalars import (
    ANGLE_SCHEMA,
    Block,
    Count,
    Length,
    LengthOrZero,
    Misfit,
    NotNegative,
    Text,
    listed,
    within,
)
from manifoldgen.parameters.tubes import Od, Wall

ArcAngle = Annotated[float, BeforeValidator(within(units.angle, "°", 0, 360, open_ends=True)), ANGLE_SCHEMA]
Legs = Annotated[
    tuple[LengthOrZero, LengthOrZero], BeforeValidator(listed(2, "a pair of legs [first, second]"))
]
_NEEDS = {"elbow": ("clr", "angle"), "bend": ("clr", "angle", "legs"), "straight": ("length",)}
_OWN = ("clr", "angle", "legs", "length", "centre_to_end")


class StockItem(Block):
    """An elbow, a mandrel bend with legs or a straight, mm and degrees; its own od and wall where they differ.

    centre_to_end : of a bought elbow that is not a plain arc (arc and short ends).  price : 0 for what lies on the
    shelf: it is used first.  count : how many there are, left out where as many can be bought as are wanted.
    """

    name: Text
    kind: Literal["elbow", "bend", "straight"]
    tube: Literal["runner", "outlet", "wastegate"]
    clr: Clr | None = None
    angle: ArcAngle | None = None
    centre_to_end: Length | None = None
    legs: Legs | None = None
    length: Length | None = None
    od: Od | None = None
    wall: Wall | None = None
    price: NotNegative | None = None
    count: Count | None = None

    @model_validator(mode="after")
    def _complete(self) -> Self:
        needs = _NEEDS[self.kind]
        missing = [k for k in needs if getattr(self, k) is None]
        if missing:
            raise ValueError(
                f"a {self.kind} of the stock needs {' and '.join(needs)}: {' and '.join(missing)} missing"
            )
        may = {*needs, "centre_to_end"} if self.kind == "elbow" else set(needs)
        odd = [k for k in _OWN if getattr(self, k) is not None and k not in may]
        if odd:
            raise Misfit.at(f"a {self.kind} has no {odd[0]}: drop it or change the kind", odd[0])
        if self.centre_to_end is not None and self.clr is not None and self.angle is not None:
            arc = self.clr * math.tan(math.radians(self.angle / 2)) if self.angle < 180 else math.inf
            if self.centre_to_end < arc - 0.05:
                raise Misfit.at(
                    f"{self.centre_to_end:g} mm is less than the arc alone needs "
                    f"(clr · tan(angle / 2) = {arc:.1f} mm): measure again",
                    "centre_to_end",
                )
        return self
