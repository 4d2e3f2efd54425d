"""What parts weigh: volume times the alloy's density from the catalogue."""

from __future__ import annotations

import math
from collections.abc import Mapping

from manifoldgen.catalogue.catalogue import Catalogue
from manifoldgen.manifold.model import Manifold

_MM3_PER_M3 = 1e9


def mass_kg(tables: Catalogue, material: str, volume: float) -> float | None:
    """Mass in kg of `volume` mm³; None for a material that the catalogue does not know."""
    try:
        return tables.material(material).density * volume / _MM3_PER_M3
    except KeyError:
        return None


def whole_kg(m: Manifold, volumes: Mapping[str, float]) -> float | None:
    """Mass in kg of all parts together, each of its own material; None where one is not known.

    Parameters
    ----------
    volumes : mm³ by part name.
    """
    materials = {flange.name: flange.material for flange in m.flanges}
    materials |= {run.name: run.section.material for run in m.runs}
    collector = m.collectors[0].section.material if m.collectors else ""
    masses = [mass_kg(m.tables, materials.get(name, collector), volume) for name, volume in volumes.items()]
    known = [mass for mass in masses if mass is not None]
    return math.fsum(known) if len(known) == len(masses) else None
