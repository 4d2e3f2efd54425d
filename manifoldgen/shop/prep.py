"""How the ends are made ready for a weld: what the wall asks for, how much gap and step may stay, which rod."""

from __future__ import annotations

from dataclasses import dataclass

from manifoldgen.catalogue import Catalogue
from manifoldgen.catalogue.tables import TableRow
from manifoldgen.manifold.model import Manifold


@dataclass(frozen=True)
class Prep:
    """Preparation for one wall.

    words : the ends and the gap, as the shop says it.  gap, hi_lo : the most that may stay, mm.
    clean : band to clean inside and outside, mm.  rod : diameter of the rod, mm.  bevel : a chamfer is worth it.
    outside : the wall is not in the table; the nearest row is shown.
    """

    wall: float
    words: str
    gap: float
    hi_lo: float
    clean: float
    rod: float
    bevel: bool
    outside: bool


def prep(tables: Catalogue, wall: float) -> Prep:
    """What a tube of `wall` mm asks for; the last row of the catalogue that holds the wall, else the nearest."""
    rows = list(tables.table("shop", "tube_prep").values())
    row = next((r for r in reversed(rows) if _low(r) <= wall <= _high(r)), None)
    nearest = row or min(rows, key=lambda r: max(_low(r) - wall, wall - _high(r)))
    return Prep(
        wall=wall,
        words=str(nearest["joint"]),
        gap=_limit(tables, "gap_max", wall),
        hi_lo=_limit(tables, "hi_lo_max", wall),
        clean=float(tables.row("shop", "fit_up", "clean_band")["value"]),
        rod=float(nearest.get("rod", 1.6)),
        bevel=wall >= float(tables.row("shop", "fit_up", "bevel_from")["value"]),
        outside=row is None,
    )


def filler_metal(m: Manifold, first: str, second: str) -> tuple[str, bool]:
    """The rod for two materials, and whether the inside is purged.

    Two alloys that are both stainless take the first one's rod.
    """
    names = [m.tables.material(name).id for name in (first, second)]
    plain = [name == "mild steel" for name in names]
    key = "to mild steel" if any(plain) and not all(plain) else names[0]
    if "625" in names:
        key = "625"
    row = m.tables.row("shop", "filler_metal", key)
    return str(row["rod"]), bool(row["purge"])


def _low(row: TableRow) -> float:
    return float(row["wall"][0])


def _high(row: TableRow) -> float:
    return float(row["wall"][1])


def _limit(tables: Catalogue, name: str, wall: float) -> float:
    """A share of the wall, but never more than the row's most, mm."""
    row = tables.row("shop", "fit_up", name)
    return min(float(row["of_wall"]) * wall, float(row["most"]))
