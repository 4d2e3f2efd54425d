"""What belongs to the shop rather than to one job: printer, rates, own tools, catalogue rows that differ."""

from __future__ import annotations

from collections.abc import Mapping
from difflib import get_close_matches
from functools import cached_property
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BeforeValidator, Field, ValidationInfo, model_validator

from manifoldgen import units
from manifoldgen.catalogue import Catalogue
from manifoldgen.parameters import own
from manifoldgen.parameters.limits import Limits
from manifoldgen.parameters.scalars import (
    Block,
    Count,
    Length,
    LengthOrZero,
    NotNegative,
    RowName,
    YesNo,
    listed,
)
from manifoldgen.parameters.stock import StockItem

_PRINT = own.SHOWN["print"]


def _rate_name(name: str, info: ValidationInfo) -> str:
    """A name of the catalogue's rates, or the sentence that names the nearest."""
    known = [row for table in own.tables(info).file("rates").tables.values() for row in table]
    if name in known:
        return name
    close = get_close_matches(name, known, 1, 0.5)
    hint = f"did you mean '{close[0]}'?" if close else f"there are {', '.join(known)}"
    raise ValueError(f"there is no rate {units.named(name)}; {hint}")


RateName = Annotated[str, AfterValidator(_rate_name)]
Tables = Mapping[str, Mapping[RowName, Mapping[RowName, Any]]]


class Printer(Block):
    """The 3-D printer, and how the test-fit model is printed, mm.

    printer : false where the shop has none: then no part is printed and no step asks for one.
    bed : x, y, height.  fit : between printed parts and tube, a side.  wall : of printed parts.
    hole_extra : on the diameter of printed holes.  model : ``hollow``, ``solid``, or ``lattice``: quick to print.
    runner : this cylinder's alone.  flange : with the flanges.  dummies : turbo, valve and obstacles too.
    only : which parts are made: ``first`` is what is worth printing before steel is cut, ``helps`` that and what helps.
    """

    printer: YesNo = True
    bed: Annotated[tuple[Length, Length, Length], BeforeValidator(listed(3, "a bed [x, y, height]"))] = (
        _PRINT["bed_x"],
        _PRINT["bed_y"],
        _PRINT["bed_z"],
    )
    fit: LengthOrZero = _PRINT["fit"]
    wall: Length = _PRINT["wall"]
    hole_extra: LengthOrZero = _PRINT["hole_extra"]
    model: Literal["hollow", "solid", "lattice"] = "hollow"
    runner: Count | None = None
    flange: YesNo = True
    dummies: YesNo = False
    only: Literal["first", "helps", "all"] = "all"

    @model_validator(mode="before")
    @classmethod
    def _defaults(cls, data: object, info: ValidationInfo) -> object:
        """What the file does not say is the catalogue's, with the shop's own rows."""
        if not isinstance(data, Mapping):
            return data
        rows = own.tables(info).defaults("print")
        bed = [rows["bed_x"], rows["bed_y"], rows["bed_z"]]
        return {"bed": bed, **{k: rows[k] for k in ("fit", "wall", "hole_extra")}, **data}


class Papers(Block):
    """What the shop sheets are printed on, and which DXF the laser shop takes."""

    size: Literal["A4", "Letter"] = "A4"
    dxf: Literal["R2010", "R12"] = "R2010"


class Shop(Block):
    """The shop file: the blocks that every job may reuse.

    tools, torch : rows of the catalogue's tables that differ, ``{table: {row: {value: …}}}``.
    catalogue : the same for every file of it, ``{file: {table: {row: {value: …}}}}``.
    """

    stock: tuple[StockItem, ...] = ()
    limits: Limits = Field(default=own.UNWRITTEN, validate_default=True)
    print_: Printer = Field(default=own.UNWRITTEN, alias="print", validate_default=True)
    papers: Papers = Papers()
    tools: Tables = Field(default={})
    torch: Tables = Field(default={})
    rates: Mapping[RateName, NotNegative] = {}
    catalogue: Mapping[str, Tables] = {}

    @cached_property
    def tables(self) -> Catalogue:
        """The catalogue with the shop's own rows over it."""
        return own.in_force({"tools": self.tools, "torch": self.torch, "catalogue": self.catalogue})
