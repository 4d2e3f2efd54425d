"""Flanges on paper at full size: to lay on the real head, turbine or valve before anything is cut.

A flange that fits a sheet stands there with its measures below; a larger one goes over several sheets that
join, and its measures come first on a sheet of their own.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from itertools import pairwise

from manifoldgen.drawing.extent import Extent, extent
from manifoldgen.drawing.figure import (
    CENTRE,
    FINE,
    HIDDEN,
    PLAIN,
    Circle,
    Figure,
    Item,
    Point,
    SheetPage,
    Text,
    line,
    outline,
    polyline,
)
from manifoldgen.drawing.lettering import LEADING, text_width, wrapped
from manifoldgen.drawing.paper import Area, Draft, Paper, paper
from manifoldgen.drawing.table import TICK, Column, height_of, tables
from manifoldgen.drawing.tiles import tiled
from manifoldgen.geometry import contour
from manifoldgen.manifold.model import Hole, Manifold
from manifoldgen.shop.cut_plates import CutPlate, PlateOpening
from manifoldgen.shop.plan import ShopPlan
from manifoldgen.wording import fixed, size, sizes

_Threads = Mapping[str, tuple[str, float]]  # by hole: the thread of its stud, and that one's diameter, mm

_SMALL = 2.2  # mm, capitals of names and dimensions
_ARROW = 2.0  # mm
_ROWS = 7.0  # mm between rows of dimensions
_GAP = 6.0  # mm between the drawing and what stands below it
_PAIRS = 10  # distances that are listed
_USE = (
    "Lay it on the real part, printed side up: every stud must stand in the middle of its hole and every gasket "
    "edge on its line. Seen from the tube side. Dashed: the tube. Measure the paper first."
)


def flange_pages(shop: ShopPlan) -> tuple[Draft | SheetPage, ...]:
    """Every flange at full size with what tape and caliper check, on the shop's paper, not numbered yet."""
    m = shop.manifold
    sheet = paper(m.workshop.paper)
    return tuple(page for plate in shop.plates if plate.clocked for page in _flange(m, plate, sheet))


def full_size(plate: CutPlate) -> Figure:
    """A flange at full size with its names and dimensions."""
    items: list[Item] = [outline(plate.outline, PLAIN)]
    for p in plate.passages:
        items += [outline(p.opening, PLAIN), outline(p.foot, HIDDEN), *_cross(p.at, _reach(p))]
        if p.id:
            items.append(Text((p.at[0] + 1.5, p.at[1] + 1.5), f"port {p.id}", 2.8, bold=True))
    for hole in plate.holes:
        items += [Circle(hole.at, hole.diameter / 2, PLAIN), *_cross(hole.at, hole.diameter / 2 + 2.0)]
        items += _named(hole, plate)
    return Figure(tuple(items)) + _dimensions(plate)


def _flange(m: Manifold, plate: CutPlate, sheet: Paper) -> list[Draft | SheetPage]:
    threads = {
        s.id: (s.thread, m.tables.thread(s.thread).diameter) for s in m.studs if s.flange == plate.name
    }
    drawing = full_size(plate)
    box = extent(drawing)
    room = sheet.room
    title = f"{plate.name[0].upper()}{plate.name[1:]}"
    words = _words(plate, room)
    below = _tables(plate, threads, room, room.height)
    needed = box.height + _GAP + height_of(words) + _GAP + sum(height_of(t) + _GAP for t in below)
    if box.width <= room.width and needed <= room.height:
        x = room.x + (room.width - box.width) / 2 - box.left
        shown = drawing.moved(x, room.top - box.high)
        return [_stacked(f"{title}, full size", shown, [words, *below], room, sheet)]
    pages: list[Draft | SheetPage] = list(
        _measures(title, words, _tables(plate, threads, room, room.height), room, sheet)
    )
    return [*pages, *tiled(drawing, sheet, f"{plate.name}, tube side up, full size: {m.name}")]


def _measures(title: str, words: Figure, below: Sequence[Figure], room: Area, sheet: Paper) -> list[Draft]:
    """The measures on sheets of their own."""
    drafts = []
    waiting = [words, *below]
    while waiting:
        taken: list[Figure] = []
        left = room.height
        while waiting and (not taken or height_of(waiting[0]) <= left):
            left -= height_of(waiting[0]) + _GAP
            taken.append(waiting.pop(0))
        drafts.append(_stacked(f"{title}, what to measure", Figure(), taken, room, sheet))
    return drafts


