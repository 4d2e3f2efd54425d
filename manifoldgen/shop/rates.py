"""What a step takes and what the welder sets: the shop file's `rates:` over the catalogue's rows."""

from __future__ import annotations

from manifoldgen.catalogue import Catalogue
from manifoldgen.manifold.model import Manifold

TABLES = ("minutes", "figures")


def rate(m: Manifold, name: str) -> float:
    """One rate in the catalogue's own unit (``minutes`` in min, ``figures`` as their row says)."""
    own = m.workshop.rates.get(name)
    return float(_rows(m.tables)[name]) if own is None else float(own)


def assumed(m: Manifold, *names: str) -> tuple[str, ...]:
    """Those of the named rates that the shop has not given itself, as ``purge_flow 10 l/min``."""
    rows = m.tables.table("rates", "figures")
    return tuple(
        f"{name} {rate(m, name):g} {rows[name]['unit']}" for name in names if name not in m.workshop.rates
    )


def _rows(tables: Catalogue) -> dict[str, float]:
    return {name: row["value"] for table in TABLES for name, row in tables.table("rates", table).items()}
