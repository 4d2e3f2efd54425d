"""A gasket drawing or the trace of a scan: its outline, its openings, its bolt holes.

The largest closed loop is the outline, small circles are bolt holes, the other loops inside are openings. What
cannot be told apart is refused with its place in the drawing; what was taken for what is said.
"""

from __future__ import annotations

import io
import logging
import math
import stat
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from manifoldgen.errors import GeometryError, ManifoldgenError
from manifoldgen.geometry import contour
from manifoldgen.geometry.contour import Contour, Vertex
from manifoldgen.geometry.edges import Point
from manifoldgen.readers.chain import loops
from manifoldgen.readers.dxf_entities import Entities, strands
from manifoldgen.wording import place, size

TOL = 0.05  # mm: ends this close are one, curves are followed this closely
MOST_BYTES = 20_000_000
MOST_VERTICES = 4_000  # of one loop
SMALLEST, LARGEST = 25.0, 1_500.0  # mm, longest side that a flange may have
HOLE = 20.0  # mm: circles up to this may be bolt holes …
SHARE = 0.6  # … if they are also smaller than this part of the largest opening
_ROUND = 0.05  # mm: a loop this close to a circle is one

# $INSUNITS: name and length in mm of what a drawing may say it is drawn in
UNITS = {1: ("inches", 25.4), 2: ("feet", 304.8), 4: ("mm", 1.0), 5: ("cm", 10.0), 6: ("m", 1000.0)}


@dataclass(frozen=True)
class DrawnFlange:
    """What a drawing shows, mm, in its own axes.

    outline : the largest loop.  openings : the large loops inside, from left to right.
    holes : centre and diameter of the small circles, from left to right.
    slots : small loops that are no circles, by their middle: they are not used.
    deviation : of arcs from the curves they follow.  told : what was taken for what, one sentence.
    """

    file: str
    outline: Contour
    openings: tuple[Contour, ...]
    holes: tuple[tuple[Point, float], ...]
    slots: tuple[Point, ...]
    deviation: float
    told: str


def read_dxf(path: str | Path, *, scale: float | None = None, mirror: bool = False) -> DrawnFlange:
    """Read a drawing.

    Parameters
    ----------
    path : an ordinary file.  scale : mm of one unit of the file; None takes what the file says, or what its
        size tells.  mirror : it was drawn from the other side: x is turned round.

    Raises
    ------
    ManifoldgenError : no DXF, of an impossible size, lines that do not close, more than one part.
    """
    path = Path(path)
    doc = _document(path)
    code = int(doc.header.get("$INSUNITS", 0) or 0)
    try:
        # curves are followed in the file's own units, finely enough for the largest unit that is plausible
        rough = _strands(doc, TOL / 25.4)
        factor, unit = _unit(code, scale, _longest(rough))
        found = rough if factor == 25.4 else _strands(doc, TOL / factor)  # an inch is the largest
        return _taken(path.name, found, factor, unit, mirror=mirror)
    except ManifoldgenError as error:
        raise ManifoldgenError(f"{path.name}: {error}") from None


def _document(path: Path) -> Any:  # noqa: ANN401 - ezdxf's document
    raw = _bytes(path)
    if raw[:4] == b"AC10":
        raise ManifoldgenError(f"{path.name} is a DWG file: save it as DXF (R2000 or later)")
    from ezdxf import recover

    log = logging.getLogger("ezdxf")
    level = log.level
    log.setLevel(logging.CRITICAL + 1)  # what it mends on the way would only puzzle
    try:
        return recover.read(io.BytesIO(raw))[0]
    except Exception as error:  # noqa: BLE001 - whatever a foreign file makes the parser trip over is the file's fault
        reason = str(error).split("\n", maxsplit=1)[0][:120] or type(error).__name__
        raise ManifoldgenError(f"{path.name} cannot be read as DXF ({reason}): save it again") from None
    finally:
        log.setLevel(level)


def _bytes(path: Path) -> bytes:
    try:
        state = path.stat()
        if stat.S_ISDIR(state.st_mode):
            raise ManifoldgenError(f"'{path}' is a folder: name a DXF file")
        if not stat.S_ISREG(state.st_mode):
            raise ManifoldgenError(f"'{path}' is a device or a pipe: name a DXF file")
        if state.st_size > MOST_BYTES:
            raise ManifoldgenError(f"{path.name} is too large ({state.st_size} bytes, at most {MOST_BYTES})")
        raw = path.read_bytes()
    except FileNotFoundError:
        raise ManifoldgenError(f"there is no file '{path}'") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "the name is not possible"
        raise ManifoldgenError(f"'{str(path)[:200]}' cannot be read: {reason}") from None
    if not raw.strip():
        raise ManifoldgenError(f"{path.name} is empty: save it again")
    return raw


