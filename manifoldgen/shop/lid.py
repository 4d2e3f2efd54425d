"""The collector's lid as a flat plate: its rim and the outline of all lumens through it."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from manifoldgen.geometry.vectors import Array, cos_sin
from manifoldgen.manifold.model import Collector, Manifold
from manifoldgen.shop.plates import sheet_piece

_STEPS = 48  # points along one lobe


@dataclass(frozen=True, eq=False)
class Lid:
    """A merge collector's lid or a bundle's plate, seen from the outlet end, on its upstream face.

    piece, joints : ids.  wall : mm.  rim : outside radius on the upstream face; the edge leans by `edge`
        degrees, narrower downstream where positive.
    holes : closed outlines, (n, 2) mm about the axis, x and y of the collector's frame.
    lean : how far the lumens move inwards from face to face, mm.
    cylinders : number and direction (degrees, counter-clockwise from x) of every inlet.
    """

    piece: str
    joints: tuple[str, ...]
    wall: float
    rim: float
    edge: float
    holes: tuple[Array, ...]
    lean: float
    cylinders: tuple[tuple[int, float], ...]
    material: str


def lids(m: Manifold) -> tuple[Lid, ...]:
    """The lid of every collector that is on the cut list."""
    made = []
    for c in m.collectors:
        piece = sheet_piece(m, c, 1)
        if piece is not None:
            names = tuple((n, (a + 90.0) % 360.0) for n, a in zip(c.order, c.ring_angles, strict=True))
            lean = c.section.wall * cos_sin(c.half_angle)[1] / cos_sin(c.half_angle)[0]
            made.append(
                Lid(
                    piece.id, piece.joints, c.section.wall, c.rim_radius, c.cone_half_angle, lumens(c), lean,
                    names, c.section.material,
                )
            )  # fmt: skip
    return tuple(made)


def lumens(c: Collector) -> tuple[Array, ...]:
    """Outline of the inlets' bores in the plane of the flat cut, (n, 2) mm about the axis.

    One outline of N lobes for a merge (all bores have reached the axis there), N ellipses for a bundle.
    """
    cg, sg = cos_sin(c.half_angle)
    a, b = c.section.bore_radius / cg, c.section.bore_radius
    centre = c.ring_radius - c.merge_depth * sg / cg
    if c.kind == "bundle":
        t = np.linspace(0.0, 2 * math.pi, 4 * _STEPS + 1)[:-1]
        ellipse = np.stack([centre + a * np.cos(t), b * np.sin(t)], axis=1)
        return tuple(_turned(ellipse, angle + 90.0) for angle in c.ring_angles)
    half = math.pi / len(c.order)
    t = np.linspace(-half, half, _STEPS + 1)[:-1]
    # far root of the ray (u cos t, u sin t) with the ellipse ((x - centre) / a)² + (y / b)² = 1
    cos, sin = np.cos(t) / a, np.sin(t) / b
    k = cos**2 + sin**2
    m = cos * centre / a
    u = (m + np.sqrt(np.maximum(m**2 - k * ((centre / a) ** 2 - 1), 0.0))) / k
    lobe = np.stack([u * np.cos(t), u * np.sin(t)], axis=1)
    return (np.concatenate([_turned(lobe, angle + 90.0) for angle in sorted(_positive(c))]),)


def _positive(c: Collector) -> list[float]:
    return [a % 360.0 for a in c.ring_angles]


def _turned(points: Array, angle: float) -> Array:
    c, s = cos_sin(angle)
    turned: Array = points @ np.array([[c, s], [-s, c]])
    return turned
