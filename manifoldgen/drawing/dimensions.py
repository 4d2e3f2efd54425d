"""Dimension lines between two points, for pictures that are not full size: ticks at the ends, words above."""

from __future__ import annotations

import math

from manifoldgen.drawing.figure import FINE, Figure, Item, Point, Text, line, polyline
from manifoldgen.drawing.lettering import text_width

_TICK, _OVER, _SIZE = 1.2, 1.0, 2.0  # mm: half a tick, past the dimension line, capitals


def along(a: Point, b: Point, text: str, *, off: float = 0.0, size: float = _SIZE) -> Figure:
    """A dimension from `a` to `b`, `off` mm to the left of that direction, with its extension lines.

    Words that are wider than the dimension stand behind its end.
    """
    length = math.dist(a, b) or 1.0
    ux, uy = (b[0] - a[0]) / length, (b[1] - a[1]) / length
    nx, ny = -uy, ux
    p, q = (a[0] + off * nx, a[1] + off * ny), (b[0] + off * nx, b[1] + off * ny)
    items: list[Item] = [line(p, q, FINE)]
    beyond = math.copysign(_OVER, off) if off else 0.0
    for start, end in ((a, p), (b, q)):
        if off:
            items.append(line(start, (end[0] + beyond * nx, end[1] + beyond * ny), FINE))
        t = _TICK * 0.7
        items.append(
            line((end[0] - t * (ux + nx), end[1] - t * (uy + ny)), (end[0] + t * (ux + nx), end[1] + t * (uy + ny)), FINE)
        )  # fmt: skip
    angle = math.degrees(math.atan2(uy, ux))
    side = 1.0
    if not -90.0 < angle <= 90.0:
        angle, side = angle - 180.0, -1.0
    lift = side * 0.9
    if text_width(text, size) > length - 1.0:
        beyond, low = _TICK + 1.0, side * size / 2
        at = (q[0] + beyond * ux - low * nx, q[1] + beyond * uy - low * ny)
        items.append(Text(at, text, size, "left" if side > 0 else "right", angle=angle))
    else:
        middle = ((p[0] + q[0]) / 2 + lift * nx, (p[1] + q[1]) / 2 + lift * ny)
        items.append(Text(middle, text, size, "middle", angle=angle))
    return Figure(tuple(items))


def arc(centre: Point, radius: float, start: float, end: float, text: str, *, size: float = _SIZE) -> Figure:
    """An angle's arc from `start` to `end` degrees (anticlockwise from x), its words beside the middle."""
    turns = [math.radians(start + (end - start) * k / 24) for k in range(25)]
    points = [(centre[0] + radius * math.cos(a), centre[1] + radius * math.sin(a)) for a in turns]
    middle = math.radians((start + end) / 2)
    far = radius + 1.5
    at = (centre[0] + far * math.cos(middle), centre[1] + far * math.sin(middle) - size / 2)
    anchor = "left" if math.cos(middle) > 0.3 else "right" if math.cos(middle) < -0.3 else "middle"
    if anchor == "middle":
        at = (at[0], at[1] + size * (0.8 if math.sin(middle) > 0 else -0.8))
    return Figure((polyline(points, FINE), Text(at, text, size, anchor)))  # type: ignore[arg-type]
