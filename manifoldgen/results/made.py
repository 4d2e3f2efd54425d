"""What each part of a result is made of and writes into its folder, and what is said where one could not be made."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from manifoldgen.checks.finding import Finding
from manifoldgen.checks.making import not_added, not_made, unsound
from manifoldgen.errors import ManifoldgenError, OutputError

if TYPE_CHECKING:
    from manifoldgen.designs import Design
    from manifoldgen.drawing.figure import SheetPage
    from manifoldgen.extensions import Fault, Gathered
    from manifoldgen.manifold.model import Manifold
    from manifoldgen.prints.part import PrintedPart
    from manifoldgen.solids import Solids

PARTS = {
    "solids": "model.* and lumen.stl",
    "shop": "shop sheets",
    "prints": "printed parts",
    "report": "page",
}


T = TypeVar("T")
Tell = Callable[[str], None]


def wanted(only: str | None) -> tuple[str, ...]:
    """The parts asked for, all where nothing was said.

    Raises
    ------
    ManifoldgenError : a word that is no part.
    """
    if only is None:
        return tuple(PARTS)
    asked = [part.strip() for part in only.split(",") if part.strip()]
    unknown = [part for part in asked if part not in PARTS]
    if unknown or not asked:
        raise ManifoldgenError(f"--only takes {', '.join(PARTS)}, not {', '.join(unknown) or 'nothing'}")
    return tuple(part for part in PARTS if part in asked)


@dataclass(frozen=True)
class Made:
    """What a build has so far.

    tell : is told a line when a step starts and ends.  found : findings of the making, beside those of the checks.
    faults : of other packages' printed parts and sheets; each is a finding too.
    """

    design: Design
    tell: Tell
    found: tuple[Finding, ...] = ()
    solids: Solids | None = None
    printed: tuple[PrintedPart, ...] = ()
    faults: tuple[Fault, ...] = ()

    @property
    def manifold(self) -> Manifold:
        """The job laid out."""
        return self.design.manifold

    def content(self) -> dict[str, Any]:
        """report.json's mapping."""
        from manifoldgen.reports import report

        numbers = None if self.solids is None else solid_numbers(self.manifold, self.solids)
        return report(self.design, numbers, self.found, self._prints())

    def _prints(self) -> dict[str, Any] | None:
        """report.json's `prints`; None where nothing was printed."""
        if not self.printed:
            return None
        from manifoldgen.prints.worth import told

        return told(self.printed)


def with_solids(made: Made) -> Made:
    """The same with its solids; what is not sound becomes findings."""
    with timed("solids", made.tell):
        from manifoldgen.solids import build

        solids = build(made.manifold)
    wrong = tuple(unsound(error.part, error.reason) for error in solids.errors)
    return replace(made, solids=solids, found=(*made.found, *wrong))


def with_printed(made: Made) -> Made:
    """The same with its printed parts; what could not be made becomes findings."""
    with timed("printed parts", made.tell):
        from manifoldgen.prints.all import printed_parts

        printed = printed_parts(made.design, progress=made.tell)
    missing = [not_made("printed part", str(error), "warning") for error in printed.errors]
    missing += [not_added("printed part", fault) for fault in printed.faults]
    return replace(
        made, printed=printed.parts, found=(*made.found, *missing), faults=(*made.faults, *printed.faults)
    )


def write_model(folder: Path, made: Made) -> Made:
    """model.* and lumen.stl."""
    from manifoldgen.export.model import write_model as write

    with timed("model files", made.tell):
        if made.solids is not None:
            write(folder, made.solids)
    return made


def write_shop(folder: Path, made: Made) -> Made:
    """The papers, with cards of the printed parts where there are any and the sheets of other packages."""
    added = _foreign_pages(made)

    def make() -> None:
        from manifoldgen.drawing.papers import write_papers
        from manifoldgen.prints.worth import sums

        (folder / "shop").mkdir()
        extra = tuple(page for pages in added.made for page in pages)
        write_papers(folder / "shop", made.design, made.printed, sums(made.printed), extra)

    with timed("shop sheets", made.tell):
        _, trouble = _attempt("shop sheets", make)
    missing = [not_added("sheet", fault) for fault in added.faults]
    return replace(made, found=(*made.found, *trouble, *missing), faults=(*made.faults, *added.faults))


def write_printed(folder: Path, made: Made) -> Made:
    """The printed parts' files."""
    from manifoldgen.export.prints import write_prints
    from manifoldgen.prints.estimate import formula

    with timed("print files", made.tell):
        if made.printed:
            (folder / "prints").mkdir()
            write_prints(folder / "prints", made.printed, formula(made.manifold.tables))
    return made


def write_page(folder: Path, made: Made) -> Made:
    """The page one looks at."""

    def make() -> None:
        from manifoldgen.reports.page import made as page_of

        page_of(made.design, made.content()).write(folder / "report.html")

    with timed("page", made.tell):
        _, trouble = _attempt("page", make)
    return replace(made, found=(*made.found, *trouble))


def _foreign_pages(made: Made) -> Gathered[tuple[SheetPage, ...]]:
    from manifoldgen.drawing.foreign import sheets

    return sheets(made.design)


def _attempt(what: str, make: Callable[[], T]) -> tuple[T | None, tuple[Finding, ...]]:
    """What was made, or the finding that says why not; a disk that refuses still ends the build."""
    try:
        return make(), ()
    except OutputError:
        raise
    except ManifoldgenError as error:
        return None, (not_made(what, str(error)),)


def solid_numbers(m: Manifold, solids: Solids) -> dict[str, Any] | None:
    """Give the acceptance of the whole as report.json's `solids`; None where it was not joined."""
    if solids.joined is None:
        return None
    from manifoldgen.reports import whole_kg

    found = solids.acceptance
    mass = whole_kg(m, {name: solids.accepted[name].volume for name in solids.parts})
    return {
        "valid": found.valid,
        "solids": found.solids,
        "watertight": found.watertight,
        "genus": found.genus,
        "genus_expected": found.genus_expected,
        "volume_mm3": found.volume,
        "volume_expected_mm3": found.volume_expected,
        **({} if mass is None else {"mass_kg": mass}),
    }


@contextmanager
def timed(what: str, tell: Tell) -> Iterator[None]:
    """Tell that a step starts and how long it took."""
    started = time.perf_counter()
    tell(f"{what} ...")
    yield
    tell(f"{what} took {time.perf_counter() - started:.1f} s")
