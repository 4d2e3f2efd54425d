"""A collector cut open along its axis: above the axis through an inlet, below it between two neighbours."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from manifoldgen.drawing import dimensions
from manifoldgen.drawing.extent import extent
from manifoldgen.drawing.figure import (
    CENTRE,
    FINE,
    HIDDEN,
    PLAIN,
    Figure,
    Item,
    Point,
    Text,
    line,
    polyline,
)
from manifoldgen.drawing.lettering import text_width
from manifoldgen.manifold.collector_profile import bore_profile, outer_profile
from manifoldgen.manifold.cut import JOINT_WORDS, ROLE_WORDS
from manifoldgen.manifold.model import Collector, Section
from manifoldgen.manifold.seams import seam_radius, star_depth, touch_depth
from manifoldgen.wording import fixed, sizes

_METAL, _SEAM = 0.8, 0.6
_SMALL, _LETTER = 2.0, 2.3
_STUB, _TAIL = 25.0, 15.0  # mm of tube drawn before the ring plane and behind the cone
_ROW = 6.0  # mm between dimensions


def section(c: Collector, width: float, tall: float) -> Figure:
    """The section with its dimensions, at most `width` wide and about `tall` high; hangs from y = 0."""
    before = _STUB if c.kind == "merge" else _STUB + c.section.radius
    span = before + c.length + _TAIL
    high = 2 * (c.ring_radius + before * math.tan(math.radians(c.half_angle)) + c.section.radius)
    beside = text_width(_tube("inlet", c.section), _SMALL) + text_width(_tube("outlet", c.outlet), _SMALL)
    scale = min((width - beside - 10.0) / span, tall / high, 1.0)

    def at(z: float, radius: float) -> Point:
        return scale * z, scale * radius

    items: list[Item] = [*_inlet(c, at, before), *_between(c, at)]
    items += _lid_and_cone(c, at)
    items.append(line(at(-before - 5, 0), at(c.length + _TAIL + 5, 0), CENTRE))
    items.append(line(at(0, -c.ring_radius * 1.1), at(0, c.ring_radius * 1.35), HIDDEN))
    figure = Figure(tuple(items)) + _named(c, at, before)
    figure += _dimensions(c, at, scale)
    box = extent(figure)
    ratio = "full size" if scale == 1.0 else f"drawn 1 : {1 / scale:.2f}"
    note = Text(
        (box.left, box.low - 5.0),
        f"Above the axis: through an inlet. Below: between two inlets. {ratio.capitalize()}, lengths in mm.",
        _SMALL,
    )
    figure += Figure((note,))
    return figure.moved(-box.left, -box.high)


def _inlet(c: Collector, at: Callable[[float, float], Point], before: float) -> list[Item]:
    """The two walls of one inlet above the axis, each from the stub to where it ends."""
    slope, cg = math.tan(math.radians(c.half_angle)), math.cos(math.radians(c.half_angle))
    r, bore = c.section.radius / cg, c.section.bore_radius / cg

    def wall(sign: float, z: float, half: float) -> Point:
        return z, c.ring_radius - z * slope + sign * half

    made: list[Item] = []
    end = c.merge_depth
    top = [wall(1, -before, r), wall(1, end, r), wall(1, end, bore), wall(1, -before, bore)]
    made.append(polyline([at(*p) for p in top], PLAIN, closed=True, fill=_METAL))
    if c.kind == "merge":
        star, joined = star_depth(c), c.join_depth
        low = [wall(-1, -before, bore), wall(-1, joined, bore), wall(-1, star, r), wall(-1, -before, r)]
    else:
        low = [wall(-1, -before, bore), wall(-1, end, bore), wall(-1, end, r), wall(-1, -before, r)]
    made.append(polyline([at(*p) for p in low], PLAIN, closed=True, fill=_METAL))
    made.append(line(at(*wall(0, -before, 0)), at(*wall(0, end + 6, 0)), CENTRE))
    return made


def _between(c: Collector, at: Callable[[float, float], Point]) -> list[Item]:
    """The face where two neighbours meet, below the axis."""
    if c.kind == "bundle" or len(c.order) == 2:
        return []
    touch, star, deep = touch_depth(c), star_depth(c), touch_depth(c, c.section.bore_radius)
    outer = _branch(c, 0, touch, c.merge_depth, c.section.radius)
    inner = _branch(c, 1, touch, star, c.section.radius)
    window_in = _branch(c, 1, deep, c.join_depth, c.section.bore_radius)
    window_out = _branch(c, 0, deep, c.merge_depth, c.section.bore_radius)
    ring = [*inner[::-1], *outer, *window_out[::-1], *window_in]
    face = polyline([at(z, -u) for z, u in ring], PLAIN, closed=True, fill=_SEAM)
    return [face]


def _branch(c: Collector, which: int, start: float, end: float, radius: float) -> list[Point]:
    """One branch of a seam as (depth, distance from the axis), evenly where it turns round."""
    depths = start + (end - start) * np.linspace(1e-4, 1.0, 60) ** 2
    return [(float(z), max(seam_radius(c, float(z), radius)[which], 0.0)) for z in depths]


def _lid_and_cone(c: Collector, at: Callable[[float, float], Point]) -> list[Item]:
    slope, cg = math.tan(math.radians(c.half_angle)), math.cos(math.radians(c.half_angle))
    lid = c.merge_depth + c.section.wall
    outer, bore = outer_profile(c), bore_profile(c)
    z_out, r_out = [z for _, z in outer], [r for r, _ in outer]
    made: list[Item] = []
    for side in (1.0, -1.0):
        opening = []
        for z in (c.merge_depth, lid):
            lumen = c.ring_radius - z * slope + c.section.bore_radius / cg
            if side < 0:
                lumen = 0.0 if c.kind == "bundle" else _valley(c, z)
            opening.append((z, lumen))
        rim = [(z, float(np.interp(z, z_out, r_out))) for z in (lid, c.merge_depth)]
        made.append(polyline([at(z, side * r) for z, r in (*opening, *rim)], PLAIN, closed=True, fill=_METAL))
        skin = [(lid, float(np.interp(lid, z_out, r_out))), *((z, r) for r, z in outer[1:])]
        hollow = [(z, r) for r, z in bore][::-1]
        made.append(polyline([at(z, side * r) for z, r in (*skin, *hollow)], PLAIN, closed=True, fill=_METAL))
        end = c.length + _TAIL
        tube = [(c.length, c.outlet.radius), (end, c.outlet.radius), (end, c.outlet.bore_radius), (c.length, c.outlet.bore_radius)]  # fmt: skip
        made.append(polyline([at(z, side * r) for z, r in tube], FINE, closed=True, fill=0.95))
    if c.kind == "bundle":  # the plate's wall between inlet's inner side and the axis
        inside = c.ring_radius - c.merge_depth * slope - c.section.bore_radius / cg
        web = [
            (c.merge_depth, 0.0),
            (c.merge_depth, inside),
            (lid, inside - c.section.wall * slope),
            (lid, 0.0),
        ]
        made.append(polyline([at(z, r) for z, r in web], PLAIN, closed=True, fill=_METAL))
    return made


def _valley(c: Collector, depth: float) -> float:
    """How far the bores reach from the axis between two inlets."""
    if len(c.order) == 2:
        return 0.0
    reach = seam_radius(c, depth, c.section.bore_radius)[0]
    return 0.0 if math.isnan(reach) else reach


def _named(c: Collector, at: Callable[[float, float], Point], before: float) -> Figure:
    """The names of the parts."""
    slope = math.tan(math.radians(c.half_angle))
    lid = c.merge_depth + c.section.wall
    outer = outer_profile(c)
    z_out, r_out = [z for _, z in outer], [r for r, _ in outer]
    middle = (lid + c.length) / 2
    x, y = at(middle, float(np.interp(middle, z_out, r_out)))
    items: list[Item] = [
        Text((x, y + 2.0), f"cone {fixed(abs(c.cone_half_angle))}°", _SMALL),
        Text((at(c.length, 0)[0] + 1.0, at(0, c.outlet.radius)[1] + 1.5), _tube("outlet", c.outlet), _SMALL),
    ]
    x, y = at(-before, c.ring_radius + before * slope)
    items.append(Text((x - 1.5, y - 1.0), _tube("inlet", c.section), _SMALL, "right"))
    x, y = at(c.merge_depth + c.section.wall / 2, float(np.interp(lid, z_out, r_out)))
    items += [
        line((x, y), (x + 3.0, y + 7.0), FINE),
        Text((x + 3.5, y + 7.0), ROLE_WORDS["lid"] if c.kind == "merge" else "plate", _SMALL),
    ]
    if c.kind == "merge" and len(c.order) > 2:
        x, y = at(star_depth(c), 0.0)
        items += [
            line((x, y), (x + 9.0, y + 5.0), FINE),
            Text((x + 9.5, y + 5.0), JOINT_WORDS["star"], _SMALL),
        ]
        z = (touch_depth(c) + star_depth(c)) / 2
        left = at(0.0, 0.0)[0] - 4.0
        for which, name, y in ((1, "inner seam", -8.0), (0, "outer seam", -20.0)):
            end = at(z, -seam_radius(c, z)[which])
            items += [line((left, y), end, FINE), Text((left - 0.8, y - 1.0), name, _SMALL, "right")]
    return Figure(tuple(items))


def _tube(name: str, section: Section) -> str:
    return f"{name} {sizes(section.od, section.wall)} mm"


def _dimensions(c: Collector, at: Callable[[float, float], Point], scale: float) -> Figure:
    """Depths along the axis below the picture, diameters at its ends."""
    marks = [(0.0, "joint plane")]
    if c.kind == "merge":
        if len(c.order) > 2:
            marks += [(touch_depth(c), "seam begins"), (star_depth(c), JOINT_WORDS["star"])]
        marks += [(c.join_depth, "bores joined"), (c.merge_depth, "flat cut")]
    marks += [(c.merge_depth + c.section.wall, "cone begins"), (c.length, "outlet tube")]
    low = -scale * max(c.rim_radius, c.ring_radius * 1.1) - 6.0
    figure = Figure()
    for row, (z, name) in enumerate(reversed(marks[1:])):
        y = low - _ROW * row
        x, _ = at(z, 0.0)
        figure += dimensions.along((0.0, y), (x, y), "")
        figure += Figure(
            (line((x, low + 4.0), (x, y), FINE), Text((x + 2.0, y - 0.8), f"{fixed(z)}  {name}", _LETTER))
        )
    figure += Figure((line((0.0, low + 4.0), (0.0, low - _ROW * (len(marks) - 2) - 2.0), FINE),))
    named = scale * c.length + 1.0 + text_width(_tube("outlet", c.outlet), _SMALL)
    x = max(scale * (c.length + _TAIL) + 8.0, named + 6.0)
    figure += dimensions.along(
        (x, -scale * c.rim_radius), (x, scale * c.rim_radius), f"rim {fixed(2 * c.rim_radius)}"
    )
    figure += Figure(
        tuple(line((scale * c.merge_depth, s * scale * c.rim_radius), (x, s * scale * c.rim_radius), FINE) for s in (1, -1))
    )  # fmt: skip
    return figure
