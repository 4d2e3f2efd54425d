"""What belongs to the shop rather than to one job: printer, rates, own tools, catalogue rows that differ."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any

from pydantic import BeforeValidator, Field

from manifoldgen import catalogue
from manifoldgen.parameters.limits import Limits
from manifoldgen.parameters.scalars import Block, Length, LengthOrZero, NotNegative, listed
from manifoldgen.parameters.stock import StockItem

_PRINT = catalogue.defaults("print")


class Printer(Block):
    """The 3-D printer: bed x, y, height; fit between printed parts and tube; wall thickness, mm."""

    bed: Annotated[tuple[Length, Length, Length], BeforeValidator(listed(3, "a bed [x, y, height]"))] = (
        _PRINT["bed_x"],
        _PRINT["bed_y"],
        _PRINT["bed_z"],
    )
    fit: LengthOrZero = _PRINT["fit"]
    wall: Length = _PRINT["wall"]


class Shop(Block):
    """The shop file: the blocks that every job may reuse.

    tools, torch : rows of the catalogue's tables that differ, ``{table: {row: {value: …}}}``.
    catalogue : the same for every file of it, ``{file: {table: {row: {value: …}}}}``.
    """

    stock: tuple[StockItem, ...] = ()
    limits: Limits = Limits()
    print_: Printer = Field(default=Printer(), alias="print")
    tools: Mapping[str, Mapping[str, Mapping[str, Any]]] = {}
    torch: Mapping[str, Mapping[str, Mapping[str, Any]]] = {}
    rates: Mapping[str, NotNegative] = {}
    catalogue: Mapping[str, Mapping[str, Mapping[str, Mapping[str, Any]]]] = {}
