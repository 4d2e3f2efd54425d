"""All model files of one built manifold, written into a folder."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from manifoldgen.export.glb import write_glb
from manifoldgen.export.lumen import openings, write_lumen
from manifoldgen.export.meshes import part_meshes
from manifoldgen.export.step import write_step
from manifoldgen.export.stl import write_stl
from manifoldgen.export.threemf import write_3mf
from manifoldgen.manifold.model import Manifold
from manifoldgen.mesh.triangles import Mesh, welded
from manifoldgen.solids import _occ

if TYPE_CHECKING:
    import trimesh

    from manifoldgen.solids import Solids

LUMEN_DEFLECTION_MM = 0.2  # a flow mesher snaps to it; finer only costs space
LUMEN_ANGLE_DEG = 10.0


def write_model(folder: Path, m: Manifold, solids: Solids) -> None:
    """Write model.step, model.stl, model.3mf, model.glb and lumen.stl.

    Raises
    ------
    SolidError : a file does not hold what it should when read back.
    OSError : the disk refused.
    """
    write_step(folder / "model.step", solids.assembly)
    whole = _whole(m.name, solids.mesh)
    write_stl(folder / "model.stl", whole)
    write_3mf(folder / "model.3mf", (whole,))
    write_glb(folder / "model.glb", part_meshes(solids.assembly))
    points, triangles = _occ.triangulate(solids.lumen, LUMEN_DEFLECTION_MM, LUMEN_ANGLE_DEG)
    write_lumen(folder / "lumen.stl", welded(Mesh("lumen", points, triangles)), openings(m))


def _whole(name: str, judged: trimesh.Trimesh) -> Mesh:
    """Return the mesh that the solid was accepted by: what leaves is what was tested."""
    return Mesh(name, np.asarray(judged.vertices, np.float64), np.asarray(judged.faces, np.int64))
