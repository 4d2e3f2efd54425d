"""All model files of one built manifold, written into a folder."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from manifoldgen.export.glb import write_glb
from manifoldgen.export.lumen import Disc, surface, write_lumen
from manifoldgen.export.meshes import part_meshes
from manifoldgen.export.step_assembly import write_step
from manifoldgen.export.stl import write_stl
from manifoldgen.export.threemf import write_3mf
from manifoldgen.mesh.triangles import Mesh
from manifoldgen.solids.whole import LUMEN

if TYPE_CHECKING:
    from manifoldgen.solids.whole import Gate, Solids


def write_model(folder: Path, solids: Solids) -> None:
    """Write model.step and model.glb of the parts there are; with a sound whole, the other model files too.

    model.stl, model.3mf and lumen.stl need the parts joined into one solid: where that failed they are
    left out.

    Raises
    ------
    SolidError : a file does not hold what it should when read back.
    OSError : the disk refused.
    """
    if solids.parts:
        write_step(folder / "model.step", solids.assembly)
        write_glb(folder / "model.glb", part_meshes(solids.assembly))
    if solids.joined is not None:
        # what leaves is the very mesh that the solid was accepted by
        judged = solids.mesh
        whole = Mesh(solids.name, np.asarray(judged.vertices, np.float64), np.asarray(judged.faces, np.int64))
        write_stl(folder / "model.stl", whole)
        write_3mf(folder / "model.3mf", (whole,))
    if solids.gas is not None:
        outlines = [gate.outline for gate in solids.openings.values()]
        gas = surface(solids.gas, solids.accepted[LUMEN].volume, outlines)
        write_lumen(folder / "lumen.stl", gas, discs(solids.openings))


def discs(gates: Mapping[str, Gate]) -> tuple[Disc, ...]:
    """Return the places where the gas passes an outer face, as discs round their outlines."""
    return tuple(
        Disc(name, gate.at, gate.normal, float(np.linalg.norm(gate.outline - gate.at, axis=1).max()))
        for name, gate in gates.items()
    )
