"""The lines of a DXF drawing as strands: runs of straight and round edges in the file's own units.

Blocks are taken apart, splines and ellipses followed by arcs, mirrored parts turned the right way round.
What is no edge of a part (text, dimensions, hatching, centre lines) is counted and left out.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any

from manifoldgen.errors import GeometryError, ManifoldgenError
from manifoldgen.geometry import arcfit
from manifoldgen.geometry.contour import Vertex
from manifoldgen.geometry.edges import Point

MOST = 20_000  # entities, blocks taken apart
DEEPEST = 8  # blocks within blocks
WORDS = frozenset({"TEXT", "MTEXT", "ATTRIB", "ATTDEF", "DIMENSION", "ARC_DIMENSION", "LEADER", "MULTILEADER",
                   "MLEADER", "TOLERANCE", "HATCH", "SOLID", "TRACE", "POINT", "IMAGE", "WIPEOUT", "VIEWPORT",
                   "MPOLYGON", "ACAD_TABLE", "OLE2FRAME", "RAY", "XLINE"})  # fmt: skip
NOT_CUT = ("ETCH", "NOTE", "TEXT", "DIM", "DEFPOINTS", "HATCH", "TITLE", "CONSTRUCTION")
AIDS = ("CENTER", "CENTRE", "HIDDEN", "DASH", "PHANTOM", "DOT")  # line types of centre and hidden lines
_BYLAYER = {"BYLAYER", "BYBLOCK", ""}
_FLAT = 1e-6


@dataclass(frozen=True)
class Strand:
    """A run of edges: vertices (x, y, bulge); a closed one leads from its last vertex to its first."""

    vertices: tuple[Vertex, ...]
    closed: bool

    @property
    def turned(self) -> Strand:
        """The same run from its other end."""
        ring = self.vertices
        if self.closed:
            back = [(x, y, -ring[k - 1][2]) for k, (x, y, _) in enumerate(ring)]
        else:
            back = [(x, y, -ring[k - 1][2] if k else 0.0) for k, (x, y, _) in enumerate(ring)]
        return Strand(tuple(reversed(back)), self.closed)


@dataclass
class Entities:
    """What a drawing holds.  skipped : what was left out, by what it is.  deviation : of arcs from curves."""

    strands: list[Strand] = field(default_factory=list)
    skipped: Counter[str] = field(default_factory=Counter)
    deviation: float = 0.0
    curves: int = 0
    blocks: int = 0


def strands(doc: Any, tol: float) -> Entities:  # noqa: ANN401 - ezdxf's document
    """Everything in model space that may be an edge; curves followed within `tol` of the file's units."""
    found = Entities()
    for entity in _flattened(doc, doc.modelspace(), found):
        kind = entity.dxftype()
        if kind in WORDS:
            found.skipped["text, dimensions and hatching"] += 1
        elif _hidden(doc, entity):
            found.skipped["layers that are off or not for cutting"] += 1
        elif _aid(doc, entity):
            found.skipped["centre and hidden lines"] += 1
        elif kind in _READERS:
            made = _READERS[kind](entity, tol, found)
            found.strands += [_seen_from_above(entity, s) for s in made]
        else:
            found.skipped[f"{kind} entities, which are no lines in the plane"] += 1
    return found


def _flattened(doc: Any, space: Any, found: Entities) -> Iterator[Any]:  # noqa: ANN401
    """Entities with blocks taken apart; ManifoldgenError where there are too many."""
    waiting = [(iter(space), 0)]
    count = 0
    while waiting:
        entities, depth = waiting[-1]
        entity = next(entities, None)
        if entity is None:
            waiting.pop()
            continue
        count += 1
        if count > MOST:
            raise ManifoldgenError(f"it holds more than {MOST} entities: leave only the gasket in it")
        if entity.dxftype() != "INSERT":
            yield entity
            continue
        if depth >= DEEPEST:
            raise ManifoldgenError(f"its blocks are nested more than {DEEPEST} deep: explode them")
        if _hidden(doc, entity):
            found.skipped["layers that are off or not for cutting"] += 1
            continue
        found.blocks += 1
        if entity.mcount > MOST:
            raise ManifoldgenError(f"it holds more than {MOST} entities: leave only the gasket in it")
        for one in reversed(list(entity.multi_insert()) if entity.mcount > 1 else [entity]):
            waiting.append((iter(one.virtual_entities()), depth + 1))


def _hidden(doc: Any, entity: Any) -> bool:  # noqa: ANN401
    name = str(entity.dxf.get("layer", "0"))
    if name.upper().startswith(NOT_CUT) or entity.dxf.get("invisible", 0):
        return True
    layer = doc.layers.get(name) if name in doc.layers else None
    return layer is not None and (layer.is_off() or layer.is_frozen())


def _aid(doc: Any, entity: Any) -> bool:  # noqa: ANN401
    name = str(entity.dxf.get("linetype", "BYLAYER")).upper()
    layer = str(entity.dxf.get("layer", "0"))
    if name in _BYLAYER and layer in doc.layers:
        name = str(doc.layers.get(layer).dxf.get("linetype", "CONTINUOUS")).upper()
    return any(word in name for word in AIDS)


def _seen_from_above(entity: Any, strand: Strand) -> Strand:  # noqa: ANN401
    """Entities drawn in a mirrored plane (as mirrored parts are) turned over; other planes are refused."""
    if entity.dxftype() in {"LINE", "SPLINE", "ELLIPSE"}:  # their places are the drawing's own
        return strand
    normal = entity.dxf.get("extrusion", (0.0, 0.0, 1.0))
    if abs(normal[0]) > _FLAT or abs(normal[1]) > _FLAT:
        raise ManifoldgenError(
            f"a {entity.dxftype()} near ({strand.vertices[0][0]:.2f}, {strand.vertices[0][1]:.2f}) does not lie in "
            "the drawing's plane: flatten the drawing"
        )
    if normal[2] > 0:
        return strand
    return Strand(tuple((-x, y, -b) for x, y, b in strand.vertices), strand.closed)


