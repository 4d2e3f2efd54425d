"""GLB of named parts for viewers: metres and y up, as glTF wants them."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from manifoldgen.mesh.triangles import Mesh

_SCALE = 1e-3  # mm → m
# bench x, y (across the flange), z (out of it) → glTF x, y up, z: the bench lies flat on the ground
_Y_UP = np.array([[1.0, 0.0, 0.0], [0.0, 0.0, 1.0], [0.0, -1.0, 0.0]])


def write_glb(path: Path, meshes: tuple[Mesh, ...]) -> None:
    """Write one node a mesh, named as the part, in its colour; coordinates in metres, y up."""
    import trimesh

    scene = trimesh.Scene()
    for mesh in meshes:
        rgba = [round(255 * c) for c in mesh.colour] + [255]
        material = trimesh.visual.material.PBRMaterial(
            name=mesh.name, baseColorFactor=rgba, metallicFactor=0.6, roughnessFactor=0.45, doubleSided=True
        )
        part = trimesh.Trimesh(
            vertices=mesh.vertices @ _Y_UP.T * _SCALE,
            faces=mesh.triangles,
            process=False,
            visual=trimesh.visual.TextureVisuals(material=material),
        )
        scene.add_geometry(part, node_name=mesh.name, geom_name=mesh.name)
    path.write_bytes(scene.export(file_type="glb"))
