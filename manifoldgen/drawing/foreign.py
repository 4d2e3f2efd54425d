"""Sheets that other packages add to the build sheets: taken if they can be drawn."""

from __future__ import annotations

from manifoldgen.designs import Design
from manifoldgen.drawing.figure import PaperDocument, SheetPage
from manifoldgen.drawing.pdf import pdf_bytes
from manifoldgen.extensions import Gathered, asked

GROUP = "manifoldgen.sheets"


def sheets(design: Design) -> Gathered[tuple[SheetPage, ...]]:
    """The pages each package gives, drawn once on trial: what fails later would take all sheets with it."""
    return asked(GROUP, design, _drawable)


def _drawable(_maker: object, answer: object) -> tuple[SheetPage, ...]:
    pages = (answer,) if isinstance(answer, SheetPage) else tuple(answer)  # type: ignore[arg-type]
    for page in pages:
        if not isinstance(page, SheetPage):
            raise TypeError(f"a maker of sheets gives SheetPages, not {page!r}")
    pdf_bytes(PaperDocument("trial", pages))
    return pages
