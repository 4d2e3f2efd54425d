"""A flange as solid shapes."""

from __future__ import annotations

from manifoldgen.geometry.shapes import Cylinder, Plate, Shape
from manifoldgen.geometry.vectors import vec
from manifoldgen.manifold.model import Flange


def flange_bodies(flange: Flange) -> tuple[Shape, ...]:
    """A flange as a plate; a V-band as its body and its clamp round the joint face."""
    if flange.outline is not None:
        return (Plate(flange.frame, flange.outline, flange.thickness),)
    if flange.vband is None:
        return ()
    joint = flange.thickness if flange.tube_side == "start" else 0.0
    reach = flange.vband.clamp_width / 2

    def disc(a: float, b: float, diameter: float) -> Cylinder:
        start, end = (vec(flange.frame.out((0.0, 0.0, z))) for z in (a, b))
        return Cylinder(start, end, diameter / 2)

    body = disc(0.0, flange.thickness, flange.vband.od)
    return (body, disc(joint - reach, joint + reach, flange.vband.clamp_od))
