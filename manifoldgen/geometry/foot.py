"""The nearest place of a centreline to points, in closed form on every line and arc."""

from __future__ import annotations

import math

import numpy as np

from manifoldgen.geometry.path import Arc, Line, Path
from manifoldgen.geometry.vectors import Array, array


def nearest(path: Path, points: Array) -> tuple[Array, Array]:
    """Distance of every point (n, 3) to a centreline, and the arc length of the foot, mm."""
    best, along, start = np.full(len(points), math.inf), np.zeros(len(points)), 0.0
    for segment in path.segments:
        if isinstance(segment, Line):
            s = np.clip((points - array(segment.at)) @ array(segment.direction), 0.0, segment.length)
            foot = array(segment.at) + s[:, None] * array(segment.direction)
        else:
            s, foot = _on_arc(segment, points)
        off = np.linalg.norm(points - foot, axis=1)
        nearer = off < best
        best[nearer], along[nearer] = off[nearer], start + s[nearer]
        start += segment.length
    return best, along


def _on_arc(arc: Arc, points: Array) -> tuple[Array, Array]:
    radial, travel = array(arc.radial), array(arc.direction)
    v = points - array(arc.centre)
    whole = math.radians(arc.angle)
    turn = np.arctan2(v @ travel, v @ radial) % (2 * math.pi)
    turn = np.where(turn <= whole, turn, np.where(turn - whole < 2 * math.pi - turn, whole, 0.0))
    foot = array(arc.centre) + arc.clr * (np.cos(turn)[:, None] * radial + np.sin(turn)[:, None] * travel)
    return turn * arc.clr, foot
