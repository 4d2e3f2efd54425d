"""What is cut out of a plate: each flange and the collector's transition plate as plane outlines, seen from the tube side.

The tube side lies up on the laser's table: that is where the marks go, and it is how a print-out lies on the
real head or turbine. For the flanges whose tube stands on z = 0 that view is mirrored against their own axes.

A gas passage that changes its shape within the thickness cannot be cut square to the model's outline: what is
cut is what opening and bore have in common, the rest is ground out by hand.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from manifoldgen.errors import GeometryError
from manifoldgen.geometry import contour
from manifoldgen.geometry.arcfit import ellipse, fit
from manifoldgen.geometry.common import common
from manifoldgen.geometry.contour import Contour, Vertex
from manifoldgen.geometry.edges import Point
from manifoldgen.geometry.vectors import Vec, array, cos_sin, unit
from manifoldgen.manifold.collector_profile import outer_profile
from manifoldgen.manifold.model import Collector, Flange, Hole, Manifold, Opening
from manifoldgen.wording import fixed, size

FIT = 0.01  # mm: how closely arcs follow an ellipse
SMALL, ASK = 1.0, 1.5  # hole to thickness: below the first few cut it, below the second ask; common practice

_SQUARE = 1e-9  # a tube leaning less than this stands square


@dataclass(frozen=True)
class PlateOpening:
    """One gas passage.

    id : what is marked beside it.  at : its middle.  cut : what is cut.  opening : as the model has it on the
    mating face.  bore : the tube's bore where it takes over.  foot : the tube's outside on the tube face.
    ground : the words for what is left to do by hand; empty where the cut is all.  unsure : the tube's bore may stand
        inside the opening: to be looked at before it is cut.
    """

    id: str
    at: Point
    cut: Contour
    opening: Contour
    bore: Contour
    foot: Contour
    ground: str = ""
    unsure: bool = False


@dataclass(frozen=True)
class CutPlate:
    """A part cut from plate, mm.

    name : of the part; `file` : of its drawing.  up : the way up once bolted on, None where it points out of
        the face.  clocked : bends are clocked against it.  mirrored : x runs against the flange's own x.  deviation : greatest distance of arcs from
        the curve they stand for.
    """

    name: str
    file: str
    thickness: float
    material: str
    outline: Contour
    passages: tuple[PlateOpening, ...]
    holes: tuple[Hole, ...]
    up: Point | None
    mirrored: bool
    deviation: float = 0.0
    remarks: tuple[str, ...] = ()
    quantity: int = 1
    clocked: bool = True

    @property
    def area(self) -> float:
        """Metal left by the cutter, mm²."""
        cut = math.fsum(p.cut.area for p in self.passages)
        return self.outline.area - cut - math.fsum(math.pi * h.diameter**2 / 4 for h in self.holes)

    @property
    def warnings(self) -> tuple[str, ...]:
        """Holes too small for the thickness, one sentence a size."""
        return tuple(
            sentence
            for size in sorted({h.diameter for h in self.holes})
            if (sentence := _small(size, self.thickness, [h.id for h in self.holes if h.diameter == size]))
        )


def plates(m: Manifold) -> tuple[CutPlate, ...]:
    """Every part of a manifold that is cut from plate: flanges (a V-band is turned, not cut), then the lid."""
    flanges = [plate(m, f) for f in m.flanges if f.outline is not None]
    return (*flanges, *(lid(c, m.part_name(c)) for c in m.collectors))


def plate(m: Manifold, flange: Flange) -> CutPlate:
    """A flange as it is cut.  Raises GeometryError for a V-band, which is turned."""
    if flange.outline is None:
        raise GeometryError(f"the {flange.name} is a V-band: it is turned, not cut from plate")
    turned = flange.tube_side == "start"
    head = flange is m.head
    leans = [p.direction for p in m.ports] if head else [flange.frame.z] * len(flange.openings)
    ids = [str(p.number) for p in m.ports] if head else [""] * len(flange.openings)
    made = [_passage(flange, o, d, name) for o, d, name in zip(flange.openings, leans, ids, strict=True)]
    x, y, _ = (float(v) for v in array(m.engine.up) @ flange.frame.matrix)
    lean = math.hypot(x, y)
    return CutPlate(
        name=flange.name,
        file=f"{flange.name.replace(' ', '-')}.dxf",
        thickness=flange.thickness,
        material=flange.material,
        outline=_mirrored(flange.outline) if turned else flange.outline,
        passages=tuple(_turned(p) if turned else p for p, _ in made),
        holes=tuple(replace(h, at=(-h.at[0], h.at[1])) if turned else h for h in flange.holes),
        up=((-x if turned else x) / lean, y / lean) if lean > 0.1 else None,
        mirrored=turned,
        deviation=max(off for _, off in made),
        remarks=_remarks(flange),
    )


def lid(c: Collector, part: str = "collector") -> CutPlate:
    """The transition plate behind the inlets, or a plate collector's plate that holds them, on its upstream face.

    part : the collector's name as a part.
    """
    cg, sg = cos_sin(c.half_angle)
    centre = c.ring_radius - c.merge_depth * sg / cg
    rim = max(r for r, z in _through_lid(c))
    passages = []
    worst = 0.0
    if c.kind == "merge":
        cut, worst = _lobes(c, centre)
        passages.append(PlateOpening("", (0.0, 0.0), cut, cut, cut, cut))
    else:
        for number, angle in zip(c.order, c.ring_angles, strict=True):
            ca, sa = cos_sin(angle)
            at = (-centre * sa, centre * ca)
            hole, off = _oblique(at, (-sa, ca), c.section.bore_radius, cg)
            foot, _ = _oblique(at, (-sa, ca), c.section.radius, cg)
            passages.append(PlateOpening(str(number), at, hole, hole, hole, foot))
            worst = max(worst, off)
    leaning = abs(c.cone_half_angle)
    remarks = [f"dress the edge to the cone: {fixed(leaning)} deg"] if leaning > 0.05 else []
    if c.half_angle:
        remarks.append(f"dress the opening along the bores: {fixed(c.half_angle)} deg")
    kind = "transition plate" if c.kind == "merge" else "plate"
    return CutPlate(
        name=f"{part} {kind}",
        file=f"{part} {kind}.dxf".replace(" ", "-"),
        thickness=c.section.wall,
        material=c.section.material,
        outline=contour.circle(2 * rim),
        passages=tuple(_turned(p) for p in passages),
        holes=(),
        up=None,
        mirrored=True,
        deviation=worst,
        remarks=tuple(remarks),
        clocked=False,
    )


def _through_lid(c: Collector) -> list[tuple[float, float]]:
    """Outside radius of the lid on its two faces, with the depth."""
    (r0, z0), (r1, z1) = outer_profile(c)[:2]
    far = z0 + c.section.wall
    return [(r0, z0), (r0 + (r1 - r0) * (far - z0) / (z1 - z0), far)]


def _lobes(c: Collector, centre: float) -> tuple[Contour, float]:
    """The outline of all bores together, each from bisector to bisector, and how far arcs stray from it."""
    cg, _ = cos_sin(c.half_angle)
    a, b = c.section.bore_radius / cg, c.section.bore_radius
    half = math.pi / len(c.order)
    # where the ellipse (centre + a cos t, b sin t) meets the bisector: b sin t = tan(half) (centre + a cos t)
    if len(c.order) == 2:
        end = math.acos(max(-1.0, -centre / a))
    else:
        slope = math.tan(half)
        end = math.asin(slope * centre / math.hypot(b, slope * a)) + math.atan2(slope * a, b)
    vertices: list[Vertex] = []
    worst = 0.0
    for angle in sorted(c.ring_angles):
        ca, sa = cos_sin(angle)
        made = fit(ellipse((-centre * sa, centre * ca), (-a * sa, a * ca), b / a), -end, end, FIT)
        vertices += made.vertices[:-1]
        worst = max(worst, made.deviation)
    return Contour(tuple(vertices)), worst


def _passage(flange: Flange, o: Opening, direction: Vec, name: str) -> tuple[PlateOpening, float]:
    d = unit(direction)
    local = d @ flange.frame.matrix
    rise, lateral = float(local[2]), (float(local[0]), float(local[1]))
    lean = math.hypot(*lateral)
    towards = (lateral[0] / lean, lateral[1] / lean) if lean > _SQUARE else (1.0, 0.0)
    # the bore begins on the socket's floor, a little back along the tube
    back = flange.seat_depth / rise
    middle = (o.at[0] - back * lateral[0], o.at[1] - back * lateral[1])
    bore, off = _oblique(middle, towards, flange.tube.bore_radius, rise)
    foot, _ = _oblique(o.at, towards, flange.tube.radius, rise)
    opening = o.contour.moved(*o.at)
    if flange.transition == "tube":
        return PlateOpening(name, o.at, opening, opening, opening, foot), 0.0
    ground, unsure = [], False
    try:
        cut = common(opening, bore, o.at)
    except GeometryError:  # a drawn opening that cannot be seen whole from its middle
        cut, unsure = opening, True
        ground.append("the tube's bore may stand inside it: look before cutting")
    if cut is not opening and _grows(opening, cut):
        ground.append("grind to the opening's full shape from the gasket side")
    if cut is not bore and _grows(bore, cut):
        ground.append(
            f"blend to the tube's bore dia {size(2 * flange.tube.bore_radius)} mm from the tube side"
        )
    made = PlateOpening(name, o.at, cut, opening, bore, foot, ", ".join(ground), unsure)
    return made, off if cut is not opening else 0.0


def _grows(whole: Contour, cut: Contour) -> bool:
    return whole.area - cut.area > 0.5  # mm²; less is lost in the cutter's own width


def _oblique(at: Point, towards: Point, radius: float, rise: float) -> tuple[Contour, float]:
    """A round tube's outline on a face it meets leaning `towards`, and how far its arcs stray; rise : cosine."""
    if rise > 1 - _SQUARE:
        return contour.circle(2 * radius).moved(*at), 0.0
    long = radius / rise
    made = fit(ellipse(at, (long * towards[0], long * towards[1]), rise), 0.0, 2 * math.pi, FIT)
    return Contour(made.vertices[:-1]), made.deviation


