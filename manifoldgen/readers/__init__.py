"""Foreign files as plain arrays: scans (STL, OBJ, PLY) and STEP bodies, kept by their content.

    scan = read("bay.stl")              # Scan: name, size, closed or not; no arrays
    vertices, faces = triangles(scan)   # arrays, in mm
    tree(scan)                          # the same behind a tree of boxes

Reading loads trimesh, and the CAD kernel only in a process of its own; a file that was read before on this
machine loads neither.
"""

from manifoldgen.readers.read import read
from manifoldgen.readers.scan import Scan, tree, triangles

__all__ = ["Scan", "read", "tree", "triangles"]
