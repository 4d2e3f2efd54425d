"""A 3MF file as lib3mf's strict reader takes it."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np


@dataclass(frozen=True, eq=False)
class Read:
    """name, points (n, 3), triangles (m, 3) and whether it is manifold and oriented, of one mesh of a file."""

    name: str
    points: np.ndarray
    triangles: np.ndarray
    sound: bool

    @property
    def volume(self) -> float:
        """Enclosed volume, mm³ (divergence theorem)."""
        a, b, c = np.moveaxis(self.points[self.triangles], 1, 0)
        return float(np.einsum("ij,ij->", a, np.cross(b, c)) / 6.0)


def read_strictly(path: Path) -> tuple[Read, ...]:
    """The meshes of a 3MF in mm; fails on any warning of the reader's strict mode."""
    import lib3mf

    model = lib3mf.get_wrapper().CreateModel()
    reader = model.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    reader.ReadFromFile(str(path))
    assert reader.GetWarningCount() == 0, [reader.GetWarning(k) for k in range(reader.GetWarningCount())]
    assert model.GetUnit() == lib3mf.ModelUnit.MilliMeter
    found = []
    meshes = model.GetMeshObjects()
    while meshes.MoveNext():
        mesh = meshes.GetCurrentMeshObject()
        points = np.array([list(p.Coordinates) for p in mesh.GetVertices()], dtype=float)
        triangles = np.array([list(t.Indices) for t in mesh.GetTriangleIndices()])
        found.append(Read(mesh.GetName(), points, triangles, mesh.IsManifoldAndOriented()))
    return tuple(found)
