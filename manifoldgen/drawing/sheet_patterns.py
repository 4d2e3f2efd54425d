"""Flat patterns of the collector's sheet parts, full size: the cone's sector and the transition plate."""

from __future__ import annotations

import math

from manifoldgen.drawing.extent import extent
from manifoldgen.drawing.figure import CENTRE, FINE, PLAIN, EdgeLine, Figure, Item, Text, line, outline
from manifoldgen.drawing.lettering import wrapped
from manifoldgen.geometry.contour import Vertex
from manifoldgen.geometry.vectors import cos_sin
from manifoldgen.manifold.model import Collector, Piece
from manifoldgen.shop.cone import ConePattern, Sector
from manifoldgen.shop.cut_plates import CutPlate
from manifoldgen.wording import fixed, size

CUT, INNER, LINES, NOTES = "CUT_OUTER", "CUT_INNER", "ETCH", "NOTES"
_TITLE, _LETTER, _LEAD = 3.5, 2.3, 1.75
_WIDE = 178.0
_WHOLE, _NARROW = (
    270.0,
    85.0,
)  # mm: what goes over several sheets has its words in a narrow block on the first
_SQUARE = 0.05  # degrees


def cone_figure(cone: ConePattern, *, words: bool = True) -> Figure:
    """The blank of a cone, seen from outside, the outlet end up."""
    sector = cone.sector()
    items = _rectangle(cone, sector) if not sector.sweep else _sector(cone, sector)
    if words:
        box = extent(Figure(tuple(items)))
        title, wide = f"{cone.piece}   cone, flat   1 off", _WIDE if box.width < _WHOLE else _NARROW
        items += _block(box.left, box.low - 6.0, title, cone_words(cone, sector), wide)
    return Figure(tuple(items))


def cone_words(cone: ConePattern, sector: Sector) -> tuple[str, ...]:
    """The sentences below a cone's blank."""
    joints = f"Joints: {', '.join(cone.joints)}."
    if not sector.sweep:
        return (
            (
                f"A tube, not a cone: {fixed(sector.width)} x {fixed(sector.slant)} mm sheet of {size(cone.wall)} mm, or an offcut of "
                f"{size(2 * cone.end)} mm tube.  {joints}"
            ),
        )
    outer, inner = cone.sector(0.0), cone.sector(cone.wall)
    return (
        (
            f"Sheet {size(cone.wall)} mm.  Radii {fixed(sector.inner)} and {fixed(sector.outer)} mm, sweep {fixed(sector.sweep)}°, slant "
            f"{fixed(sector.slant)} mm: the middle of the sheet, which keeps its length when it is rolled.  {joints}"
        ),
        (
            f"Rolled: {fixed(2 * cone.start)} mm outside at the transition plate, {fixed(2 * cone.end)} mm at the outlet, {fixed(cone.height)} mm high, half angle "
            f"{fixed(abs(cone.half_angle))}°."
        ),
        (
            f"To check a cone bought or pressed, radii of its outside {fixed(outer.inner)} and {fixed(outer.outer)}, of its inside "
            f"{fixed(inner.inner)} and {fixed(inner.outer)} mm."
        ),
        (
            f"Seam: butt, allowance {fixed(cone.seam_gap)} mm a side; away from the ends of the outer valleys.  Dress both ends flat: "
            f"{fixed(cone.dress)} mm a side come off one edge of the sheet; add them where both must stay whole."
        ),
        *(
            ()
            if cone.hole is None
            else ("The hole is the branch's bore in the middle of the sheet; open it to fit.",)
        ),
    )


def lid_figure(plate: CutPlate, c: Collector, piece: Piece) -> Figure:
    """A collector's lid or plate at full size, seen from the inlets' side."""
    items: list[Item] = [outline(plate.outline, PLAIN, CUT)]
    items += [outline(p.cut, PLAIN, INNER) for p in plate.passages]
    rim = c.rim_radius
    for number, angle in zip(c.order, c.ring_angles, strict=True):
        co, si = cos_sin(angle)
        items += [
            line((0.0, 0.0), (rim * si, rim * co), CENTRE, LINES),
            Text(((rim + 10) * si, (rim + 6) * co - 1.5), f"cyl. {number}", 3.0, "middle", bold=True, layer=LINES),
        ]  # fmt: skip
    box = extent(Figure(tuple(items)))
    title, wide = f"{piece.id}   {plate.name}   1 off", _WIDE if box.width < _WIDE else _NARROW
    return Figure((*items, *_block(box.left, box.low - 8.0, title, lid_words(c, piece), wide)))


