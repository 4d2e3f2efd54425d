"""Reference tables with typed access; every value carries its source and how sure it is."""

from __future__ import annotations

from manifoldgen.catalogue.tables import pick, read


def defaults(block: str) -> dict[str, float]:
    """Default values of a block of the parameter file (``limits``, ``obstacle``, ``flange``, ``print``)."""
    return {row.id.split()[-1]: float(row["value"]) for row in read("limits").tables[block].values()}


NUTS = {"hex": "hex_nut", "flange": "flange_nut", "all-metal-lock": "all_metal_lock_nut"}


def threads() -> tuple[str, ...]:
    """Names of the threads there are nuts for."""
    return tuple(read("fasteners").tables["hex_nut"])


def nut_kinds() -> tuple[str, ...]:
    """Names of the kinds of nut."""
    return tuple(NUTS)


def hole(name: str, fit: str) -> float:
    """Clearance hole in mm."""
    row = pick(read("fasteners").tables["clearance_hole"], name, "clearance hole of thread")
    return float(row[fit])