def _stacked(title: str, drawing: Figure, blocks: Sequence[Figure], room: Area, sheet: Paper) -> Draft:
    """The drawing as it is placed, and blocks hung below it."""
    figure = drawing
    y = extent(drawing).low - _GAP if drawing.items else room.top
    for block in blocks:
        figure += block.moved(room.x, y)
        y -= height_of(block) + _GAP
    return Draft(title, figure, sheet)


def _words(plate: CutPlate, room: Area) -> Figure:
    """What the paper is for, hung from (0, 0)."""
    told = (_USE, f"{size(plate.thickness)} mm, {plate.material}. {_sizes(plate)}", *plate.warnings)
    lines = [part for words in told for part in wrapped(words, _SMALL, room.width)]
    return Figure(
        tuple(Text((0.0, -_SMALL - k * LEADING * _SMALL), words, _SMALL) for k, words in enumerate(lines))
    )


def _sizes(plate: CutPlate) -> str:
    """Width and height of the openings, those alike together."""
    alike: dict[str, list[str]] = {}
    for p in plate.passages:
        x0, y0, x1, y1 = p.opening.bounds
        alike.setdefault(f"{sizes(x1 - x0, y1 - y0)} mm", []).append(p.id)
    named = [(f"port {', '.join(ids)}" if ids[0] else "opening", size) for size, ids in alike.items()]
    return " ".join(f"{who[0].upper()}{who[1:]}: {size}." for who, size in named)


def _tables(plate: CutPlate, threads: _Threads, room: Area, height: float) -> list[Figure]:
    """Places of the holes from the passage beside them, and distances between holes."""
    many = len(plate.passages) > 1
    columns: list[Column | str] = [
        "hole",
        Column("dia", "right", unit="mm"),
        "from",
        Column("right", "right", unit="mm"),
        Column("up", "right", unit="mm"),
        *(
            [Column("right of port 1", "right", unit="mm"), Column("up of port 1", "right", unit="mm")]
            if many
            else []
        ),
        Column("fits", "middle"),
    ]
    rows = []
    for hole in plate.holes:
        by = _nearest(hole, plate.passages)
        cells = [_called(hole, threads), size(hole.diameter), f"port {by.id}" if by.id else "opening"]
        cells += _offset(hole.at, by.at)
        rows.append([*cells, *(_offset(hole.at, plate.passages[0].at) if many else []), TICK])
    far = [
        Column("between", "left"),
        Column("centres", "right", unit="mm"),
        Column("over both studs", "right", unit="mm"),
        Column("fits", "middle"),
    ]
    pairs = [
        [f"{a.id} – {b.id}", fixed(math.dist(a.at, b.at)), _over(a, b, threads), TICK]
        for a, b in _pairs(plate.holes)
    ]
    made = list(tables(columns, rows, width=room.width, size=_SMALL, height=height)) if rows else []
    return made + (list(tables(far, pairs, width=room.width, size=_SMALL, height=height)) if pairs else [])


def _offset(at: Point, origin: Point) -> list[str]:
    return [fixed(at[0] - origin[0]), fixed(at[1] - origin[1])]


def _called(hole: Hole, threads: _Threads) -> str:
    return f"{hole.id} {threads[hole.id][0]}" if hole.id in threads else hole.id


def _over(a: Hole, b: Hole, threads: _Threads) -> str:
    """What a caliper reads over the outsides of two studs."""
    both = [threads[h.id][1] for h in (a, b) if h.id in threads]
    return fixed(math.dist(a.at, b.at) + sum(both) / 2) if len(both) == 2 else ""


def _pairs(holes: Sequence[Hole]) -> list[tuple[Hole, Hole]]:
    """Each hole with its nearest, then the two pairs furthest apart: those tell a plate out of square."""
    every = sorted(
        ((math.dist(a.at, b.at), i, j) for i, a in enumerate(holes) for j, b in enumerate(holes) if i < j),
    )
    kept: list[tuple[int, int]] = []
    for k in range(len(holes)):
        near = next((pair for _, *pair in every if k in pair), None)
        if near and tuple(near) not in kept:
            kept.append((near[0], near[1]))
    kept = sorted(kept)[: _PAIRS - 2]
    kept += [(i, j) for _, i, j in reversed(every[-2:]) if (i, j) not in kept]
    return [(holes[i], holes[j]) for i, j in kept]


def _nearest(hole: Hole, passages: Sequence[PlateOpening]) -> PlateOpening:
    return min(passages, key=lambda p: math.dist(p.at, hole.at))


