"""Triangles as few bytes: corners in 16 bits over the whole scene's box, corner numbers in 16 or 32."""

from __future__ import annotations

import base64
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from manifoldgen.geometry.vectors import Array
from manifoldgen.mesh.triangles import Mesh

_STEPS = 65535


@dataclass(frozen=True)
class Packed:
    """All meshes of a page.

    low, step : corner of the box and mm a step, by axis.  rows : for each mesh where its corners and its
    triangles begin (bytes), how many there are, and whether corner numbers take 4 bytes.
    """

    text: str
    low: list[float]
    step: list[float]
    rows: list[list[int]]


def packed(meshes: Iterable[Mesh]) -> Packed:
    """Pack meshes; corners move by at most half a step (0.01 mm in a job of a metre)."""
    held = list(meshes)
    points: Array = np.concatenate([m.vertices for m in held] or [np.zeros((1, 3))])
    low = points.min(axis=0)
    step = np.maximum(points.max(axis=0) - low, 1e-6) / _STEPS
    chunks: list[bytes] = []
    rows: list[list[int]] = []
    at = 0
    for mesh in held:
        corners = np.rint((mesh.vertices - low) / step).clip(0, _STEPS).astype("<u2").tobytes()
        wide = len(mesh.vertices) > _STEPS
        numbers = mesh.triangles.astype("<u4" if wide else "<u2").tobytes()
        begin = at
        for data in (corners, numbers):
            padded = data + b"\0" * (-len(data) % 4)
            chunks.append(padded)
            at += len(padded)
        middle = begin + len(corners) + (-len(corners) % 4)
        rows.append([begin, len(mesh.vertices), middle, len(mesh.triangles), int(wide)])
    return Packed(base64.b64encode(b"".join(chunks)).decode("ascii"), low.tolist(), step.tolist(), rows)
