"""Closed plane outlines of straight and round edges: openings, flange outlines, their areas and offsets.

A contour is a ring of vertices (x, y, bulge); the bulge belongs to the edge that leaves the vertex and is
the tangent of a quarter of its arc's angle, positive counter-clockwise (the open DXF convention).
Contours run counter-clockwise.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Contour:
    """A closed outline, counter-clockwise.  vertices : (x, y, bulge) each, mm."""

    vertices: tuple[tuple[float, float, float], ...]