def _strands(doc: Any, tol: float) -> Entities:  # noqa: ANN401
    try:
        return strands(doc, tol)
    except ManifoldgenError:
        raise
    except Exception as error:  # noqa: BLE001 - as above: a broken entity is the file's fault
        raise ManifoldgenError(
            f"it holds an entity that cannot be read ({type(error).__name__}): save it as plain lines and arcs"
        ) from None


def _longest(found: Entities) -> float:
    places = [v for s in found.strands for v in s.vertices]
    if not places:
        left = f" (left out: {_listed(found)})" if found.skipped else ""
        raise ManifoldgenError(f"there are no lines, arcs or circles in it{left}")
    xs, ys = [v[0] for v in places], [v[1] for v in places]
    return max(max(xs) - min(xs), max(ys) - min(ys))


def _unit(code: int, scale: float | None, size: float) -> tuple[float, str]:
    """Millimetres of one unit, and the words for it."""
    if scale is not None:
        factor, unit = scale, f"1 unit = {scale:g} mm, as the job says"
    elif code in UNITS:
        name, factor = UNITS[code]
        unit = f"in {name}, as it says"
    elif code:
        raise ManifoldgenError(
            f"its unit ($INSUNITS {code}) is none for a gasket: say scale: 1 if it is drawn in mm"
        )
    elif size >= SMALLEST:
        factor, unit = 1.0, "it names no unit: mm assumed by its size"
    else:
        factor, unit = 25.4, "it names no unit: inches assumed by its size"
    if not SMALLEST <= size * factor <= LARGEST:
        told = f"{size:g} units long, which makes {size * factor:.4g} mm ({unit})"
        fits = [f"scale: {f:g} if it is in {n}" for n, f in UNITS.values() if SMALLEST <= size * f <= LARGEST]
        raise ManifoldgenError(
            f"it is {told}: no flange is; say {' or '.join(fits) or 'scale: … (mm of one unit)'}"
        )
    return factor, unit


def _taken(name: str, found: Entities, factor: float, unit: str, *, mirror: bool) -> DrawnFlange:
    joined = loops(found.strands, TOL / factor)
    if not joined.rings:
        raise ManifoldgenError("nothing in it closes to a loop")
    shapes = [_contour(ring, factor, mirror=mirror) for ring in joined.rings]
    outline, inner = _sorted_out(shapes)
    openings, holes, slots = _kinds(inner)
    told = [f"{name} ({unit}): outline {_size(outline)}"]
    told.append(
        f"{len(openings)} {'opening' if len(openings) == 1 else 'openings'} (from left {_list(openings)})"
    )
    sizes = ", ".join(size(d) for d in sorted({round(d, 2) for _, d in holes}))
    told.append(f"{len(holes)} small circles for bolt holes" + (f" (dia {sizes} mm)" if holes else ""))
    if slots:
        places = ", ".join(f"({place(at)})" for at in slots[:4])
        told.append(f"not used: {len(slots)} small slots at {places}")
    if joined.doubled:
        told.append(f"{joined.doubled} doubled edges dropped")
    if joined.joined * factor > 1e-3:
        told.append(f"gaps up to {joined.joined * factor:.3f} mm closed")
    if found.curves:
        told.append(f"curves followed by arcs within {max(found.deviation * factor, 0.001):.3f} mm")
    if found.skipped:
        told.append(f"left out: {_listed(found)}")
    return DrawnFlange(name, outline, openings, holes, slots, found.deviation * factor, "; ".join(told))


def _contour(ring: tuple[Vertex, ...], factor: float, *, mirror: bool) -> Contour:
    side = -1.0 if mirror else 1.0
    places = [(side * x * factor, y * factor, side * b) for x, y, b in ring]
    if len(places) > MOST_VERTICES:
        raise ManifoldgenError(
            f"a loop near ({ring[0][0]:.2f}, {ring[0][1]:.2f}) has {len(places)} corners, at most {MOST_VERTICES}: "
            "simplify the trace"
        )
    made = _straightened(Contour(tuple(places)))
    if made.area < 0:
        n = len(made.vertices)
        back = [(x, y, -made.vertices[(k - 1) % n][2]) for k, (x, y, _) in enumerate(made.vertices)]
        made = Contour(tuple(reversed(back)))
    if not made.area > TOL**2:
        raise ManifoldgenError(
            f"a loop near ({ring[0][0]:.2f}, {ring[0][1]:.2f}) encloses nothing: delete it"
        )
    try:
        contour.polygon(contour.points(made, TOL))
    except GeometryError as error:
        raise ManifoldgenError(f"a loop of it crosses itself ({error})") from None
    return made


