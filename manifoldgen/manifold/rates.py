"""What the shop works by: the shop file's `rates:` over the catalogue's rows."""

from __future__ import annotations

from manifoldgen.catalogue import Catalogue
from manifoldgen.manifold.model import Manifold

TABLES = ("minutes", "figures")


def rate(m: Manifold, name: str) -> float:
    """One rate in the catalogue's own unit (``minutes`` in min, ``figures`` as their row says)."""
    own = m.workshop.rates.get(name)
    return float(_rows(m.tables)[name]) if own is None else float(own)


def _rows(tables: Catalogue) -> dict[str, float]:
    return {name: row["value"] for table in TABLES for name, row in tables.table("rates", table).items()}