def _line(e: Any, _tol: float, _found: Entities) -> list[Strand]:  # noqa: ANN401
    a, b = e.dxf.start, e.dxf.end
    return _open([(a.x, a.y, 0.0), (b.x, b.y, 0.0)])


def _arc(e: Any, _tol: float, _found: Entities) -> list[Strand]:  # noqa: ANN401
    c, r = e.dxf.center, abs(e.dxf.radius)
    first = math.radians(e.dxf.start_angle)
    sweep = math.radians((e.dxf.end_angle - e.dxf.start_angle) % 360.0 or 360.0)
    parts = 2 if sweep > math.pi else 1
    step = sweep / parts
    marks = [first + k * step for k in range(parts + 1)]
    bulge = math.tan(step / 4)
    places = [(c.x + r * math.cos(t), c.y + r * math.sin(t), bulge) for t in marks]
    if sweep > 2 * math.pi - 1e-9:
        return [Strand(tuple(places[:2]), closed=True)]
    return _open([*places[:-1], (*places[-1][:2], 0.0)])


def _circle(e: Any, _tol: float, _found: Entities) -> list[Strand]:  # noqa: ANN401
    c, r = e.dxf.center, abs(e.dxf.radius)
    return [Strand(((c.x + r, c.y, 1.0), (c.x - r, c.y, 1.0)), closed=True)] if r > 0 else []


def _lwpolyline(e: Any, _tol: float, _found: Entities) -> list[Strand]:  # noqa: ANN401
    places = [(float(x), float(y), float(b)) for x, y, b in e.get_points("xyb")]
    return _polyline(places, closed=bool(e.closed))


def _old_polyline(e: Any, _tol: float, _found: Entities) -> list[Strand]:  # noqa: ANN401
    if not (e.is_2d_polyline or e.is_3d_polyline):
        return []
    control = 16  # a spline's frame, not its line
    own = [v for v in e.vertices if not v.dxf.get("flags", 0) & control]
    places = [(v.dxf.location.x, v.dxf.location.y, float(v.dxf.get("bulge", 0.0))) for v in own]
    return _polyline(places, closed=bool(e.is_closed))


def _polyline(places: list[Vertex], *, closed: bool) -> list[Strand]:
    kept = [
        p for k, p in enumerate(places) if k + 1 >= len(places) or math.dist(p[:2], places[k + 1][:2]) > 1e-9
    ]
    if len(kept) > 1 and math.dist(kept[0][:2], kept[-1][:2]) <= 1e-9:
        closed, kept = True, kept[:-1]
    if closed and len(kept) > 1:
        return [Strand(tuple(kept), closed=True)]
    return _open([*kept[:-1], (*kept[-1][:2], 0.0)]) if len(kept) > 1 else []


def _ellipse(e: Any, tol: float, found: Entities) -> list[Strand]:  # noqa: ANN401
    c, major, ratio = e.dxf.center, e.dxf.major_axis, float(e.dxf.ratio)
    normal = e.dxf.get("extrusion", (0.0, 0.0, 1.0))
    if abs(normal[0]) > _FLAT or abs(normal[1]) > _FLAT:
        raise ManifoldgenError(f"an ellipse at ({c.x:.2f}, {c.y:.2f}) does not lie in the drawing's plane")
    curve = arcfit.ellipse((c.x, c.y), (major.x, major.y), math.copysign(ratio, normal[2]))
    first, last = float(e.dxf.start_param), float(e.dxf.end_param)
    whole = abs(last - first) % math.tau < 1e-9
    last = first + math.tau if whole else first + (last - first) % math.tau
    made = arcfit.fit(curve, first, last, tol)
    return _curved([made], found, closed=whole)


def _spline(e: Any, tol: float, found: Entities) -> list[Strand]:  # noqa: ANN401
    tool = e.construction_tool()

    def curve(t: float) -> tuple[Point, Point]:
        place, way = tool.derivative(t, 1)
        return (float(place[0]), float(place[1])), (float(way[0]), float(way[1]))

    knots = [float(k) for k in tool.knots()]
    low, high = knots[tool.order - 1], knots[len(knots) - tool.order]
    # only where a knot stands `degree` times may it bend sharply: no arc runs across that
    sharp = sorted({k for k in knots if low < k < high and knots.count(k) >= tool.order - 1})
    inset = 1e-9 * (high - low)
    made = [arcfit.fit(curve, a, b - inset, tol) for a, b in pairwise([low, *sharp, high])]
    return _curved(made, found, closed=False)


def _curved(made: list[arcfit.Fitted], found: Entities, *, closed: bool) -> list[Strand]:
    found.curves += 1
    found.deviation = max(found.deviation, *(m.deviation for m in made))
    places = [v for m in made for v in m.vertices[:-1]]
    if closed:
        return [Strand(tuple(places), closed=True)]
    return _polyline([*places, made[-1].vertices[-1]], closed=False)


def _open(places: list[Vertex]) -> list[Strand]:
    if not all(math.isfinite(v) for p in places for v in p):
        raise GeometryError("a place of it is no number")
    long = sum(math.dist(a[:2], b[:2]) for a, b in pairwise(places))
    return [Strand(tuple(places), closed=False)] if long > 0 else []


_READERS = {
    "LINE": _line,
    "ARC": _arc,
    "CIRCLE": _circle,
    "LWPOLYLINE": _lwpolyline,
    "POLYLINE": _old_polyline,
    "ELLIPSE": _ellipse,
    "SPLINE": _spline,
}
