"""How an inlet lies on the mill: from the side, and at its cut end for either cut.  Not to scale where it says so.

From the side the end mill's plane is level and the tube rises to it by the tilt. At the end the inside line
(nearest the collector's axis) stands ψ to one side of the top, then ψ to the other.
"""

from __future__ import annotations

import math

import numpy as np

from manifoldgen.drawing import dimensions
from manifoldgen.drawing.figure import (
    BOLD,
    CENTRE,
    FINE,
    HIDDEN,
    PLAIN,
    Anchor,
    Circle,
    Figure,
    Item,
    Pen,
    Point,
    Text,
    line,
    polyline,
)
from manifoldgen.shop.mill import MillInlet, MillSheet
from manifoldgen.wording import fixed

_SMALL, _LETTER = 2.0, 2.3
_JAW = 7.0  # mm on paper
_GREY, _WASTE = 0.85, 0.7
_LIGHT = Pen(0.18, grey=0.5)


def set_up(sheet: MillSheet, inlet: MillInlet, width: float) -> Figure:
    """Both views beside each other, `width` mm wide; the figure hangs from y = 0."""
    side = 0.5 * width
    made = _side(sheet, inlet, side)
    r = 0.07 * width
    top = -13.0
    cuts = ((1, "1st cut"), (-1, "2nd cut")) if sheet.roll else ((1, "the only cut"),)
    for k, (hand, name) in enumerate(cuts):
        centre = (side + (0.13 + 0.235 * k) * width, top - 1.6 * r)
        made += _end(sheet, inlet, centre, r, hand=hand, name=name)
    middle = side + (0.13 + 0.235 * (len(cuts) - 1) / 2) * width
    legend = Text(
        (middle, top - 2.6 * r - 13.0), "thick line: back line, thin: inside line", _SMALL, "middle"
    )
    return made + Figure((legend,))


def _side(sheet: MillSheet, inlet: MillInlet, width: float) -> Figure:
    """The tube in the vice, the square end left, the cut level."""
    delta = math.radians(sheet.tilt)
    r, long = sheet.section.radius, inlet.blank
    scale = (width - 22.0) / (long * math.cos(delta) + 2 * r * math.sin(delta))
    scale = min(scale, 34.0 / (2 * r + long * math.sin(delta)))
    low = -r * math.cos(delta)
    lift = -16.0 - scale * (long * math.sin(delta) + r * math.cos(delta) - low)
    origin = (6.0 + scale * r * math.sin(delta), lift - scale * low)

    def at(s: float, h: float) -> Point:
        """A point of the tube: s along it from the blank's left end, h above its centreline in this view."""
        x = s * math.cos(delta) - h * math.sin(delta)
        y = s * math.sin(delta) + h * math.cos(delta)
        return origin[0] + scale * x, origin[1] + scale * y

    extra = inlet.extra
    first, apex = inlet.scallop + extra, inlet.apex + extra
    height = (apex - long) * math.tan(delta)  # of the plane over the centreline at the blank's end
    plane, end, foot = at(first, r), at(long, r), at(long * 0.55, 0.0)
    beyond = (at(long, -r)[0] - foot[0]) / math.cos(delta) + 3.0  # mm from the foot, clear of the tube
    tip = (foot[0] + (beyond + 1.0) * math.cos(delta), foot[1] + (beyond + 1.0) * math.sin(delta))
    figure = dimensions.along(
        at(extra, -r), at(first, -r), f"{fixed(inlet.scallop)} mm", off=-13.0
    ) + dimensions.along(at(0.0, -r), at(long, -r), f"blank {fixed(inlet.blank)} mm", off=-22.5)
    items: list[Item] = [
        polyline([at(0, -r), at(long, -r), at(long, r), at(0, r)], PLAIN, closed=True, fill=_GREY),
        polyline([at(first, r), at(long, r), at(long, height)], FINE, closed=True, fill=_WASTE),
        line(at(-4 / scale, 0), tip, CENTRE),
        line(foot, (foot[0] + beyond + 1.0, foot[1]), _LIGHT),
    ]
    if extra:
        items.append(line(at(extra, -r), at(extra, r), HIDDEN))
    reach = min(sheet.grip, first * 0.9)
    for h in (r, -r):
        out = math.copysign(_JAW / scale, h)
        jaw = [at(0.0, h), at(reach, h), at(reach, h + out), at(0.0, h + out)]
        items.append(polyline(jaw, PLAIN, closed=True, fill=0.95))
        items.append(_along(at(reach / 2, h + out / 2), "V-block", sheet.tilt, "middle"))
    right = end[0] + 8.0
    cutter, top = (end[0] + plane[0]) / 2, end[1] + 3.0
    items += [
        line((plane[0] - 8.0, plane[1]), (right, plane[1]), BOLD),
        polyline([(cutter - 5, plane[1]), (cutter + 5, plane[1]), (cutter + 5, top + 4), (cutter - 5, top + 4)], PLAIN, closed=True),
        line((cutter, top + 1.0), (cutter, top + 9.0), CENTRE),
        Text((cutter + 6.5, top + 1.5), "end mill", _SMALL),
        Text((right + 1.5, plane[1] - _SMALL / 2), "level", _SMALL),
        Text((2.0, -3.0), f"From the side: {inlet.piece}", _LETTER, bold=True),
        _along(at(extra, -0.55 * r), f"  {inlet.datum.line}", sheet.tilt, "left"),
        _along(at(extra + inlet.scallop / 2, -r - 15.8 / scale), "scallop", sheet.tilt, "middle"),
    ]  # fmt: skip
    angle = dimensions.arc(foot, beyond, 0.0, sheet.tilt, f"{fixed(sheet.tilt)}°")
    return figure + Figure(tuple(items)) + angle


