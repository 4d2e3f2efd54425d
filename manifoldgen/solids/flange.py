"""Flange solids: a plate (or a V-band ring) with its holes and gas passages, sewn face to face.

    z = thickness ─┬──────┐  ╱ bore ╲  ┌─┬─  tube side of a head flange
                   │ hole │ │passage│  │ │   the opening becomes the tube's round bore within the thickness
    z = 0  ────────┴──────┘╱ opening ╲─┴─┴─  mating face

The passage ends in the very edge the tube's bore leaves on that face: a circle, or an ellipse where the tube
stands obliquely. So the lumen has no step, and the tube's ring lies on the face all round.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import cadquery as cq
import numpy as np

from manifoldgen.errors import GeometryError
from manifoldgen.geometry import contour
from manifoldgen.geometry.vectors import Array, Vec, array, unit
from manifoldgen.manifold.model import Flange, Opening
from manifoldgen.solids import ruled
from manifoldgen.solids.ruled import Ring

RIM = 2.0  # mm: cylindrical rim of a V-band at its mating face (assumed)
FLANK = 20.0  # degrees: flank of a V-band against its face; half of the usual 40° band (from memory)
LEAST_RISE = math.cos(math.radians(45))  # a tube leaning further has no sound ring on the face
LEAST_WEB = 0.1  # mm between holes, passages and the outline, under which a plate falls apart
HUB = 3.0  # mm: V-band metal outside the tube at the tube face (assumed)


@dataclass(frozen=True)
class Bore:
    """The way of the gas through a flange.

    mouth : its ring on the mating face.  end : its ring where the tube's bore takes over, on the tube face or
    the floor of the socket.  pocket : floor and face ring of the socket, or None.
    """

    mouth: Ring
    end: Ring
    pocket: tuple[Ring, Ring] | None = None

    @property
    def at_face(self) -> Ring:
        """Its ring on the tube face."""
        return self.pocket[1] if self.pocket else self.end

    @property
    def lumen(self) -> cq.Shape:
        """The gas inside, as a solid."""
        return ruled.sewn([ruled.cap(self.mouth), ruled.cap(self.end), *ruled.wall(self.mouth, self.end)])

    @property
    def lumen_volume(self) -> float:
        """Volume of the gas inside, mm³."""
        return abs(ruled.between(self.mouth, self.end))

    @property
    def volume(self) -> float:
        """All that is missing from the plate, mm³."""
        return self.lumen_volume + (abs(ruled.between(*self.pocket)) if self.pocket else 0.0)

    @property
    def walls(self) -> list[cq.Face]:
        """Faces of the plate round the passage."""
        faces = ruled.wall(self.mouth, self.end)
        if self.pocket:
            faces += [*ruled.wall(*self.pocket), ruled.cap(self.pocket[0], [self.end])]
        return faces


def seat_depth(flange: Flange) -> float:
    """How deep a tube stands in the flange, mm along the flange's axis (0 for a butt fit)."""
    return flange.seat_depth


def passages(flange: Flange, axes: Sequence[Vec] = ()) -> tuple[Bore, ...]:
    """The gas passages of a flange, in the order of its openings.

    axes : the direction of the tube at each opening; square to the flange where left out.
    Raises GeometryError for a formed transition tube in a socket, and for a tube that leans too far.
    """
    if flange.fit == "socket" and flange.transition == "tube":
        raise GeometryError(
            "a formed transition tube cannot stand in a socket; take `fit: butt` or `transition: flange`",
            flange.name,
        )
    leans = axes or [flange.frame.z] * len(flange.openings)
    return tuple(_passage(flange, o, d) for o, d in zip(flange.openings, leans, strict=True))


def _passage(flange: Flange, opening: Opening, axis: Vec) -> Bore:
    frame, t = flange.frame, flange.thickness
    mating, face, inward = (0.0, t, -1.0) if flange.tube_side == "end" else (t, 0.0, 1.0)
    d = unit(axis)
    rise = float(d @ array(frame.z))
    if rise < LEAST_RISE:
        raise GeometryError(
            f"a tube leaning {math.degrees(math.acos(max(-1.0, min(1.0, rise)))):.1f}° from square "
            f"cannot be joined; keep it under {math.degrees(math.acos(LEAST_RISE)):.0f}°",
            flange.name,
        )

    def middle(height: float) -> Array:
        moved: Array = frame.out((*opening.at, face)) + d * ((height - face) / rise)
        return moved

    mouth = _mouth(flange, opening, mating, d)
    if flange.transition == "tube":
        return Bore(mouth, _mouth(flange, opening, face, d))
    floor = face + inward * seat_depth(flange)
    like = None if opening.kind == "round" else mouth
    end = ruled.bore(middle(floor), frame, d, flange.tube.bore_radius, like)
    if floor == face:
        return Bore(mouth, end)
    pocket = [ruled.bore(middle(h), frame, d, flange.tube.radius) for h in (floor, face)]
    return Bore(mouth, end, (pocket[0], pocket[1]))


