"""Nuts: how many a manifold takes, a tray to keep them in, a list on paper.

What needs a heavy library is imported where it is used: `manifoldgen check` loads this module too.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import TYPE_CHECKING

from manifoldgen.checks import Check, Finding, FindingKind

if TYPE_CHECKING:
    from manifoldgen.designs import Design
    from manifoldgen.drawing.figure import SheetPage
    from manifoldgen.manifold.model import Manifold
    from manifoldgen.prints.part import PrintedPart

NUT_COUNT = FindingKind(
    name="nut-count",
    severities=("note",),
    means="How many nuts the job takes, by thread.",
    why="They are ordered with the gasket, and a lock nut is not used twice.",
    do="Order them, and a spare of each. The tray holds one set.",
)
CELL, WALL, HIGH = 22.0, 2.0, 14.0  # mm, of the tray


def nuts(m: Manifold) -> dict[str, int]:
    """How many nuts of each thread."""
    return dict(sorted(Counter(stud.thread for stud in m.studs if stud.nut).items()))


def count(m: Manifold) -> Iterator[Finding]:
    """`nut-count`: one note, none for a job without nuts."""
    found = nuts(m)
    if found:
        told = ", ".join(f"{number} × {thread}" for thread, number in found.items())
        yield NUT_COUNT.finding(
            message=f"The job takes {told}.",
            do=f"Order {sum(found.values()) + len(found)}: a spare of each.",
            value=float(sum(found.values())),
            parts=tuple(stud.id for stud in m.studs if stud.nut),
        )


CHECK = Check(kinds=(NUT_COUNT,), ask=count)


def tray(design: Design) -> PrintedPart:
    """A cell for every nut, in one row."""
    from manifoldgen.prints import bodies
    from manifoldgen.prints.aid import Told, printed

    m = design.manifold
    cells = max(1, sum(nuts(m).values()))
    across = min(cells, 8)
    down = -(-cells // across)
    solid = bodies.box((0, 0, 0), (across * CELL + WALL, down * CELL + WALL, HIGH))
    holes = []
    for k in range(cells):
        x, y = WALL + k % across * CELL, WALL + k // across * CELL
        holes.append(bodies.box((x, y, WALL), (x + CELL - WALL, y + CELL - WALL, HIGH + 1)))
    told = Told("other", "nut tray", "", "Keeps the nuts of one manifold together.", "Lies on the bench.", ())
    return printed(m, bodies.minus(solid, *holes), told)


def sheet(design: Design) -> tuple[SheetPage, ...]:
    """The list of nuts, to be ticked; no sheet for a job without any."""
    from manifoldgen.drawing.paper import framed, paper
    from manifoldgen.drawing.sheets.build import stamp_of
    from manifoldgen.drawing.sheets.flow import Flow
    from manifoldgen.drawing.table import TICK

    m = design.manifold
    if not nuts(m):
        return ()
    flow = Flow("Nuts", paper(m.workshop.paper))
    flow.table(["thread", "nuts", "there"], [[t, str(n), TICK] for t, n in nuts(m).items()], 3.0)
    return framed(flow.drafts(), stamp_of(m))
