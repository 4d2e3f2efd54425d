"""Files out of solids and meshes: STEP, STL, 3MF, GLB, lumen, manifest; whole or not at all, repeatable."""