def _straightened(c: Contour) -> Contour:
    """Without corners that lie on the straight between their neighbours."""
    ring = list(c.vertices)
    kept: list[Vertex] = []
    for k, (x, y, b) in enumerate(ring):
        px, py, pb = kept[-1] if kept else ring[-1]
        nx, ny, _ = ring[(k + 1) % len(ring)]
        if b == 0 and pb == 0 and kept and len(ring) > 3:
            across = (nx - px) * (y - py) - (ny - py) * (x - px)
            ahead = (nx - x) * (x - px) + (ny - y) * (y - py)
            if ahead > 0 and abs(across) <= 1e-6 * math.hypot(nx - px, ny - py):
                continue
        kept.append((x, y, b))
    return Contour(tuple(kept))


def _sorted_out(shapes: Sequence[Contour]) -> tuple[Contour, list[Contour]]:
    """The outer loop and those inside it; refused where there are more parts or loops within loops."""
    ranked = sorted(shapes, key=lambda c: -c.area)
    outline, inner = ranked[0], ranked[1:]
    for c in inner:
        if contour.gap(outline, c) <= 1e-6:
            raise ManifoldgenError(f"the loop at {_at(c)} runs across the outline: move it in, or delete it")
        if not contour.contains(outline, c.vertices[0][:2]):
            raise ManifoldgenError(
                f"there are two parts, one at {_at(outline)}, one at {_at(c)}: leave only one in the drawing"
            )
    for k, c in enumerate(inner):
        for other in inner[:k]:
            if _boxes_apart(c, other):
                continue
            if contour.gap(c, other) <= 1e-6 or contour.contains(other, c.vertices[0][:2]):
                raise ManifoldgenError(
                    f"the loops at {_at(c)} and {_at(other)} lie in or across each other: keep the one that is cut"
                )
    return outline, inner


def _boxes_apart(a: Contour, b: Contour) -> bool:
    (ax0, ay0, ax1, ay1), (bx0, by0, bx1, by1) = a.bounds, b.bounds
    return max(bx0 - ax1, ax0 - bx1, by0 - ay1, ay0 - by1) > 0


def _kinds(
    inner: Sequence[Contour],
) -> tuple[tuple[Contour, ...], tuple[tuple[Point, float], ...], tuple[Point, ...]]:
    """Openings, bolt holes and slots, each from left to right (from below where they stand in one line)."""
    largest = max((_across(c) for c in inner), default=0.0)
    small = min(HOLE, SHARE * largest) if largest > HOLE else HOLE
    openings = [c for c in inner if _across(c) > small]
    holes = [(middle(c), d) for c in inner if _across(c) <= small and (d := diameter(c)) is not None]
    slots = [middle(c) for c in inner if _across(c) <= small and diameter(c) is None]
    return (
        tuple(sorted(openings, key=lambda c: _from_left(middle(c)))),
        tuple(sorted(holes, key=lambda h: _from_left(h[0]))),
        tuple(sorted(slots, key=_from_left)),
    )


def middle(c: Contour) -> Point:
    """The middle of an outline's box, mm: what a tape gives."""
    x0, y0, x1, y1 = c.bounds
    return (x0 + x1) / 2, (y0 + y1) / 2


def diameter(c: Contour) -> float | None:
    """Of a loop that is a circle within 0.05 mm, else None."""
    at = middle(c)
    off = [math.dist(at, p) for p in contour.points(c, TOL / 5)]
    off += [math.dist(at, e.point(0.5)) for e in c.edges()]
    return max(off) * 2 if max(off) - min(off) <= _ROUND else None


def _across(c: Contour) -> float:
    """Diameter of the circle of the same area, mm."""
    return 2 * math.sqrt(c.area / math.pi)


def _from_left(p: Point) -> tuple[float, float]:
    return (round(p[0], 1), p[1])


def _at(c: Contour) -> str:
    return f"({place(middle(c))}) mm"


def _size(c: Contour) -> str:
    x0, y0, x1, y1 = c.bounds
    return f"{x1 - x0:.1f} × {y1 - y0:.1f} mm"


def _list(openings: Sequence[Contour]) -> str:
    sizes = [_size(c) for c in openings]
    return sizes[0] if len(set(sizes)) == 1 else ", ".join(sizes) or "none"


def _listed(found: Entities) -> str:
    return ", ".join(f"{what} ({count})" for what, count in sorted(found.skipped.items()))
