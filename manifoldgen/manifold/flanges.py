"""Flanges in place: openings, bolt patterns, outlines, and the frames they stand in."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from manifoldgen.geometry import contour
from manifoldgen.geometry.contour import Contour
from manifoldgen.geometry.vectors import cos_sin
from manifoldgen.manifold.model import Hole, Opening
from manifoldgen.parameters.flange import Outline, Oval, Rectangle, Round

SAME_STUD = 1.0  # mm: written positions closer than this are one stud

Point = tuple[float, float]
OpeningShape = Round | Oval | Rectangle


def opening(shape: OpeningShape, at: Point = (0.0, 0.0)) -> Opening:
    """A gas opening with its outline, centred at `at` in the flange plane."""
    if isinstance(shape, Round):
        drawn = contour.circle(shape.round)
    elif isinstance(shape, Oval):
        drawn = contour.oval(*shape.oval)
    else:
        drawn = contour.rectangle(*shape.rectangle, shape.corner)
    return Opening(shape.kind, shape.width, shape.height, shape.radius, at, drawn)


def distinct(points: Iterable[Point]) -> tuple[Point, ...]:
    """The points in order, each place once (within 1 mm)."""
    kept: list[Point] = []
    for p in points:
        if all(math.dist(p, q) > SAME_STUD for q in kept):
            kept.append((float(p[0]), float(p[1])))
    return tuple(kept)


def bolt_circle(diameter: float, count: int, start: float) -> tuple[Point, ...]:
    """Holes on a circle; `start` degrees from +y, right-handed about the gas (towards -x)."""
    turned = [cos_sin(start + 360.0 * k / count) for k in range(count)]
    return tuple((-s * diameter / 2, c * diameter / 2) for c, s in turned)


def outline(
    written: Outline | None,
    openings: Sequence[Opening],
    holes: Sequence[Hole],
    tube_radius: float,
    margin: float,
) -> Contour:
    """The plate's edge: the written polygon, or the hull of holes, openings and tubes with metal round them.

    margin : of metal, mm, where the file does not say it. An edge that a drawing gives is known before
    (`manifold.drawn`).
    """
    if written is not None and written.polygon is not None:
        return contour.polygon(written.polygon)
    if written is not None and written.margin is not None:
        margin = written.margin
    circles = [(h.at, h.diameter / 2 + margin) for h in holes]
    for o in openings:
        circles.append((o.at, tube_radius + margin))
        circles.extend((corner, r + margin) for corner, r in _corners(o))
    return contour.hull(circles)


def _corners(o: Opening) -> list[tuple[Point, float]]:
    """Circles whose hull is the opening's."""
    if o.kind == "drawn":
        return [((o.at[0] + x, o.at[1] + y), 0.0) for x, y in contour.points(o.contour)]
    r = o.corner
    dx, dy = o.width / 2 - r, o.height / 2 - r
    spots = {(o.at[0] + i * dx, o.at[1] + j * dy) for i in (-1, 1) for j in (-1, 1)}
    return [(spot, r) for spot in sorted(spots)]
