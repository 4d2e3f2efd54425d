"""All build sheets of a job in their order, numbered, each with its frame."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence

from manifoldgen.designs import Design
from manifoldgen.drawing.figure import PaperDocument, SheetPage
from manifoldgen.drawing.paper import Draft, Stamp, framed
from manifoldgen.drawing.paper import paper as paper_named
from manifoldgen.drawing.sheets.prints import Listed, Summed, print_sheets
from manifoldgen.manifold.model import Manifold


def build_sheets(
    design: Design,
    printed: Sequence[Listed] = (),
    groups: Sequence[Summed] = (),
    extra: tuple[SheetPage, ...] = (),
) -> PaperDocument:
    """The sheets of a job on the shop's paper, numbered through; its errors stand on the first.

    printed : parts that have a card.  groups : what their groups take.  extra : further pages that come last, as they are.

    Raises
    ------
    GeometryError : the purge asked for cannot be had, or a branch does not stand on its parent.
    """
    from manifoldgen.drawing.mill_sheet import mill_drafts  # it takes its blocks from this room
    from manifoldgen.drawing.sheets.cautions import caution_sheet
    from manifoldgen.drawing.sheets.flanges import flange_sheet
    from manifoldgen.drawing.sheets.overview import overview_sheet
    from manifoldgen.drawing.sheets.runner import runner_sheet
    from manifoldgen.drawing.sheets.steps import step_sheet
    from manifoldgen.drawing.sheets.stock import stock_sheet
    from manifoldgen.drawing.sheets.welds import weld_sheet

    m, shop = design.manifold, design.shop
    sheet = paper_named(m.workshop.paper)
    drafts: list[Draft] = [*stock_sheet(shop, sheet)]
    for run in m.runs:
        if run.path is not None and any(p.part == run.name for p in m.pieces):
            drafts += runner_sheet(design, run, sheet)
    drafts += mill_drafts(shop)
    drafts += flange_sheet(shop, sheet)
    drafts += weld_sheet(shop, sheet)
    drafts += step_sheet(shop, sheet)
    drafts += caution_sheet(m, sheet)
    drafts += print_sheets(printed, groups, sheet)
    titles = list(dict.fromkeys([d.subject or d.title for d in drafts] + [p.title for p in extra if p.title]))
    first = overview_sheet(design, titles)
    pages = framed([*first, *drafts], stamp_of(m))
    return PaperDocument(f"{m.name}: build sheets", (*pages, *extra))


def stamp_of(m: Manifold) -> Stamp:
    """What every sheet of this state of the job carries: papers of another state have another mark."""
    state = repr((m.head, m.turbo, m.wastegate_flange, m.runs, m.collectors, m.pieces, m.joints, m.cutting))
    return Stamp(m.name, hashlib.sha256(state.encode()).hexdigest())
