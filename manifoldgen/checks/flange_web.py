"""Whether there is metal enough between the holes, the openings and the edge of every flange."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations
from typing import Literal

import numpy as np

from manifoldgen.checks.check import Check
from manifoldgen.checks.finding import Finding, FindingKind
from manifoldgen.checks.places import of_flange
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


@dataclass(frozen=True)
class _Feature:
    """A cut-out, a tube's foot or the outer edge of a flange; `number` of an opening and of the tube's foot on it."""

    kind: Literal["hole", "opening", "foot", "edge"]
    name: str
    outline: Contour
    number: int = -1


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


def _webs(m: Manifold, flange: Flange) -> Iterator[tuple[_Feature, _Feature, float, float]]:
    """All pairs of cut-outs and edge, with the metal between them and the least that is asked."""
    holes = [_Feature("hole", f"hole {h.id}", contour.circle(h.diameter).moved(*h.at)) for h in flange.holes]
    names = [f"port {p.number}" for p in m.ports] if flange is m.head else ["opening"] * len(flange.openings)
    named = list(enumerate(zip(names, flange.openings, strict=False)))
    openings = [_Feature("opening", n, o.contour.moved(*o.at), k) for k, (n, o) in named]
    foot = contour.circle(flange.tube.od)
    feet = [_Feature("foot", f"tube at {n}", foot.moved(*o.at), k) for k, (n, o) in named]
    outline = flange.outline or (contour.circle(flange.vband.od) if flange.vband else None)
    edges = [_Feature("edge", "edge", outline)] if outline else []
    limit = least_web(flange)
    cut = holes + openings + (feet if flange.fit == "socket" else [])
    for a, b in combinations(cut, 2):
        if a.number < 0 or a.number != b.number:  # not the socket round its own opening
            yield a, b, _between(a.outline, b.outline), limit
    yield from ((a, e, _inside(a.outline, e.outline), limit) for a in cut for e in edges)
    if flange.fit == "butt":  # the weld needs metal under it: the tube may not stand over a hole or the edge
        yield from ((a, b, _between(a.outline, b.outline), 0.0) for a in feet for b in holes)
        yield from ((a, e, _inside(a.outline, e.outline), 0.0) for a in feet for e in edges)


def _between(a: Contour, b: Contour) -> float:
    """Metal between two cut-outs, mm; 0 where they run together, negative where one holds the other."""
    if contour.contains(a, b.vertices[0][:2]) or contour.contains(b, a.vertices[0][:2]):
        return -contour.gap(a, b)
    return contour.gap(a, b)


def _inside(feature: Contour, edge: Contour) -> float:
    """Metal between a cut-out and the flange's edge, mm; not positive where it reaches the edge."""
    apart = contour.gap(feature, edge)
    return apart if contour.contains(edge, feature.vertices[0][:2]) else -apart


def _thin(
    m: Manifold, flange: Flange, pair: tuple[_Feature, _Feature], value: float, limit: float
) -> Finding:
    a, b = pair
    told = compared(value, limit)
    message = (
        f"{flange.name}: {told.value} mm of metal between {a.name} and {b.name}, {told.limit} mm required."
    )
    do = f"Move them {told.apart} mm apart, or make one of them smaller."
    if b.kind == "edge":
        do = f"Make the outline {told.apart} mm wider there, or move the {a.name} inwards."
    if limit == 0:
        message = f"{flange.name}: the {a.name} stands over {b.name}."
        do = "Widen the outline or take a smaller tube."
        if b.kind != "edge":
            do = "Move the hole outwards or take a smaller tube."
    return FLANGE_WEB_THIN.finding(
        message=message,
        do=do,
        value=value,
        limit=limit,
        unit="mm",
        parts=(flange.name, a.name, b.name),
        points=_nearest(flange, a.outline, b.outline),
        where=_where(m, flange, pair),
    )


def _where(m: Manifold, flange: Flange, pair: tuple[_Feature, _Feature]) -> Where | None:
    """The place of what can be moved: the studs of the head flange, its outline, or the flange."""
    kinds = {feature.kind for feature in pair}
    return of_flange(m, flange.name, "studs" if "hole" in kinds else "outline" if "edge" in kinds else "")


def _nearest(flange: Flange, a: Contour, b: Contour) -> tuple[Vec, Vec]:
    """The two nearest points of two outlines on the flange's first face, to about 0.1 mm."""
    p, q = np.array(contour.points(a, 0.002)), np.array(contour.points(b, 0.002))
    apart = np.linalg.norm(p[:, None] - q[None], axis=2)
    i, j = divmod(int(np.argmin(apart)), len(q))
    return vec(flange.frame.out((*p[i], 0.0))), vec(flange.frame.out((*q[j], 0.0)))
