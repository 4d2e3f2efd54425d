"""Solids in the CAD kernel: `build` makes every part of a manifold, the whole as one, and the gas inside it."""

from __future__ import annotations

from manifoldgen.solids.collector import collector_pieces, collector_solid
from manifoldgen.solids.flange import flange_solid
from manifoldgen.solids.tube import tube_solid
from manifoldgen.solids.whole import Solids, build

__all__ = ["Solids", "build", "collector_pieces", "collector_solid", "flange_solid", "tube_solid"]
