"""Saw guides: a half-shell that an elbow is laid in, its end on the stop, its cut where the shell ends.

Which guides there are, and what each serves, is `shop.saw_guides`' answer.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from functools import partial

import numpy as np

from manifoldgen.errors import GeometryError
from manifoldgen.geometry.path import Path
from manifoldgen.geometry.pose import Frame
from manifoldgen.geometry.vectors import array, rotated, vec
from manifoldgen.manifold.model import Manifold
from manifoldgen.prints import bodies, marks, shell
from manifoldgen.prints.aid import COLD, Told, printed
from manifoldgen.prints.part import PrintedPart
from manifoldgen.shop.aid_trouble import too_tight
from manifoldgen.shop.cautions import hazard_line
from manifoldgen.shop.elbow_cuts import ElbowCut
from manifoldgen.shop.saw_guides import GuideGroup, saw_guides
from manifoldgen.wording import fixed, size

LEDGE = 6.0  # mm: what the scale needs beside the rim
TIE = 5.5  # mm: notch for a cable tie
TIE_DEEP = 1.6
TICK = 0.7  # mm: width of a tick
TICK_DEEP = 0.6
UPRIGHT = 0.3  # mm: depth of a tick in the face, which is upright in print
STOP = 7.0  # mm: the stop, wide enough on top for the mark
_UP = (0.0, 0.0, 1.0)


def guides(m: Manifold) -> tuple[PrintedPart, ...]:
    """A saw guide for every cut through an arc in the cutting plan, each followed by its stop blocks.

    Raises
    ------
    GeometryError : a bend too tight for a guide's wall in its throat.
    SolidError : a guide that does not fit on the printer's bed.
    """
    return tuple(make() for make in guide_makers(m, saw_guides(m)).values())


def guide_makers(m: Manifold, groups: Sequence[GuideGroup]) -> dict[str, Callable[[], PrintedPart]]:
    """By its name what makes each guide and each stop block."""
    made: dict[str, Callable[[], PrintedPart]] = {}
    for group in groups:
        made[group.words] = partial(_guide, m, group)
        made |= {group.stop(cuts): partial(_block, m, group, cuts) for cuts in group.narrower}
    return made


def _guide(m: Manifold, group: GuideGroup) -> PrintedPart:
    cut = group.cut
    solid = guide_solid(m, cut, _names(group.own))
    others = [
        f"{_names(c)} {fixed(c[0].angle)}° with stop {fixed(cut.angle - c[0].angle)}°" for c in group.narrower
    ]
    serves = "; ".join([f"{_names(group.own)} {cut.angle:.1f}°", *others])
    stop = "its factory end" if cut.first else "the cut before"
    radius = cut.od / 2 + m.workshop.fit + m.workshop.sound_wall
    tied = "a cable tie in each notch" if _tie_shares(cut, radius) else "held by a hose clamp"
    leg = f" Cut its leg to {cut.leg:.1f} mm first." if cut.leg else ""
    told = Told(
        "guide",
        group.words,
        f"{cut.angle:.1f} DEG {_names(group.own)}",
        f"Saw guide for elbows of {size(cut.od)} mm, CLR {size(cut.clr)} mm: {serves}.",
        f"Lay the elbow in the bore, {stop} hard on the stop, the bend level with the rims; {tied}.{leg}"
        " Saw along the face on the waste side, then dress down to the face. The scale on the ledge counts degrees from"
        " the face. The ticks on the face are 10° apart, the long one at the ledge is the back line; they run clockwise"
        " seen from the stop.",
        (
            hazard_line(m.tables, "saw"),
            COLD,
            "Measure the elbow's outside first: the bore is made for it plus the fit, not for the nominal size.",
        ),
    )
    return printed(m, solid, told, cut.frame)


def guide_solid(m: Manifold, cut: ElbowCut, names: str) -> bodies.Body:
    """A guide in the bend's own axes: the arc begins at +x and ends at the face, the rims lie in z = 0.

    Raises GeometryError where its wall does not fit into the throat.
    """
    if told := too_tight(m, cut):
        raise GeometryError(told)
    bore = cut.od / 2 + m.workshop.fit
    radius = bore + m.workshop.sound_wall
    ledge = shell.ledge_room(radius, LEDGE)
    path = shell.bend_path(cut.clr, cut.angle, before=cut.leg)
    body = shell.swept(path, shell.outside(radius, ledge), before=STOP)
    hollow = bodies.tube(path, bore, after=2.0)
    cutters = [hollow, *_scale(path, cut, bore, ledge), *_ties(path, cut, radius, ledge), *_ticks(path, bore)]
    text = f"{cut.angle:.1f} DEG {names}"
    top = Frame((cut.clr + ledge / 2, -cut.leg - STOP / 2, 0.0), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), _UP)
    height = min(5.0, 6.0 * (2 * radius + ledge - 2.0) / marks.width(text))
    cutters.append(marks.flat(text, top, height))
    return bodies.minus(body, *cutters)


def _scale(path: Path, cut: ElbowCut, bore: float, ledge: float) -> list[bodies.Body]:
    """Degrees from the face, on the rim at the back: every one, longer at five, written at ten."""
    made = []
    room = ledge + 2.0
    for degree in range(1, math.ceil(cut.angle)):
        place = _frame_at(path, cut.angle - degree)
        reach = 1.6 if degree % 5 else 3.0
        made.append(_groove(place, bore, bore + reach, TICK if degree % 5 == 0 else 0.5))
        if degree % 10 == 0 and room >= 6.0 and degree < cut.angle - 2:
            at = place.out((bore + reach + room / 2, 0.0, 0.0))
            reads = Frame(vec(at), vec(-array(place.y)), place.x, place.z)
            made.append(marks.flat(str(degree), reads, 3.6, TICK_DEEP))
    return made


def _groove(place: Frame, first: float, last: float, width: float) -> bodies.Body:
    """A tick in the rim from `first` to `last` mm towards the back."""
    return bodies.box((first - 0.5, -width / 2, -TICK_DEEP), (last, width / 2, 1.0), place)


def _ties(path: Path, cut: ElbowCut, radius: float, ledge: float) -> list[bodies.Body]:
    """Notches for cable ties, half way between two tens of the scale."""
    shares = _tie_shares(cut, radius)
    made = []
    for share in shares:
        from_face = cut.angle * share
        tens = 10 * math.floor(from_face / 10) + 5
        place = _frame_at(path, cut.angle - (tens if tens < cut.angle - 4 else from_face))
        half = TIE / 2
        made.append(
            bodies.box((-2 * radius, -half, -radius - 1), (2 * radius, half, TIE_DEEP - radius), place)
        )
        if ledge:
            made.append(bodies.box((radius, -half, -radius), (radius + ledge + 1, half, 1.0), place))
    return made


def _tie_shares(cut: ElbowCut, radius: float) -> tuple[float, ...]:
    """Where on the arc the ties go: two, one, or none on a guide too short for a notch in its throat."""
    long = math.radians(cut.angle) * (cut.clr - radius)
    if long < TIE + 4.0:
        return ()
    return (0.25, 0.75) if long > 6 * TIE else (0.5,)


def _ticks(path: Path, bore: float) -> list[bodies.Body]:
    """Ticks on the face round the bore: every 10°, longer at 30s, longest at the back, the side and the throat."""
    end = path.end
    back = shell.back_of(array(end.direction))
    made = []
    for turn in range(0, 181, 10):
        out = rotated(back, end.direction, turn)
        side = np.cross(end.direction, out)
        place = Frame(end.at, vec(out), vec(side), end.direction)
        reach = 2.8 if turn % 90 == 0 else (2.0 if turn % 30 == 0 else 1.2)
        half = 0.7 if turn == 0 else 0.45
        made.append(_notch(place, bore - 0.5, bore + reach, half))
    return made


def _notch(place: Frame, first: float, last: float, half: float) -> bodies.Body:
    """A groove with leaning sides in a face, `half` mm to either side: nothing in it hangs over on an upright face."""
    above = 0.5
    corners = [(x, y * half * (1.0 + above / UPRIGHT), above) for x in (first, last) for y in (-1.0, 1.0)]
    corners += [(first, 0.0, -UPRIGHT), (last, 0.0, -UPRIGHT)]
    return bodies.Body.hull_points(place.out(corners))


def _frame_at(path: Path, turn: float) -> Frame:
    """Axes at a turn of the bend: x to its back, y along the travel, z up."""
    at, travel = shell.along(path, turn)
    return Frame(vec(at), vec(shell.back_of(travel)), vec(travel), _UP)


def _two_lines(
    first: str, second: str, place: Frame, room: float, depth: float = marks.DEPTH
) -> list[bodies.Body]:
    """Two lines of text, one above the other, as tall as the room lets them."""
    made = []
    for text, side in ((first, 1.0), (second, -1.0)):
        height = min(6.0, 6.0 * room / marks.width(text))
        at = place.out((0.0, side * 4.2, 0.0))
        made.append(marks.flat(text, Frame(vec(at), place.x, place.y, place.z), height, depth))
    return made


def _block(m: Manifold, group: GuideGroup, cuts: tuple[ElbowCut, ...]) -> PrintedPart:
    wide, cut = group.cut, cuts[0]
    turn = wide.angle - cut.angle
    solid = block_solid(wide, turn, f"{cut.angle:.1f} DEG", _names(cuts))
    told = Told(
        "guide",
        group.stop(cuts),
        f"{cut.angle:.1f} DEG {_names(cuts)}",
        f"Stop block of {fixed(turn)}° for the {fixed(wide.angle)}° saw guide: cuts {fixed(cut.angle)}° for {_names(cuts)}.",
        f"Lay it in the guide's bore, hard on the stop, its flat level with the rims; the elbow's end goes against it."
        f" The elbow's end then reads {fixed(cut.angle)}° on the scale.",
    )
    down = _UP if _thick(wide, turn) else (0.0, -1.0, 0.0)
    return printed(m, solid, told, wide.frame, down=down)


def block_solid(wide: ElbowCut, turn: float, first: str, second: str) -> bodies.Body:
    """A stop block in the guide's axes: half the elbow's round, filled, `turn` degrees from the stop."""
    path = shell.bend_path(wide.clr, turn)
    radius = wide.od / 2
    body = shell.swept(path, shell.half_round(radius))
    if _thick(wide, turn):  # read from above, across the bend
        return bodies.minus(body, *_two_lines(first, second, _frame_at(path, turn / 2), 1.6 * radius))
    back, along = shell.back_of(array(path.end.direction)), array(path.end.direction)
    at = array(path.end.at) - (0.0, 0.0, 0.4 * radius)
    end = Frame(vec(at), vec(-back), _UP, vec(along))
    return bodies.minus(body, *_two_lines(first, second, end, 1.05 * radius))


def _thick(wide: ElbowCut, turn: float) -> bool:
    """Whether a stop block has room for its mark on its flat; a thinner one has it on its face and prints lying."""
    return math.radians(turn) * wide.clr >= 14.0


def _names(cuts: Sequence[ElbowCut]) -> str:
    """The pieces, as they are engraved: at most two by name."""
    names = [c.piece for c in cuts]
    return " ".join(names) if len(names) <= 2 else f"{names[0]} {names[1]} +{len(names) - 2}"
