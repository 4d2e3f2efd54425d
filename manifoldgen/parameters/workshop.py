"""What belongs to the shop rather than to one job: printer, rates, own tools, catalogue rows that differ."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from difflib import get_close_matches
from typing import Annotated, Any, Literal, Self

from pydantic import AfterValidator, BeforeValidator, Field, model_validator

from manifoldgen import catalogue, units
from manifoldgen.catalogue import Catalogue
from manifoldgen.parameters.limits import Limits
from manifoldgen.parameters.scalars import (
    Block,
    Count,
    Length,
    LengthOrZero,
    Misfit,
    NotNegative,
    RowName,
    YesNo,
    listed,
)
from manifoldgen.parameters.stock import StockItem

_PRINT = catalogue.defaults("print")


def _rate_name(name: str) -> str:
    """A name of the catalogue's rates, or the sentence that names the nearest."""
    known = [row for table in catalogue.STANDARD.file("rates").tables.values() for row in table]
    if name in known:
        return name
    close = get_close_matches(name, known, 1, 0.5)
    hint = f"did you mean '{close[0]}'?" if close else f"there are {', '.join(known)}"
    raise ValueError(f"there is no rate {units.named(name)}; {hint}")


RateName = Annotated[str, AfterValidator(_rate_name)]
Tables = Mapping[str, Mapping[RowName, Mapping[str, Any]]]


class Printer(Block):
    """The 3-D printer, and how the test-fit model is printed, mm.

    bed : x, y, height.  fit : between printed parts and tube, a side.  wall : of printed parts.
    hole_extra : on the diameter of printed holes.  model : ``hollow``, ``solid``, or ``lattice``: quick to print.
    runner : this cylinder's alone.  flange : with the flanges.  dummies : turbo, valve and obstacles too.
    """

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


class Papers(Block):
    """What the papers are printed on, and which DXF the cutter takes."""

    size: Literal["A4", "Letter"] = "A4"
    dxf: Literal["R2010", "R12"] = "R2010"


class Shop(Block):
    """The shop file: the blocks that every job may reuse.

    tools, torch : rows of the catalogue's tables that differ, ``{table: {row: {value: …}}}``.
    catalogue : the same for every file of it, ``{file: {table: {row: {value: …}}}}``.
    """

    stock: tuple[StockItem, ...] = ()
    limits: Limits = Limits()
    print_: Printer = Field(default=Printer(), alias="print")
    papers: Papers = Papers()
    tools: Tables = Field(default={})
    torch: Tables = Field(default={})
    rates: Mapping[RateName, NotNegative] = {}
    catalogue: Mapping[str, Tables] = {}

    def overrides(self) -> dict[str, Mapping[str, Mapping[str, Mapping[str, Any]]]]:
        """Every catalogue row that the shop has its own values for, by file of the catalogue."""
        whole = {"tools": self.tools, "tig": self.torch}
        merged = {
            file: {**whole.get(file, {}), **self.catalogue.get(file, {})}
            for file in {**whole, **self.catalogue}
        }
        return {file: tables for file, tables in merged.items() if tables}

    @property
    def tables(self) -> Catalogue:
        """The catalogue with the shop's own rows over it."""
        return catalogue.with_overrides(self.overrides())

    @model_validator(mode="after")
    def _rows_fit(self) -> Self:
        found: list[tuple[tuple[str | int, ...], str]] = []
        named = {"tools": ("tools",), "torch": ("tig",), "catalogue": ()}
        for block, file in named.items():
            own = getattr(self, block)
            for name, tables in ({file[0]: own} if file else own).items():
                at = (block,) if file else (block, name)
                for table, rows in tables.items():
                    found += [((*at, table, *keys), told) for keys, told in _misfits(name, table, rows)]
        if found:
            raise Misfit(*found)
        return self


def _misfits(
    file: str, table: str, rows: Mapping[str, Mapping[str, Any]]
) -> Iterator[tuple[tuple[str, ...], str]]:
    """What does not fit the catalogue's table: keys from the table down, sentence."""
    try:
        ours = catalogue.table(file, table)
    except KeyError as error:
        yield (), str(error)
        return
    for name, row in rows.items():
        for key, value in row.items():
            known = ours[name].get(key) if name in ours else None
            if not _alike(value, known):
                yield (
                    (name, key),
                    f"{units.named(value)} does not fit: the catalogue has {units.named(known)} here",
                )


def _alike(value: object, known: object) -> bool:
    """Whether an own value is of the catalogue value's kind (any kind for a new one); never negative or NaN."""
    if isinstance(value, list | tuple):
        return (known is None or isinstance(known, list)) and all(_alike(v, None) for v in value)
    if isinstance(value, str):
        return known is None or isinstance(known, str)
    number = isinstance(value, int | float) and not isinstance(value, bool) and 0 <= value <= units.LARGEST_MM
    return number and (known is None or isinstance(known, int | float))
