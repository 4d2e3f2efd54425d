"""Flange drawings for laser or waterjet: one DXF a part, closed outlines, layers by what is done there.

CUT_OUTER  the edge          CUT_INNER  gas passages      CUT_HOLES  bolt and stud holes
ETCH       marks, as single lines and arcs               NOTES      words, to be left out when cutting
"""

from __future__ import annotations

from pathlib import Path

from manifoldgen.drawing.dxf import write_dxf
from manifoldgen.drawing.etched import etched, unmarked
from manifoldgen.drawing.figure import FINE, PLAIN, Circle, Figure, Item, Text, line, outline
from manifoldgen.drawing.flange_paper import flange_pages
from manifoldgen.drawing.lettering import wrapped
from manifoldgen.drawing.paper import check_bar
from manifoldgen.shop.cut_plates import SMALL, CutPlate
from manifoldgen.shop.plan import ShopPlan

__all__ = ["flange_drawing", "flange_pages", "notes", "write_flanges"]

OUTER, INNER, HOLES, ETCH, NOTES = "CUT_OUTER", "CUT_INNER", "CUT_HOLES", "ETCH", "NOTES"

_SIZE, _STEP = 3.5, 6.0  # mm, notes: height of the capitals, line to line
_LEAST = 150.0  # mm, the least width of the notes
_CENTRE = 2.0  # mm, half a centre mark


def write_flanges(folder: Path | str, shop: ShopPlan) -> tuple[Path, ...]:
    """Write every plate's DXF into `folder` (which exists) in the shop's DXF version; the files written.

    A V-band flange is turned and has none. The collector's lid comes with the flanges.
    """
    written = []
    m = shop.manifold
    for plate in shop.plates:
        path = Path(folder) / plate.file
        write_dxf(path, flange_drawing(plate, m.name), m.workshop.dxf)
        written.append(path)
    return tuple(written)


def flange_drawing(plate: CutPlate, job: str, *, clean: bool = False) -> Figure:
    """The part as it goes to the cutter, 1 : 1, in the plate's own coordinates.

    clean : without the words.
    """
    items: list[Item] = [outline(plate.outline, PLAIN, OUTER)]
    items += [outline(p.cut, PLAIN, INNER) for p in plate.passages]
    items += [Circle(h.at, h.diameter / 2, PLAIN, layer=HOLES) for h in plate.holes]
    figure = Figure(tuple(items)) + etched(plate) + _centres(plate)
    return figure if clean else figure + _words(plate, job)


def notes(plate: CutPlate) -> tuple[str, ...]:
    """What the laser shop and the one who ends the part must know, a sentence each; plain letters."""
    told = [
        f"{plate.thickness:g} mm, material {plate.material}, {plate.quantity} off",
        "part size in mm, no kerf offset: the laser shop adds kerf",
        "seen from the tube side: that side up when cutting and marking",
    ]
    if plate.deviation > 0:
        told.append(f"arcs stand for ellipses, at most {plate.deviation:.3f} mm off")
    ground = {p.ground: [q.id for q in plate.passages if q.ground == p.ground] for p in plate.passages}
    for words, ids in ground.items():
        if words:
            which = f"openings {', '.join(ids)}" if len(ids) > 1 else "opening"
            told.append(f"{which}: {words}")
    told += plate.remarks
    told += plate.warnings
    missing = unmarked(plate)
    if missing:
        told.append(f"no room to mark {', '.join(missing)}: mark by hand")
    return tuple(told)


def _centres(plate: CutPlate) -> Figure:
    """Centre marks in the holes that a laser may refuse: to drill by."""
    small = [h.at for h in plate.holes if h.diameter < SMALL * plate.thickness - 1e-9]
    crosses = [((x - _CENTRE, y), (x + _CENTRE, y)) for x, y in small]
    crosses += [((x, y - _CENTRE), (x, y + _CENTRE)) for x, y in small]
    return Figure(tuple(line(a, b, FINE, ETCH) for a, b in crosses))


def _words(plate: CutPlate, job: str) -> Figure:
    x0, y0, _, _ = plate.outline.bounds
    wide = max(plate.outline.bounds[2] - x0, _LEAST)
    told = (f"{plate.name}, job {job}", *notes(plate))
    lines = [part for words in told for part in wrapped(words, _SIZE, wide)]
    top = y0 - 12.0
    texts = [Text((x0, top - k * _STEP), words, _SIZE, layer=NOTES) for k, words in enumerate(lines)]
    foot = top - len(lines) * _STEP - 2.0
    bar = check_bar(x0, foot).on_layer(NOTES)
    return Figure((*texts, Text((x0 + 104.0, foot - 1.0), "100 mm", _SIZE, layer=NOTES))) + bar
