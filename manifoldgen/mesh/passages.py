"""What leads from one outline to a round: the gas passage of a flange, a formed transition tube."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np

from manifoldgen.geometry import contour
from manifoldgen.geometry.contour import Contour
from manifoldgen.geometry.edges import ArcEdge
from manifoldgen.geometry.pose import Frame
from manifoldgen.geometry.vectors import Array, Vec, array, unit
from manifoldgen.manifold.model import Opening
from manifoldgen.mesh.rings import SAG, edges_of, fair

_SQUARE = 1e-9  # sine of a lean that counts as none
_ROOM = 5.0  # mm: what a tube may stand outside its port when corners are counted
_ALONG = 20  # steps of a straight edge that becomes round: its wall is twisted
LAYERS = 4  # of such a wall, for the same reason
_LONGEST = 2.0 * math.pi / 3  # radians: longer arcs of an outline are parted before they meet the round


def lofted(opening: Opening, grown: float, radius: float, lean: Vec, frame: Frame) -> tuple[Array, Array]:
    """Corners of an opening (grown outwards by `grown` mm) and of the round it becomes, one to one.

    Both lie in the plane of `frame`, (n, 2) each, the round about (0, 0): a circle of `radius`, or the ellipse
    that a tube in the direction `lean` leaves there. The opening stands at its own place.
    """
    u, v, cosine = _axes(frame, lean)
    if opening.kind == "round":
        count = edges_of(opening.width / 2 + _ROOM)
        turn = array(np.arange(count) * (2 * math.pi / count))
        across = np.outer(np.cos(turn), u) + np.outer(np.sin(turn), v)
        mouth = fair(opening.width / 2 + grown, count) * across + array(opening.at)
        return mouth, fair(radius, count) * _ellipse(turn, u, v, cosine)
    outline = _grown(opening, grown).moved(*opening.at)
    corners, shares = _drawn(outline, grown)
    # as many steps on the round as on the outline's edge, in proportion to the turn
    starts = array([corners[k] for k in np.flatnonzero(shares == 0.0)])
    seen = starts - starts.mean(axis=0)
    angles = np.unwrap(np.arctan2(seen @ v, seen @ u * cosine))
    angles = np.append(angles, angles[0] + 2 * math.pi)
    edge = np.cumsum(shares == 0.0) - 1
    turn = angles[edge] + shares * (angles[edge + 1] - angles[edge])
    return corners, _area_kept(turn, radius) * _ellipse(turn, u, v, cosine)


def layers(low: Array, high: Array) -> list[Array]:
    """Rings from one ring to another of as many corners, on the straight lines between them."""
    return [(1.0 - share) * low + share * high for share in np.linspace(0.0, 1.0, LAYERS + 1)]


def round_on(radius: float, lean: Vec, frame: Frame) -> Array:
    """The edge that a round bar in the direction `lean` leaves on the frame's plane, about (0, 0), (n, 2)."""
    count = edges_of(radius)
    return fair(radius, count) * _ellipse(
        array(np.arange(count) * (2 * math.pi / count)), *_axes(frame, lean)
    )


def _ellipse(turn: Array, u: Array, v: Array, cosine: float) -> Array:
    drawn: Array = np.outer(np.cos(turn) / cosine, u) + np.outer(np.sin(turn), v)
    return drawn


def _axes(frame: Frame, lean: Vec) -> tuple[Array, Array, float]:
    """The way a tube leans and the way across, in the frame's plane, and the cosine of its lean."""
    d = frame.matrix.T @ unit(lean)
    flat = array(d[:2])
    u = unit(flat) if float(np.linalg.norm(flat)) > _SQUARE else np.array([1.0, 0.0])
    return u, np.array([-u[1], u[0]]), abs(float(d[2]))


def _drawn(outline: Contour, grown: float) -> tuple[Array, Array]:
    """Corners of an outline, (n, 2), and how far along its own edge each stands, 0 … 1; as many however grown."""
    points: list[tuple[float, float]] = []
    shares: list[float] = []
    for edge in outline.edges():
        parts = max(1, math.ceil(abs(edge.sweep) / _LONGEST - 1e-9)) if isinstance(edge, ArcEdge) else 1
        for a, b in pairwise(np.linspace(0.0, 1.0, parts + 1).tolist()):
            steps = _steps(edge.sweep / parts, edge.radius - grown) if isinstance(edge, ArcEdge) else _ALONG
            for k in range(steps):
                points.append(edge.point(a + (b - a) * k / steps))
                shares.append(k / steps)
    return array(points), array(shares)


def _steps(sweep: float, radius: float) -> int:
    whole = edges_of(radius, SAG / 2)
    return max(4, math.ceil(whole * abs(sweep) / (2 * math.pi)))


def _area_kept(turn: Array, radius: float) -> float:
    """Corner radius with which the polygon of these turns has the circle's area."""
    step = np.diff(turn, append=turn[0] + 2 * math.pi)
    return radius * math.sqrt(2 * math.pi / float(np.sin(step).sum()))


def _grown(opening: Opening, by: float) -> Contour:
    if opening.kind == "drawn":  # only ever as it is: no formed tube begins at it
        return opening.contour
    width, height = opening.width + 2 * by, opening.height + 2 * by
    if opening.kind == "oval":
        return contour.oval(width, height)
    return contour.rectangle(width, height, opening.corner + by if opening.corner > 0 else 0.0)
