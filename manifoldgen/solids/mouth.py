"""Where a branch tube passes through its parent's wall: how far along each of them the mouth reaches.

The branch's skin is followed ring by ring, 1 mm apart: a ring still touching the parent belongs to the mouth.
Sampled, with a margin that covers the sampling.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from manifoldgen.errors import GeometryError
from manifoldgen.geometry.foot import nearest
from manifoldgen.geometry.path import Path, Straight
from manifoldgen.geometry.vectors import Array, array, first_square_to
from manifoldgen.manifold.model import Branch, Collector, Section

STEP = 1.0  # mm between rings
AROUND = 72  # samples round a ring
MARGIN = 3.0  # mm kept between the mouth and the end of what is built in one go
LARGEST = 0.95  # branch radius over parent radius: nearer to 1 the kernel's saddle is not sound
INSIDE = 0.3  # mm the branch must start inside its parent's skin


@dataclass(frozen=True)
class Mouth:
    """What the mouth touches: mm along the branch's axis from its root, and along the parent from its start."""

    branch: float
    first: float
    last: float


def on_run(branch: Branch, parent: Path, section: Section, name: str) -> Mouth:
    """The mouth of a branch off a bend.

    Raises GeometryError where the branch is not clearly smaller than its parent, breaks out before the bend,
    has too short a first straight, or reaches an end of the parent; names both sides and the missing mm.
    """
    part, tube = branch.run.name, branch.run.section
    _refuse_large(part, tube, section.radius, name)
    straight = first_straight(branch)
    skin = _skin(branch, straight, tube.radius)
    off, along = nearest(parent, skin.reshape(-1, 3))
    off, along = off.reshape(skin.shape[:2]), along.reshape(skin.shape[:2])
    if (out := float(off[0].max()) - (section.radius - INSIDE)) > 0:
        raise GeometryError(
            f"{part}: its tube ({tube.od:g} mm, shift {branch.shift:g} mm) breaks out of the {name} ({section.od:g} mm) "
            f"before the bend by {out:.1f} mm; shift it less or take a smaller tube"
        )
    touching = off <= section.radius
    reach = float(np.flatnonzero(touching.any(axis=1)).max()) * STEP + STEP
    _refuse_short(part, straight, reach, name)
    first, last = float(along[touching].min()), float(along[touching].max())
    for end, missing in (("start", MARGIN - first), ("end", last + MARGIN - parent.length)):
        if missing > 0:
            raise GeometryError(
                f"{part}: its mouth needs {missing:.1f} mm more of the {name} at its {end}; lengthen the straight "
                "there, aim the branch wider or shift it outwards"
            )
    return Mouth(reach, first, last)


def on_cone(branch: Branch, collector: Collector) -> Mouth:
    """The mouth of a branch off the collector's cone; `first`, `last` are depths from the ring plane.

    Raises GeometryError as `on_run`, and where the mouth does not stay on the cone.
    """
    part, tube, slope = branch.run.name, branch.run.section, cone_slope(collector)
    straight = first_straight(branch)
    points = collector.frame.into(_skin(branch, straight, tube.radius))
    depth = points[..., 2]
    radius = np.hypot(points[..., 0], points[..., 1])
    inside = radius <= collector.outlet.radius + (collector.length - depth) * slope
    if not inside[0].all():
        raise GeometryError(f"{part}: its axis does not start inside the collector's cone; aim it wider")
    _refuse_large(
        part, tube, collector.outlet.radius + (collector.length - float(depth[inside].min())) * slope, "cone"
    )
    rings = np.flatnonzero(inside.any(axis=1))
    reach = float(rings.max()) * STEP + STEP
    _refuse_short(part, straight, reach, "cone")
    leaves = inside.shape[0] - 1 - np.argmax(inside[::-1], axis=0)
    exits = depth[leaves, np.arange(depth.shape[1])]
    first, last = float(exits.min()), float(exits.max())
    low, high = collector.merge_depth + MARGIN, collector.length - MARGIN
    if (missing := max(low - first, last - high)) > 0:
        raise GeometryError(
            f"{part}: its mouth runs from {first:.1f} to {last:.1f} mm behind the ring plane, the cone gives room from "
            f"{low:.1f} to {high:.1f} mm; move it by {missing:.1f} mm, take a smaller tube or a longer cone"
        )
    return Mouth(reach, first, last)


def cone_slope(collector: Collector) -> float:
    """How fast the cone narrows, mm of radius a mm of depth."""
    return (collector.rim_radius - collector.outlet.radius) / (collector.length - collector.merge_depth)


def first_straight(branch: Branch) -> float:
    """Length of straight from the branch's root to its first bend, mm (its path begins at the wall)."""
    if branch.run.path is None:
        return 0.0
    length = float((array(branch.run.path.start.at) - array(branch.root)) @ array(branch.axis))
    for element in branch.run.path.elements:
        if not isinstance(element, Straight):
            break
        length += element.length
    return length


def _refuse_large(part: str, tube: Section, parent: float, name: str) -> None:
    if tube.radius > LARGEST * parent:
        raise GeometryError(
            f"{part}: a branch of {tube.od:g} mm is not clearly smaller than the {name} of {2 * parent:.1f} mm; "
            f"take at most {2 * LARGEST * parent:.1f} mm"
        )


def _refuse_short(part: str, straight: float, reach: float, name: str) -> None:
    if (missing := reach + MARGIN - straight) > 0:
        raise GeometryError(
            f"{part}: its first straight ends inside the wall of the {name}; lengthen it by {missing:.1f} mm or aim the "
            "branch wider"
        )


def _skin(branch: Branch, length: float, radius: float) -> Array:
    """Points of the branch's outer skin, rings STEP apart: (rings, AROUND, 3)."""
    axis = array(branch.axis)
    u = first_square_to(((0.0, 1.0, 0.0), (1.0, 0.0, 0.0)), axis)
    turn = np.linspace(0.0, 2 * math.pi, AROUND, endpoint=False)[:, None]
    ring = radius * (np.cos(turn) * u + np.sin(turn) * np.cross(axis, u))
    steps = np.arange(0.0, length, STEP)[:, None, None] if length > 0 else np.zeros((1, 1, 1))
    skin: Array = array(branch.root) + steps * axis + ring
    return skin
