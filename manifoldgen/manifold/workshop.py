"""What the shop has and how it likes its papers: printer, rates, paper size; the same for every job."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from manifoldgen import catalogue

PaperSize = Literal["A4", "Letter"]
DxfVersion = Literal["R2010", "R12"]


@dataclass(frozen=True)
class Workshop:
    """The shop's own settings.

    bed : the printer's bed, x, y and height, mm.  fit : gap between printed parts and on tube, mm a side.
    wall : of printed parts, mm.  rates : minutes a step and the like, by name, where they differ from the
        catalogue's.  paper, dxf : what the papers are printed on, which DXF the cutter takes.
    """

    bed: tuple[float, float, float]
    fit: float
    wall: float
    rates: Mapping[str, float] = field(default_factory=dict)
    paper: PaperSize = "A4"
    dxf: DxfVersion = "R2010"


_PRINT = catalogue.defaults("print")
STANDARD_WORKSHOP = Workshop(
    (_PRINT["bed_x"], _PRINT["bed_y"], _PRINT["bed_z"]), _PRINT["fit"], _PRINT["wall"]
)
