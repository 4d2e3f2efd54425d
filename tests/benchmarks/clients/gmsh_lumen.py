"""Fills lumen.stl with tetrahedra by gmsh, from its triangles as they are, and judges what comes out.

gmsh is no dependency of ours; it runs in an environment of its own:

    V=$(mktemp -d) && python3 -m venv $V && $V/bin/pip install -q gmsh numpy
    $V/bin/python tests/benchmarks/clients/gmsh_lumen.py exports/sand-rail-four/lumen.stl …

Printed for each file: named surfaces, triangles, tetrahedra, their worst and 0.1 % quality (gamma: inscribed over
circumscribed radius, 1 for a regular one), how many lie under `BAD`, and the volume against the triangles'. Ends with 1
where a file cannot be filled, a tetrahedron is bad or the volumes differ by a millionth.
"""

from __future__ import annotations

import sys
import time

import gmsh
import numpy as np

BAD = 0.05  # gamma; common practice, no source
TETRAHEDRON = 4  # gmsh's number of the element type


def filled(file: str) -> bool:
    """Fill one file and print what came out; whether all is well."""
    gmsh.clear()
    begin = time.perf_counter()
    gmsh.merge(file)
    gmsh.model.mesh.removeDuplicateNodes()
    surfaces = [tag for _, tag in gmsh.model.getEntities(2)]
    names = [gmsh.model.getEntityName(2, tag) for tag in surfaces]
    enclosed = sum(enclosed_by(tag) for tag in surfaces)
    triangles = sum(len(gmsh.model.mesh.getElements(2, tag)[1][0]) for tag in surfaces)
    gmsh.model.mesh.createTopology()
    surfaces = [tag for _, tag in gmsh.model.getEntities(2)]
    gmsh.model.geo.addVolume([gmsh.model.geo.addSurfaceLoop(surfaces)])
    gmsh.model.geo.synchronize()
    try:
        gmsh.model.mesh.generate(3)
        gmsh.model.mesh.optimize("Netgen")  # of the inside alone: gmsh leaves a sliver in a million by itself
    except Exception as error:  # noqa: BLE001 - gmsh raises nothing narrower
        print(f"{file}: not filled: {error}")
        return False
    tags, _ = gmsh.model.mesh.getElementsByType(TETRAHEDRON)
    gamma = gmsh.model.mesh.getElementQualities(tags, "gamma")
    volume = float(np.sum(gmsh.model.mesh.getElementQualities(tags, "volume")))
    bad, off = int((gamma < BAD).sum()), volume / enclosed - 1
    print(
        f"{file}: {' '.join(names)}; {triangles} triangles, {len(tags)} tetrahedra in {time.perf_counter() - begin:.0f} s; "
        f"gamma worst {gamma.min():.3f}, 0.1 % {np.quantile(gamma, 1e-3):.3f}, median {np.median(gamma):.3f}; "
        f"{bad} under {BAD}; volume {off:+.1e}"
    )
    return bad == 0 and abs(off) < 1e-6


def enclosed_by(tag: int) -> float:
    """What one surface's triangles add to the volume (divergence theorem)."""
    nodes, places, _ = gmsh.model.mesh.getNodes()
    at = np.zeros((int(nodes.max()) + 1, 3))
    at[nodes.astype(int)] = places.reshape(-1, 3)
    corners = at[gmsh.model.mesh.getElements(2, tag)[2][0].astype(int)].reshape(-1, 3, 3)
    a, b, c = np.moveaxis(corners, 1, 0)
    return float(np.einsum("ij,ij->", a, np.cross(b, c)) / 6)


if __name__ == "__main__":
    gmsh.initialize()
    gmsh.option.setNumber("General.Terminal", 0)
    sound = [filled(file) for file in sys.argv[1:]]
    gmsh.finalize()
    sys.exit(0 if sound and all(sound) else 1)
