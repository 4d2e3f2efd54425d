"""`runners`: how long they are to be, and their paths: ``auto``, written out, or corner points."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Annotated, Literal, Self

from pydantic import (
    BeforeValidator,
    Discriminator,
    GetJsonSchemaHandler,
    Tag,
    WithJsonSchema,
    model_validator,
)
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema

from manifoldgen import units
from manifoldgen.parameters.meant import Clr
from manifoldgen.parameters.path import AnyStep, BendStep, Step, StraightStep, misfits
from manifoldgen.parameters.scalars import (
    LENGTH,
    SHARE_SCHEMA,
    Block,
    Count,
    Misfit,
    Point,
    YesNo,
    within,
)

Share = Annotated[
    float, BeforeValidator(within(units.fraction, "", 0, 0.5, open_ends=True)), SHARE_SCHEMA
]  # 1 would mean 100 %: the writer meant 1 %


class LengthRule(Block):
    """``{equal_within: 1 %}`` (as a fraction: 0.01) or ``{shortest: true}``."""

    equal_within: Share | None = None
    shortest: YesNo = False

    @model_validator(mode="after")
    def _one(self) -> Self:
        if (self.equal_within is None) != self.shortest:
            raise ValueError("runner length is {equal_within: 1 %} or {shortest: true}: give one of the two")
        return self


class WrittenPath(Block):
    """A path written out from the port outwards; a bare list of elements is read as one.

    path : straights, bends, and ``close`` last where the tool is to find the last bends.
    """

    path: tuple[AnyStep, ...]
    measured: YesNo = False

    @classmethod
    def __get_pydantic_json_schema__(
        cls, schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> JsonSchemaValue:
        """The bare list of elements beside the block."""
        block = handler(schema)
        return {"anyOf": [handler.resolve_ref_schema(block)["properties"]["path"], block]}

    @property
    def closes(self) -> bool:
        """Whether the tool is to find the last bends."""
        return bool(self.path) and self.path[-1] == "close"

    @property
    def steps(self) -> tuple[Step, ...]:
        """The elements without ``close``."""
        return tuple(s for s in self.path if isinstance(s, StraightStep | BendStep))

    @model_validator(mode="after")
    def _walks(self) -> Self:
        found: list[tuple[tuple[str | int, ...], str]] = [
            (("path", i), told) for i, told in misfits(self.path, first="either", may_close=True)
        ]
        if not self.path:
            found.append((("path",), "the path is empty: write straights and bends, or auto"))
        if self.closes and self.measured:
            found.append(
                (("path",), "a measured runner is there already: write its whole path, without close")
            )
        if found:
            raise Misfit(*found)
        return self


class PointsPath(Block):
    """The corners of the centreline, first on the port's axis, last on the inlet's; one CLR, or one a bend.

    The port's own centre and the inlet's own centre may stand before and after them: they are no bends.
    """

    points: tuple[Point, ...]
    clr: Annotated[
        tuple[Clr, ...],
        WithJsonSchema({"anyOf": [*LENGTH["anyOf"], {"type": "array", "items": LENGTH}]}),
    ]
    measured: YesNo = False

    @model_validator(mode="before")
    @classmethod
    def _one_clr(cls, value: object) -> object:
        if isinstance(value, Mapping) and "clr" in value:
            clr = value["clr"]
            if isinstance(clr, str) or not isinstance(clr, Sequence):
                return {**value, "clr": [clr]}
        return value

    @model_validator(mode="after")
    def _corners(self) -> Self:
        n = len(self.points)
        if n < 1:
            raise Misfit.at("the list of corner points is empty", "points")
        for i in range(1, n):
            if self.points[i] == self.points[i - 1]:
                raise Misfit.at("this corner point repeats the one before: drop one", "points", i)
        if len(self.clr) not in {1, n - 2, n - 1, n}:
            raise Misfit.at(f"{n} points have at most {n} bends: give one clr for all, or one each", "clr")
        return self


def _as_block(value: object) -> object:
    if isinstance(value, Sequence) and not isinstance(value, str):
        return {"path": value}
    if isinstance(value, str) and value != "auto":
        raise ValueError(
            f"'{units.shown(value)}' is no path: write auto, a list of straights and bends, or points"
        )
    if not isinstance(value, str | Mapping | WrittenPath | PointsPath):
        raise ValueError(  # noqa: TRY004 - the models collect ValueError
            f"{units.named(value)} is no path: write auto, a list of straights and bends, or points"
        )
    return value


def _kind(value: object) -> str:
    if isinstance(value, str):
        return "<auto>"
    points = isinstance(value, PointsPath) or (isinstance(value, Mapping) and "path" not in value)
    return "<points>" if points else "<written>"


RunnerPath = Annotated[
    Annotated[Literal["auto"], Tag("<auto>")]
    | Annotated[WrittenPath, Tag("<written>")]
    | Annotated[PointsPath, Tag("<points>")],
    Discriminator(_kind),
    BeforeValidator(_as_block),
]


class Runners(Block):
    """The runners, one path for each cylinder."""

    length: LengthRule = LengthRule(shortest=True)
    paths: Mapping[Count, RunnerPath]