def _remarks(flange: Flange) -> tuple[str, ...]:
    if flange.fit == "socket":
        return (
            f"tube side: bore dia {size(flange.tube.od)} mm (tube) {size(flange.seat_depth)} mm deep for the socket, after cutting",
        )
    return ()


def _small(diameter: float, thickness: float, ids: list[str]) -> str:
    which = ids[0] if len(ids) == 1 else f"{ids[0]} to {ids[-1]} ({len(ids)})"
    holes = f"{'hole' if len(ids) == 1 else 'holes'} {which} dia {size(diameter)} mm"
    if diameter < SMALL * thickness - 1e-9:
        return (
            f"{holes} in {thickness:g} mm: under 1 x the thickness, most lasers refuse it. Have only the centres "
            "marked and drill, or go to waterjet."
        )
    if diameter < ASK * thickness - 1e-9:
        return f"{holes} in {thickness:g} mm: under 1.5 x the thickness, ask the laser shop first."
    return ""


def _mirrored(c: Contour) -> Contour:
    """The outline seen from behind, still anticlockwise."""
    ring = c.vertices
    back = [(-x, y, ring[k - 1][2]) for k, (x, y, _) in enumerate(ring)]
    return Contour(tuple(reversed(back)))


def _turned(p: PlateOpening) -> PlateOpening:
    cut = _mirrored(p.cut)
    return replace(
        p,
        at=(-p.at[0], p.at[1]),
        cut=cut,
        opening=_mirrored(p.opening),
        bore=_mirrored(p.bore),
        foot=_mirrored(p.foot),
    )
