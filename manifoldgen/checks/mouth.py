"""How much of a bend or cone a branch's mouth takes."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from manifoldgen.geometry.vectors import array, first_square_to
from manifoldgen.manifold.model import Branch, Collector

LINES = 720  # lines along the branch's wall that are followed to the parent's wall


@dataclass(frozen=True)
class Mouth:
    """Where a mouth begins and ends: degrees of the bend, mm of the cone.

    over : mm the branch stands beyond the side of its tube; 0 where it leaves through the wall all round.
    """

    first: float
    last: float
    over: float = 0.0


def on_bend(clr: float, parent: float, branch: float, aim: float, shift: float) -> Mouth:
    """The mouth of a branch off the outside of a bend.

    A line along the branch's wall, at distance z from the bend's plane, leaves the tube through a circle
    of radius clr + √(parent² - z²) about the bend's axis: a closed form for every line.

    Parameters
    ----------
    clr : of the bend.  parent, branch : outer radii.  shift : as the branch's.  All mm; aim in degrees.
    """
    a = math.radians(aim)
    phi = np.arange(LINES) * 2 * math.pi / LINES
    across, z = branch * np.cos(phi), branch * np.sin(phi)
    if branch >= parent:
        return Mouth(0.0, 0.0, branch - parent)
    reach = clr + np.sqrt(parent**2 - z**2)
    # the line's distance from the bend's axis, and the place along it that is nearest to the axis
    height = (clr + shift) * math.cos(a) + across
    over = float(np.max(np.abs(height) - reach))
    if over > 0:
        return Mouth(0.0, 0.0, over)
    run = np.sqrt(reach**2 - height**2)
    x = run * math.cos(a) - height * math.sin(a)
    y = run * math.sin(a) + height * math.cos(a)
    turn = np.degrees(np.arctan2(x, y))
    return Mouth(float(turn.min()), float(turn.max()))


def on_cone(collector: Collector, branch: Branch) -> Mouth:
    """The mouth of a branch off the cone, mm along the collector's axis from the ring plane.

    Every line along the branch's wall meets the cone in a quadratic: a closed form for every line. A line that
    runs along inside the cone is followed for four of its radii.
    """
    at, along = collector.frame.into(branch.root), collector.frame.matrix.T @ array(branch.axis)
    u = first_square_to(((0.0, 1.0, 0.0), (1.0, 0.0, 0.0)), along)
    phi = np.arange(LINES)[:, None] * 2 * math.pi / LINES
    start = at + branch.run.section.radius * (np.cos(phi) * u + np.sin(phi) * np.cross(along, u))
    slope = (collector.rim_radius - collector.outlet.radius) / (collector.length - collector.merge_depth)
    radius = collector.outlet.radius + (collector.length - start[:, 2]) * slope  # of the cone at each start
    a = float(along[:2] @ along[:2]) - (slope * along[2]) ** 2
    b = start[:, :2] @ along[:2] + slope * along[2] * radius
    c = (start[:, :2] ** 2).sum(axis=1) - radius**2
    root = np.sqrt(np.maximum(b * b - a * c, 0.0))
    leaves = np.where(b * b < a * c, -1.0, b + root)
    longest = 4 * collector.rim_radius
    run = np.where(leaves > 0, -c / np.where(leaves > 0, leaves, 1.0), longest).clip(0.0, longest)
    depth = start[:, 2] + run * along[2]
    return Mouth(float(depth.min()), float(depth.max()))
