"""What the shop has and how it likes its shop sheets: printer, rates, paper size; the same for every job."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from manifoldgen.catalogue import STANDARD

BED_MARGIN = 5.0  # mm of the printer's bed kept free at every edge, and below its greatest height
LEAST_WALL = 1.2  # mm: what a 0.4 mm nozzle prints soundly

_PRINT = STANDARD.defaults("print")

PaperSize = Literal["A4", "Letter"]
DxfVersion = Literal["R2010", "R12"]
ModelFill = Literal["hollow", "solid", "lattice"]
PrintOnly = Literal["first", "helps", "all"]


@dataclass(frozen=True)
class ModelPrint:
    """How the test-fit model is printed.

    fill : ``hollow`` with the printer's wall, ``solid``, or ``lattice``: hollow with windows, quick to print.
    runner : this cylinder's alone; None is all.  flange : with the flanges.  dummies : turbo, valve and obstacles too.
    """

    fill: ModelFill = "hollow"
    runner: int | None = None
    flange: bool = True
    dummies: bool = False


@dataclass(frozen=True)
class Workshop:
    """The shop's own settings.

    bed : the printer's bed, x, y and height, mm.  fit : gap between printed parts and on tube, mm a side.
    wall : of printed parts, mm.  hole_extra : on the diameter of printed holes, mm.  model : the test-fit model.
    rates : minutes a step and the like, by name, where they differ from the catalogue's.
    paper, dxf : what the shop sheets are printed on, which DXF the laser shop takes.
    printer : there is one; without it no part is printed.
    print_only : which parts are printed: what is worth it first, what helps too, or all.
    """

    bed: tuple[float, float, float]
    fit: float
    wall: float
    rates: Mapping[str, float] = field(default_factory=dict)
    paper: PaperSize = "A4"
    dxf: DxfVersion = "R2010"
    hole_extra: float = _PRINT["hole_extra"]
    model: ModelPrint = ModelPrint()
    printer: bool = True
    print_only: PrintOnly = "all"

    @property
    def room(self) -> tuple[float, float, float]:
        """What a printed part may take of the bed, mm."""
        return room_on(self.bed)

    @property
    def sound_wall(self) -> float:
        """The wall of a printed aid: `wall`, never under what prints soundly, mm."""
        return max(self.wall, LEAST_WALL)


def room_on(bed: tuple[float, float, float]) -> tuple[float, float, float]:
    """What a printed part may take of a bed, mm."""
    x, y, z = bed
    return x - 2 * BED_MARGIN, y - 2 * BED_MARGIN, z - BED_MARGIN


STANDARD_WORKSHOP = Workshop(
    (_PRINT["bed_x"], _PRINT["bed_y"], _PRINT["bed_z"]), _PRINT["fit"], _PRINT["wall"]
)
