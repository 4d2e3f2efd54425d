"""What a step takes and what the welder sets, and which of it the shop has not said itself."""

from __future__ import annotations

from manifoldgen.manifold.model import Manifold
from manifoldgen.manifold.rates import rate

__all__ = ["assumed", "rate"]


def assumed(m: Manifold, *names: str) -> tuple[str, ...]:
    """Those of the named rates that the shop has not given itself, as ``purge_flow 10 l/min``."""
    rows = m.tables.table("rates", "figures")
    return tuple(
        f"{name} {rate(m, name):g} {rows[name]['unit']}" for name in names if name not in m.workshop.rates
    )
