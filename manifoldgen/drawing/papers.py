"""The whole shop folder: sheets, templates, lists, drawings for the laser shop.

build-sheets.pdf   templates.pdf   templates.dxf   *-flange.dxf, collector-lid.dxf
cut-list.csv   joints.csv   bend-table.csv   work-list.csv
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from manifoldgen.designs import Design
from manifoldgen.drawing.dxf import write_dxf
from manifoldgen.drawing.figure import PaperDocument, SheetPage
from manifoldgen.drawing.flanges import flange_pages, write_flanges
from manifoldgen.drawing.paper import framed
from manifoldgen.drawing.pdf import write_pdf
from manifoldgen.drawing.sheets.build import build_sheets, stamp_of
from manifoldgen.drawing.sheets.prints import Listed, Summed
from manifoldgen.drawing.templates import templates, templates_figure
from manifoldgen.errors import OutputError
from manifoldgen.shop.lists import bends_csv, cut_csv, joints_csv
from manifoldgen.shop.worklist import csv_text


def write_papers(
    folder: Path | str,
    design: Design,
    printed: Sequence[Listed] = (),
    groups: Sequence[Summed] = (),
    extra: tuple[SheetPage, ...] = (),
) -> tuple[Path, ...]:
    """Write every paper of a job into `folder`, which exists; the files written.

    The lists and drawings first, so that what can be made is there even where a template cannot be.

    Parameters
    ----------
    printed : parts that have a card among the build sheets.  groups : what their groups take.  extra : further pages that come last, as they are.

    Raises
    ------
    OutputError : the disk refused.
    GeometryError : a template or a purge cannot be had.
    """
    out = Path(folder)
    m, shop = design.manifold, design.shop
    lists = {
        "cut-list.csv": cut_csv(shop),
        "joints.csv": joints_csv(shop),
        "bend-table.csv": bends_csv(shop),
        "work-list.csv": csv_text(shop.steps),
    }
    written = [_write(out / name, text) for name, text in lists.items()]
    written += write_flanges(out, shop)
    write_pdf(out / "build-sheets.pdf", build_sheets(design, printed, groups, extra))
    full_size = templates(shop)
    pages = framed([*flange_pages(shop), *full_size.pages], stamp_of(m))
    write_pdf(out / "templates.pdf", PaperDocument(full_size.title, pages))
    write_dxf(out / "templates.dxf", templates_figure(shop), m.workshop.dxf)
    return (*written, *(out / name for name in ("build-sheets.pdf", "templates.pdf", "templates.dxf")))


def _write(path: Path, text: str) -> Path:
    try:
        path.write_text(text, encoding="utf-8-sig", newline="\n")  # a spreadsheet knows it by the mark
    except OSError as error:
        raise OutputError(f"'{path}' cannot be written: {error.strerror or error}") from None
    return path