def lid_words(c: Collector, piece: Piece) -> tuple[str, ...]:
    """The sentences below a lid."""
    leans = c.cone_half_angle
    edge = "square"
    if abs(leans) > _SQUARE:
        edge = f"dressed to the cone, {fixed(abs(leans))}° {'in' if leans > 0 else 'out'} towards the outlet"
    cg, sg = cos_sin(c.half_angle)
    return (
        (
            f"Sheet {size(c.section.wall)} mm {c.section.material}.  Seen from the inlets' side, printed side to the inlets.  Joints: "
            f"{', '.join(piece.joints)}."
        ),
        (
            f"Outside {fixed(2 * c.rim_radius)} mm, edge {edge}.  The bores run on slanting: on the outlet side {fixed(c.section.wall * sg / cg)} "
            "mm nearer the middle; dress them so."
        ),
    )


def _sector(cone: ConePattern, s: Sector) -> list[Item]:
    half = math.radians(s.sweep / 2)
    up = -1.0 if cone.narrows else 1.0

    def at(radius: float, share: float) -> tuple[float, float]:
        return radius * math.sin(share * half), up * radius * math.cos(share * half)

    bulge = up * math.tan(half / 2)  # counter-clockwise from right to left where the centre lies below
    ring: tuple[Vertex, ...] = (
        (*at(s.outer, 1.0), bulge),
        (*at(s.outer, -1.0), 0.0),
        (*at(s.inner, -1.0), -bulge),
        (*at(s.inner, 1.0), 0.0),
    )
    items: list[Item] = [EdgeLine(ring, pen=PLAIN, layer=CUT)]
    for share in (-0.5, 0.0, 0.5):
        items.append(line(at(s.inner, share), at(s.outer, share), CENTRE if share == 0 else FINE, LINES))
    if cone.hole is not None:
        items.append(
            EdgeLine(tuple((float(x), float(y), 0.0) for x, y in cone.hole[:-1]), pen=PLAIN, layer=INNER)
        )
    large, small = ("plate end", "outlet end") if cone.narrows else ("outlet end", "plate end")
    for radius, name, inward in ((s.outer, large, -1.0), (s.inner, small, 1.0)):
        x, y = at(radius + inward * 4.0, 0.25)
        items.append(Text((x, y - 1.2), name, _LETTER, "middle", angle=-up * s.sweep / 8, layer=LINES))
    for share in (-1.0, 1.0):
        x, y = at((s.inner + s.outer) / 2, share * 0.95)
        turn = -up * share * s.sweep / 2 * 0.95 + 90.0
        items.append(Text((x, y), "seam", _LETTER, "middle", angle=turn, layer=LINES))
    x, y = at((s.inner + s.outer) / 2, -0.25)
    items.append(Text((x, y), f"{cone.piece}  print out", 3.0, "middle", bold=True, layer=LINES))
    return items


def _rectangle(cone: ConePattern, s: Sector) -> list[Item]:
    corners = ((0.0, 0.0), (s.width, 0.0), (s.width, s.slant), (0.0, s.slant))
    return [
        EdgeLine(tuple((x, y, 0.0) for x, y in corners), pen=PLAIN, layer=CUT),
        Text((s.width / 2, s.slant / 2), f"{cone.piece}  print out", 3.0, "middle", bold=True, layer=LINES),
    ]


def _block(x: float, top: float, title: str, said: tuple[str, ...], wide: float = _WIDE) -> list[Item]:
    baseline = top - _TITLE
    items: list[Item] = [Text((x, baseline), title, _TITLE, bold=True, layer=NOTES)]
    baseline -= 0.8 * _TITLE
    for sentence in said:
        for part in wrapped(sentence, _LETTER, wide):
            baseline -= _LETTER * _LEAD
            items.append(Text((x, baseline), part, _LETTER, layer=NOTES))
    return items
