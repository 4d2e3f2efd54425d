"""`python -m manifoldgen.readers._tessellate IN.step OUT.npz DEFLECTION`: the only place here with the CAD kernel."""

from __future__ import annotations

import sys

import numpy as np

ANGLE = 0.35  # rad between neighbouring facets, some 20°: the deflection governs


def main(source: str, target: str, deflection: float) -> str | None:
    """Mesh every face of a STEP file into one npz; what is wrong with it, or None."""
    from OCP.BRep import BRep_Tool
    from OCP.BRepMesh import BRepMesh_IncrementalMesh
    from OCP.IFSelect import IFSelect_RetDone
    from OCP.STEPControl import STEPControl_Reader
    from OCP.TopAbs import TopAbs_FACE, TopAbs_REVERSED
    from OCP.TopExp import TopExp_Explorer
    from OCP.TopLoc import TopLoc_Location
    from OCP.TopoDS import TopoDS

    reader = STEPControl_Reader()
    if reader.ReadFile(source) != IFSelect_RetDone:
        return "does not read as STEP, it is cut short or damaged: export it again"
    reader.TransferRoots()
    shape = reader.OneShape()
    if shape.IsNull():
        return "holds no body: export a solid or a surface"
    BRepMesh_IncrementalMesh(shape, deflection, False, ANGLE, False)  # noqa: FBT003
    corners, faces, count = [], [], 0
    walk = TopExp_Explorer(shape, TopAbs_FACE)
    while walk.More():
        face = TopoDS.Face_s(walk.Current())
        place = TopLoc_Location()
        mesh = BRep_Tool.Triangulation_s(face, place)
        if mesh is not None:
            move = place.Transformation()
            for i in range(1, mesh.NbNodes() + 1):
                p = mesh.Node(i).Transformed(move)
                corners.append((p.X(), p.Y(), p.Z()))
            back = face.Orientation() == TopAbs_REVERSED
            for i in range(1, mesh.NbTriangles() + 1):
                a, b, c = mesh.Triangle(i).Get()
                faces.append([k - 1 + count for k in ((a, c, b) if back else (a, b, c))])
            count += mesh.NbNodes()
        walk.Next()
    if not faces:
        return "holds no body: export a solid or a surface"
    np.savez(target, vertices=np.array(corners), faces=np.array(faces, dtype=np.int64))
    return None


if __name__ == "__main__":
    refused = main(sys.argv[1], sys.argv[2], float(sys.argv[3]))
    if refused is not None:
        sys.stderr.write(refused + "\n")
        sys.exit(3)