def _along(middle: Point, words: str, tilt: float, anchor: Anchor) -> Text:
    """Words along the tube, half of their height to either side of a point."""
    c, s = math.cos(math.radians(tilt)), math.sin(math.radians(tilt))
    return Text((middle[0] + s * _SMALL / 2, middle[1] - c * _SMALL / 2), words, _SMALL, anchor, angle=tilt)


def _end(sheet: MillSheet, inlet: MillInlet, centre: Point, radius: float, *, hand: int, name: str) -> Figure:
    """The cut end seen from downstream.  hand : +1 for the cut with the inside line left of the top."""
    scale = radius / sheet.section.radius
    height = (inlet.apex + inlet.extra - inlet.blank) * math.tan(math.radians(sheet.tilt)) * scale
    psi = sheet.roll
    x, y = centre
    items: list[Item] = []
    if abs(height) < radius:
        reach = math.degrees(math.acos(height / radius))
        turns = np.radians(np.linspace(90.0 - reach, 90.0 + reach, 40))
        cap = [(x + radius * math.cos(a), y + radius * math.sin(a)) for a in turns]
        items.append(polyline(cap, None, closed=True, fill=_WASTE))  # type: ignore[arg-type]
    items += [
        Circle(centre, radius, PLAIN),
        Circle(centre, radius - sheet.section.wall * scale, FINE),
        line((x, y - radius - 3), (x, y + radius + 3), CENTRE),
        line((x - radius - 3, y + height), (x + radius + 3, y + height), BOLD),
    ]
    inside, back = 90.0 + hand * psi, 270.0 + hand * psi
    for angle, said, pen in ((inside, f"{fixed(psi)}°" if psi else "inside line", PLAIN), (back, "0°", BOLD)):
        c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
        items.append(line((x, y), (x + (radius + 2) * c, y + (radius + 2) * s), pen))
        aside = -1.5 if c < -1e-9 else 1.5  # off the upright centre line
        anchor: Anchor = "right" if aside < 0 else "left"
        items.append(Text((x + (radius + 3) * c + aside, y + (radius + 3) * s - 1.0), said, _SMALL, anchor))
    joint = inlet.right if hand > 0 else inlet.left
    title = f"{name}: {joint}" if joint and sheet.roll else name
    items.append(Text((x, centre[1] + radius + 9.0), title, _LETTER, "middle", bold=True))
    figure = Figure(tuple(items))
    if psi:
        low, high = sorted((90.0, inside))
        figure += dimensions.arc(centre, radius * 0.55, low, high, "")
    return figure + Figure((Text((x, y - radius - 8.0), "seen at the cut end", _SMALL, "middle"),))