def _mouth(flange: Flange, opening: Opening, height: float, axis: Array) -> Ring:
    if opening.kind == "round":
        return ruled.circle(flange.frame.out((*opening.at, height)), flange.frame, opening.width / 2, axis)
    return ruled.outline(opening.contour.moved(*opening.at), flange.frame, height)


def flange_solid(flange: Flange, axes: Sequence[Vec] = ()) -> cq.Shape:
    """The flange in place, holes and gas passages through it.

    axes : as for `passages`.  Raises GeometryError where holes, passages and the outline run into each other.
    """
    through = passages(flange, axes)
    body = _body(flange)
    low, high = body[0], body[-1]
    holes = [tuple(_hole(flange, k, h) for h in (0.0, flange.thickness)) for k in range(len(flange.holes))]
    _check(flange, through)
    feet = _feet(flange, through, axes)
    mouths = [p.mouth for p in through]
    seats = [foot or p.at_face for p, foot in zip(through, feet, strict=True)]
    first, last = (mouths, seats) if flange.tube_side == "end" else (seats, mouths)
    faces = [
        ruled.cap(low, [*(h[0] for h in holes), *first]),
        ruled.cap(high, [*(h[1] for h in holes), *last]),
    ]
    faces += [ruled.cap(foot, [p.at_face]) for p, foot in zip(through, feet, strict=True) if foot]
    for a, b in (*pairwise(body), *holes):
        faces += ruled.wall(a, b)
    for p in through:
        faces += p.walls
    return ruled.sewn(faces)


def flange_volume(flange: Flange, axes: Sequence[Vec] = ()) -> float:
    """Volume of the flange in mm³, in closed form: body less holes less passages."""
    body = math.fsum(abs(ruled.between(a, b)) for a, b in pairwise(_body(flange)))
    holes = math.fsum(math.pi * h.diameter**2 / 4 * flange.thickness for h in flange.holes)
    return body - holes - math.fsum(p.volume for p in passages(flange, axes))


def flange_genus(flange: Flange) -> int:
    """How many ways lead through the flange."""
    return len(flange.openings) + len(flange.holes)


def _hole(flange: Flange, k: int, height: float) -> Ring:
    hole = flange.holes[k]
    return ruled.circle(flange.frame.out((*hole.at, height)), flange.frame, hole.diameter / 2)


def _body(flange: Flange) -> list[Ring]:
    """The rings of its outside, along z: two for a plate, four for a V-band (hub, flank, rim)."""
    frame, t = flange.frame, flange.thickness
    if flange.outline is not None:
        return [ruled.outline(flange.outline, frame, h) for h in (0.0, t)]
    if flange.vband is None:
        raise GeometryError("a flange needs an outline or a V-band", flange.name)
    rim = flange.vband.od / 2
    hub = flange.tube.radius + HUB
    drop = (rim - hub) * math.tan(math.radians(FLANK))
    if not 0 < drop < t - RIM:
        raise GeometryError(
            f"a V-band of {flange.vband.od:g} mm with {t:g} mm thickness has no flank down to "
            f"{2 * hub:g} mm around its tube; use {2 * hub + 1:g} mm or more, or a thicker one",
            flange.name,
        )
    sides = [(0.0, hub), (t - RIM - drop, hub), (t - RIM, rim), (t, rim)]
    if flange.tube_side == "end":
        sides = [(t - h, r) for h, r in reversed(sides)]
    return [ruled.circle(frame.out((0.0, 0.0, h)), frame, r) for h, r in sides]