def _reach(p: PlateOpening) -> float:
    x0, y0, x1, y1 = p.foot.bounds
    return max(x1 - x0, y1 - y0) / 2 + 2.0


def _cross(at: Point, reach: float) -> list[Item]:
    (x, y), r = at, reach
    return [line((x - r, y), (x + r, y), CENTRE), line((x, y - r), (x, y + r), CENTRE)]


def _named(hole: Hole, plate: CutPlate) -> list[Item]:
    """A hole's id and size, on the side where they cross the fewest lines."""
    lines = (hole.id, f"ø{size(hole.diameter)} mm")
    wide = max(text_width(words, _SMALL, bold=k == 0) for k, words in enumerate(lines))
    off, step = hole.diameter / 2 + 2.8, LEADING * _SMALL
    (x, y), high = hole.at, step + _SMALL
    lefts = [(x + off, y - step / 2), (x - off - wide, y - step / 2)]
    lefts += [(x + 1.5, y + off + step - 1.0), (x + 1.5, y - off - _SMALL + 1.0)]
    edges = [plate.outline, *(p.opening for p in plate.passages), *(p.foot for p in plate.passages)]

    def room(at: Point) -> float:
        box = [(at[0] + wide * i / 2, at[1] - step + high * j / 2) for i in range(3) for j in range(3)]
        off = [[contour.distance(edge, p) for p in box] for edge in edges]
        # a box with corners on both sides of an edge lies across it
        return min(0.0 if min(d) < 0 < max(d) else min(map(abs, d)) for d in off)

    left, base = next((at for at in lefts if room(at) > 1.0), max(lefts, key=room))
    return [Text((left, base - k * step), words, _SMALL, bold=k == 0) for k, words in enumerate(lines)]


def _dimensions(plate: CutPlate) -> Figure:
    """Pitch of the passages, spread of the holes both ways and size over all, outside the outline."""
    box = Extent(*plate.outline.bounds)
    columns = sorted({round(p.at[0], 3) for p in plate.passages})
    across = sorted({round(h.at[0], 3) for h in plate.holes})
    upright = sorted({round(h.at[1], 3) for h in plate.holes})
    figure = Figure()
    y = box.low - _ROWS
    for a, b in pairwise(columns):
        figure += _across(a, b, y, _lowest(plate))
    y -= _ROWS if len(columns) > 1 else 0.0
    if len(across) > 1:
        figure += _across(across[0], across[-1], y, _lowest(plate))
        y -= _ROWS
    figure += _across(box.left, box.right, y, box.low)
    x = box.right + _ROWS
    if len(upright) > 1:
        figure += _up(upright[0], upright[-1], x, box.right)
        x += _ROWS
    return figure + _up(box.low, box.high, x, box.right)


def _lowest(plate: CutPlate) -> float:
    return plate.outline.bounds[1]


def _across(a: float, b: float, y: float, low: float) -> Figure:
    """A dimension along x between two places, at height y, with its lines up to `low`."""
    items: list[Item] = [line((x, low - 1.0), (x, y - 1.0), FINE) for x in (a, b)]
    items += [line((a, y), (b, y), FINE), *_arrows((a, y), (b, y))]
    return Figure((*items, Text(((a + b) / 2, y + 1.0), f"{fixed(b - a)} mm", _SMALL, "middle")))


def _up(a: float, b: float, x: float, right: float) -> Figure:
    items: list[Item] = [line((right + 1.0, y), (x + 1.0, y), FINE) for y in (a, b)]
    items += [line((x, a), (x, b), FINE), *_arrows((x, a), (x, b))]
    return Figure((*items, Text((x - 1.0, (a + b) / 2), f"{fixed(b - a)} mm", _SMALL, "middle", angle=90.0)))


def _arrows(a: Point, b: Point) -> list[Item]:
    size = math.dist(a, b) or 1.0
    ux, uy = (b[0] - a[0]) / size, (b[1] - a[1]) / size
    heads = []
    for (x, y), s in ((a, 1), (b, -1)):
        back = (x + s * _ARROW * ux, y + s * _ARROW * uy)
        side = (-uy * _ARROW / 5, ux * _ARROW / 5)
        corners = [(x, y), (back[0] + side[0], back[1] + side[1]), (back[0] - side[0], back[1] - side[1])]
        heads.append(polyline(corners, FINE, closed=True, fill=0.0))
    return list(heads)
