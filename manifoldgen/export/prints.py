"""The printed parts as files: STL and 3MF of each in its print pose, and the list of what to print."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Sequence
from pathlib import Path

from manifoldgen.errors import OutputError
from manifoldgen.export.stl import write_stl
from manifoldgen.export.threemf import write_3mf
from manifoldgen.mesh.triangles import Mesh
from manifoldgen.prints.part import PrintedPart
from manifoldgen.prints.worth import sums

LIST = "printed-parts.csv"
_HEAD = (
    "part",
    "group",
    "kind",
    "step",
    "mark",
    "x_mm",
    "y_mm",
    "z_mm",
    "grams",
    "hours",
    "what_for",
    "how_it_sits",
    "caution",
)


def write_prints(
    folder: Path, parts: Sequence[PrintedPart], how: str, progress: Callable[[str], None] | None = None
) -> None:
    """Write ``<name>.stl`` and ``<name>.3mf`` of every part, and `printed-parts.csv`; the same parts give the same bytes.

    how : grams and hours were estimated (`prints.estimate.formula`).  progress : is told a line a part.

    Raises
    ------
    OutputError : two parts would share a file.
    OSError : the disk refused.
    """
    names = [p.name for p in parts]
    if twice := sorted({n for n in names if names.count(n) > 1}):
        raise OutputError(f"two printed parts are both called {twice[0]}; one file cannot hold them")
    for k, part in enumerate(parts, start=1):
        mesh = Mesh(part.mark or part.name, part.mesh.vertices, part.mesh.triangles, part.mesh.colour)
        write_stl(folder / f"{part.name}.stl", mesh)
        write_3mf(folder / f"{part.name}.3mf", (mesh,))
        if progress is not None:
            progress(f"print files: piece {k} of {len(parts)}, {part.name}")
    (folder / LIST).write_text(plate_list(parts, how), encoding="utf-8", newline="")


def plate_list(parts: Sequence[PrintedPart], how: str) -> str:
    """The list of what to print as CSV: a row a part, then what each group takes, all of it, and how it was estimated."""
    text = io.StringIO()
    rows = csv.writer(text, lineterminator="\n")
    rows.writerow(_HEAD)
    for p in parts:
        size = [f"{v:.1f}" for v in p.size]
        figures = [f"{p.grams:.0f}", f"{p.hours:.1f}"]
        told = [p.purpose, p.sits, " ".join(p.cautions)]
        rows.writerow([p.name, p.group, p.kind, p.step, p.mark, *size, *figures, *told])
    for s in sums(parts):
        rows.writerow(_sum(s.group, s.grams, s.hours, s.why))
    grams, hours = sum(p.grams for p in parts), sum(p.hours for p in parts)
    rows.writerow(_sum("", grams, hours, f"estimate: {how}"))
    return text.getvalue()


def _sum(group: str, grams: float, hours: float, words: str) -> list[str]:
    return ["all", group, "", "", "", "", "", "", f"{grams:.0f}", f"{hours:.1f}", words, "", ""]