def _check(flange: Flange, through: Sequence[Bore]) -> None:
    """Refuse holes and passages that run into each other or out of the body, on either face."""
    mating = [_local(flange, p.mouth) for p in through]
    face = [_local(flange, p.at_face) for p in through]
    names = [f"opening {k + 1}" for k in range(len(through))]
    body = _body(flange)
    if flange.outline is None:
        _check_neck(flange, through, body)
    for rings, edge in (
        (mating, body[0 if flange.tube_side == "end" else -1]),
        (face, body[-1 if flange.tube_side == "end" else 0]),
    ):
        around = _polygon(_local(flange, edge))
        outlines = [*zip(names, map(_polygon, rings), strict=True)]
        outlines += [(h.id, contour.circle(h.diameter).moved(*h.at)) for h in flange.holes]
        for k, (name, one) in enumerate(outlines):
            if contour.gap(one, around) < LEAST_WEB or not contour.contains(around, one.vertices[0]):
                raise GeometryError(
                    f"{name} breaks through the outline; move it in or widen the outline", flange.name
                )
            for other, two in outlines[:k]:
                if _far(one, two):
                    continue
                if (
                    contour.gap(one, two) < LEAST_WEB
                    or contour.contains(one, two.vertices[0])
                    or contour.contains(two, one.vertices[0])
                ):
                    raise GeometryError(
                        f"{other} and {name} run into each other; move them apart", flange.name
                    )


def _feet(flange: Flange, through: Sequence[Bore], axes: Sequence[Vec]) -> list[Ring | None]:
    """Where butt tubes stand on the face: a ring of the tube's outside, scribed into the face.

    With it, tube and flange share a whole face and are glued as fast as two tubes.  None where the ring
    would leave the face or touch a hole: the tube then stands over an edge, and is glued the slow way.
    """
    if flange.fit != "butt" or flange.transition != "flange":
        return [None] * len(through)
    at_end = flange.tube_side == "end"
    height = flange.thickness if at_end else 0.0
    body = _body(flange)
    around = _polygon(_local(flange, body[-1 if at_end else 0]))
    holes = [contour.circle(h.diameter).moved(*h.at) for h in flange.holes]
    leans = axes or [flange.frame.z] * len(flange.openings)
    rings = [
        ruled.bore(flange.frame.out((*o.at, height)), flange.frame, unit(d), flange.tube.radius)
        for o, d in zip(flange.openings, leans, strict=True)
    ]
    drawn = [_polygon(_local(flange, ring)) for ring in rings]
    feet: list[Ring | None] = []
    for k, (ring, edge) in enumerate(zip(rings, drawn, strict=True)):
        others = [*holes, *drawn[:k], *drawn[k + 1 :]]
        inside = contour.contains(around, edge.vertices[0]) and contour.gap(edge, around) > LEAST_WEB
        apart = all(_far(edge, other) or contour.gap(edge, other) > LEAST_WEB for other in others)
        feet.append(ring if inside and apart else None)
    return feet


def _far(one: contour.Contour, two: contour.Contour) -> bool:
    """Whether their bounding boxes alone keep two outlines apart."""
    (ax0, ay0, ax1, ay1), (bx0, by0, bx1, by1) = one.bounds, two.bounds
    return max(bx0 - ax1, ax0 - bx1, by0 - ay1, ay0 - by1) > LEAST_WEB


def _check_neck(flange: Flange, through: Sequence[Bore], body: Sequence[Ring]) -> None:
    """Refuse a passage that comes out of a V-band's hub or flank between the two faces."""
    middles = [flange.frame.into(ruled.middle(ring)) for ring in body]
    radii = [float(np.linalg.norm(ring[0].u)) for ring in body if isinstance(ring[0], ruled.RoundEdge)]
    steps = np.linspace(0.0, 1.0, 40)[:, None, None]
    s = np.linspace(0.0, 1.0, 24)
    for passage in through:
        for a, b in ((passage.mouth, passage.end), *([passage.pocket] if passage.pocket else [])):
            for p, q in zip(a, b, strict=True):
                start = p.at(s)[0]
                points = flange.frame.into((start + steps * (q.at(s)[0] - start)).reshape(-1, 3))
                room = np.interp(points[:, 2], [m[2] for m in middles], radii) - np.hypot(
                    points[:, 0], points[:, 1]
                )
                if (least := float(room.min())) < LEAST_WEB:
                    raise GeometryError(
                        f"its passage leaves {least:.2f} mm of metal under the V-band's flank, "
                        f"at least {LEAST_WEB:g} mm are needed; take a smaller opening or a thicker flange",
                        flange.name,
                    )


def _local(flange: Flange, ring: Ring) -> Array:
    """Points of a ring in the flange's x-y plane."""
    drawn = np.vstack([edge.at(np.linspace(0.0, 1.0, 16, endpoint=False))[0] for edge in ring for _ in (0,)])
    flat: Array = flange.frame.into(drawn)[:, :2]
    return flat


def _polygon(flat: Array) -> contour.Contour:
    return contour.Contour(tuple((float(x), float(y), 0.0) for x, y in flat))
