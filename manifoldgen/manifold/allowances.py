"""What saw, belt sander, weld and jig take: the catalogue's allowances (the shop's own file replaces any)."""

from __future__ import annotations

import math
from dataclasses import dataclass

from manifoldgen.catalogue import Catalogue
from manifoldgen.manifold.cut import StockItem


@dataclass(frozen=True)
class Allowances:
    """mm unless said.

    kerf : of the saw.  truing : taken off a sawn face.  shrink_of_width : transverse shrink of a joint as
    a share of the mean fused width, or `shrink_mm` where the shop has measured it.  trim : on the last piece
    of each runner.  offcut : degrees of arc that are worth keeping.  step_share : of the thinner wall, that a
    butt weld may step.
    """

    kerf: float
    truing: float
    shrink_of_width: float
    widths: tuple[tuple[float, float], tuple[float, float]]
    shrink_mm: float | None
    trim: float
    offcut: float
    step_share: float

    @classmethod
    def of(cls, tables: Catalogue) -> Allowances:
        """The allowances of the catalogue's tables ``cutting`` and ``fit_up``."""
        rows = tables.table("shop", "cutting")
        walls, widths = rows["fused_width"]["at_wall"], rows["fused_width"]["width"]
        measured = rows["shrink"].get("mm")
        return cls(
            kerf=float(rows["kerf"]["value"]),
            truing=float(rows["truing"]["value"]),
            shrink_of_width=float(rows["shrink"]["of_width"]),
            widths=((float(walls[0]), float(widths[0])), (float(walls[1]), float(widths[1]))),
            shrink_mm=None if measured is None else float(measured),
            trim=float(rows["trim"]["value"]),
            offcut=float(rows["offcut"]["value"]),
            step_share=float(tables.row("shop", "fit_up", "hi_lo_max")["of_wall"]),
        )

    @property
    def between(self) -> float:
        """What lies between two pieces of one item: the kerf and the truing of both faces, mm."""
        return self.kerf + 2 * self.truing

    def shrink(self, wall: float) -> float:
        """How much a butt weld draws its two sides together, mm: 0.10 x fused area / thickness.

        For a square butt in thin tube; the fused width is read off the line through two walls.
        """
        if self.shrink_mm is not None:
            return self.shrink_mm
        (w1, f1), (w2, f2) = self.widths
        return self.shrink_of_width * (f1 + (wall - w1) * (f2 - f1) / (w2 - w1))

    def angle_between(self, clr: float, od: float) -> float:
        """What one cut takes of an arc, degrees: a kerf with parallel sides, at the throat of the bend.

        Closed form asin(between / (CLR - OD/2)); 90 where the throat is no longer than that.
        """
        throat = clr - od / 2
        return math.degrees(math.asin(self.between / throat)) if throat > self.between else 90.0


@dataclass(frozen=True)
class Means:
    """What a job is cut from, and what cutting takes."""

    stock: tuple[StockItem, ...]
    allowed: Allowances
