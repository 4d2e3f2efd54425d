"""Whether there is metal enough between the holes, the openings and the edge of every flange."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

import numpy as np

from manifoldgen.checks.check import Check
from manifoldgen.checks.finding import Finding, FindingKind
from manifoldgen.errors import Where
from manifoldgen.geometry import contour
from manifoldgen.geometry.contour import Contour
from manifoldgen.geometry.vectors import Vec, vec
from manifoldgen.manifold.model import Flange, Manifold
from manifoldgen.wording import compared

LEAST_WEB = 5.0  # mm, or half the thickness of a thinner flange; common practice, no source
FLANGE_WEB_THIN = FindingKind(
    name="flange-web-thin",
    means="There is too little metal between two holes or openings of a flange, or to its edge, or a tube stands over "
    "a hole.",
    why="Thin webs burn away while welding, warp, and leave the gasket nothing to seal on. Least metal: "
    f"{LEAST_WEB:g} mm, half the thickness on thin flanges (common practice).",
    do="Move the hole, round the opening, or widen the outline (outline: margin).",
)
EXACT = 1e-6  # mm

Feature = tuple[str, Contour]


def least_web(flange: Flange) -> float:
    """The least metal asked of a flange, mm."""
    return min(LEAST_WEB, flange.thickness / 2)


def check(m: Manifold) -> tuple[Finding, ...]:
    """`flange-web-thin`: too little metal between two holes or openings, or to the edge; a tube over a hole."""
    return tuple(finding for flange in m.flanges for finding in _flange(m, flange))


CHECK = Check(kinds=(FLANGE_WEB_THIN,), ask=check)


def _flange(m: Manifold, flange: Flange) -> Iterator[Finding]:
    for a, b, value, limit in _webs(m, flange):
        if value < limit - EXACT or value <= 0:  # outlines that cross measure 0
            yield _thin(m, flange, (a, b), value, limit)


def _webs(m: Manifold, flange: Flange) -> Iterator[tuple[Feature, Feature, float, float]]:
    """All pairs of cut-outs and edge, with the metal between them and the least that is asked."""
    holes: list[Feature] = [(f"hole {h.id}", contour.circle(h.diameter).moved(*h.at)) for h in flange.holes]
    names = [f"port {p.number}" for p in m.ports] if flange is m.head else ["opening"] * len(flange.openings)
    openings = [(n, o.contour.moved(*o.at)) for n, o in zip(names, flange.openings, strict=False)]
    foot = contour.circle(flange.tube.od)
    feet = [(f"tube at {n}", foot.moved(*o.at)) for n, o in zip(names, flange.openings, strict=False)]
    outline = flange.outline or (contour.circle(flange.vband.od) if flange.vband else None)
    edges: list[Feature] = [("edge", outline)] if outline else []
    limit = least_web(flange)
    cut = holes + openings + (feet if flange.fit == "socket" else [])
    for a, b in combinations(cut, 2):
        if b[0] != f"tube at {a[0]}":  # the socket round its own opening
            yield a, b, _between(a[1], b[1]), limit
    yield from ((a, e, _inside(a[1], e[1]), limit) for a in cut for e in edges)
    if flange.fit == "butt":  # the weld needs metal under it: the tube may not stand over a hole or the edge
        yield from ((a, b, _between(a[1], b[1]), 0.0) for a in feet for b in holes)
        yield from ((a, e, _inside(a[1], e[1]), 0.0) for a in feet for e in edges)


def _between(a: Contour, b: Contour) -> float:
    """Metal between two cut-outs, mm; 0 where they run together, negative where one holds the other."""
    if contour.contains(a, b.vertices[0][:2]) or contour.contains(b, a.vertices[0][:2]):
        return -contour.gap(a, b)
    return contour.gap(a, b)


def _inside(feature: Contour, edge: Contour) -> float:
    """Metal between a cut-out and the flange's edge, mm; not positive where it reaches the edge."""
    apart = contour.gap(feature, edge)
    return apart if contour.contains(edge, feature.vertices[0][:2]) else -apart


def _thin(m: Manifold, flange: Flange, pair: tuple[Feature, Feature], value: float, limit: float) -> Finding:
    a, b = pair
    told = compared(value, limit)
    message = f"{flange.name}: {told.value} mm of metal between {a[0]} and {b[0]}, asked {told.limit} mm."
    do = f"Move them {told.apart} mm apart, or make one of them smaller."
    if b[0] == "edge":
        do = f"Make the outline {told.apart} mm wider there, or move the {a[0]} inwards."
    if limit == 0:
        message = f"{flange.name}: the {a[0]} stands over {b[0]}."
        do = "Widen the outline or take a smaller tube."
        if b[0] != "edge":
            do = "Move the hole outwards or take a smaller tube."
    return FLANGE_WEB_THIN.finding(
        message=message,
        do=do,
        value=value,
        limit=limit,
        unit="mm",
        parts=(flange.name, a[0], b[0]),
        points=_nearest(flange, a[1], b[1]),
        where=_where(m, flange, (a[0], b[0])),
    )


def _where(m: Manifold, flange: Flange, names: tuple[str, str]) -> Where | None:
    """The place of what can be moved: the studs of the head flange, its outline, or the flange."""
    block = flange.name.replace(" ", ".")
    if flange is m.head:
        block = "head_flange"
        if any(name.startswith("hole") for name in names):
            block = "head_flange.studs"
        elif "edge" in names:
            block = "head_flange.outline"
    return m.where.get(block)


def _nearest(flange: Flange, a: Contour, b: Contour) -> tuple[Vec, Vec]:
    """The two nearest points of two outlines on the flange's first face, to about 0.1 mm."""
    p, q = np.array(contour.points(a, 0.002)), np.array(contour.points(b, 0.002))
    apart = np.linalg.norm(p[:, None] - q[None], axis=2)
    i, j = divmod(int(np.argmin(apart)), len(q))
    return vec(flange.frame.out((*p[i], 0.0))), vec(flange.frame.out((*q[j], 0.0)))
