"""Compiled kernel that turns a scan's triangles into signed distances on a grid."""

# mypy: ignore-errors
# ruff: noqa: FBT001, PLR0917 - compiled kernels are loops over plain arrays
from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from manifoldgen.compiled.mark import kernel
from manifoldgen.geometry._mesh_kernels import inside, point
from manifoldgen.geometry.vectors import Array

Ints = NDArray[np.integer]


@kernel("void(f8[:, ::1], i4[:, ::1], f8[:, ::1], f8[::1], f8, i8[::1], f8[::1], b1)")
def fill(
    boxes: Array, links: Ints, corners: Array, low: Array, step: float, counts: Ints, values: Array, closed: bool
) -> None:  # fmt: skip
    """Distance of every grid point to the triangles, negative inside a closed surface; the last axis runs fastest.

    A neighbour is at most a step further off, which bounds the search; and it lies on the same side where it
    is further than a step from the surface.
    """
    k = 0
    for i in range(counts[0]):
        for j in range(counts[1]):
            before = math.inf
            within = False
            for m in range(counts[2]):
                x, y, z = low[0] + step * i, low[1] + step * j, low[2] + step * m
                d = point(boxes, links, corners, x, y, z, before + 1.001 * step)[0]
                if closed and (m == 0 or before <= step):
                    within = inside(boxes, corners, x, y, z)
                values[k] = -d if within else d
                before = d
                k += 1
