"""The wrap templates on paper, full size, and all of them beside each other for a plotter."""

from __future__ import annotations

from collections.abc import Sequence

from manifoldgen.drawing.extent import extent
from manifoldgen.drawing.figure import Figure, PaperDocument, SheetPage, Text
from manifoldgen.drawing.hole_sheet import hole_figure
from manifoldgen.drawing.paper import Paper, paper
from manifoldgen.drawing.sheet_patterns import cone_figure, lid_figure
from manifoldgen.drawing.tiles import FOOT, tiled
from manifoldgen.drawing.wrap_figure import wrap_figure
from manifoldgen.shop.cautions import in_brief
from manifoldgen.shop.plan import ShopPlan

_APART = 12.0  # mm between templates
_NOTHING = Figure((Text((0.0, 0.0), "No end of any piece on the cut list needs a template.", 3.5),))


def templates(shop: ShopPlan) -> PaperDocument:
    """Every template of a split manifold, tiled on the shop's paper; small ones share a sheet.

    Raises GeometryError where a branch does not stand on its parent all round.
    """
    m = shop.manifold
    sheet = paper(m.workshop.paper)
    mind = in_brief(m.tables, "saw")
    pages: list[SheetPage] = []
    wrapped = [(", ".join(w.pieces), wrap_figure(w)) for w in shop.wraps]
    for group in _shared(wrapped, sheet):
        pages += tiled(
            _stacked([f for _, f in group]),
            sheet,
            f"{m.name}: template {', '.join(n for n, _ in group)}",
            mind,
        )
    for table in shop.holes:
        pages += tiled(hole_figure(table), sheet, f"{m.name}: hole in {table.piece}", mind)
    for cone in shop.cones:
        pages += tiled(cone_figure(cone), sheet, f"{m.name}: cone {cone.piece}", mind)
    lids = [p for p in shop.plates if not p.clocked]
    for c, plate in zip(m.collectors, lids, strict=True):
        piece = m.lid_of(c)
        if piece is not None:
            pages += tiled(lid_figure(plate, c, piece), sheet, f"{m.name}: {plate.name} {piece.id}", mind)
    if not pages:
        pages += tiled(_NOTHING, sheet, f"{m.name}: templates")
    return PaperDocument(f"{m.name}: templates", tuple(pages))


def templates_figure(shop: ShopPlan) -> Figure:
    """All templates beside each other, on the layers CUT_OUTER, CUT_INNER, ETCH and NOTES; the lid has a DXF of its own."""
    figures = [
        *(wrap_figure(w, hatch=False) for w in shop.wraps),
        *(cone_figure(c) for c in shop.cones),
    ]
    made, x = Figure(), 0.0
    for figure in figures:
        box = extent(figure)
        made += figure.moved(x - box.left, -box.low)
        x += box.width + _APART
    return made


def _shared(named: Sequence[tuple[str, Figure]], sheet: Paper) -> list[list[tuple[str, Figure]]]:
    """Templates in order, as many on a sheet as stand above each other on it."""
    wide, high = sheet.width - 2 * sheet.margin, sheet.height - 2 * sheet.margin - FOOT
    groups: list[list[tuple[str, Figure]]] = []
    used: list[float] = []
    for name, figure in named:
        box = extent(figure)
        need = _APART + box.height
        at = next((k for k, u in enumerate(used) if box.width <= wide and u + need <= high), None)
        if at is None:
            groups.append([])
            used.append(box.height if box.width <= wide else high)
            at = -1
        else:
            used[at] += need
        groups[at].append((name, figure))
    return groups


def _stacked(figures: Sequence[Figure]) -> Figure:
    """One below the other, left edges in line."""
    made, y = Figure(), 0.0
    for figure in figures:
        box = extent(figure)
        made += figure.moved(-box.left, y - box.high)
        y -= box.height + _APART
    return made
