"""The shop's lists as CSV: comma between, point as decimal, one line of heads that say the unit.

Rolls are + clockwise looking downstream; what they are read from stands beside them.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence

from manifoldgen.geometry.lra import BendRow
from manifoldgen.shop.bends import BendTable
from manifoldgen.shop.plan import ShopPlan
from manifoldgen.wording import fixed

CUTS = (
    "piece", "part", "stock", "number", "od_mm", "wall_mm", "bend_deg", "clr_mm", "straight_before_mm", "straight_after_mm",
    "back_mm", "centre_mm", "throat_mm", "back_chord_mm", "throat_chord_mm", "net_mm", "shrink_mm", "beyond_mm", "trim_mm",
    "cut_mm", "saw_before_mm", "saw_after_mm", "line_from_saw_cut_mm", "joints",
)  # fmt: skip
JOINTS = (
    "joint", "kind", "first", "second", "x_mm", "y_mm", "z_mm", "dx", "dy", "dz", "top_over_bench_mm", "low_over_bench_mm",
    "to_bench_deg", "heading_x_to_y_deg", "back_line_of", "roll_clockwise_deg", "roll_clockwise_mm", "roll_from", "order",
    "stage", "seam_mm", "tacks", "torch",
)  # fmt: skip
BENDS = (
    "run", "row", "length_mm", "roll_clockwise_deg", "roll_from", "bend_deg", "clr_mm", "corner_x_mm", "corner_y_mm",
    "corner_z_mm",
)  # fmt: skip


def cut_csv(shop: ShopPlan) -> str:
    """Every piece of tube: net, what is added, and what the saw takes."""

    def cells(r: object) -> list[object]:
        return [getattr(r, name) for name in _FIELDS]

    rows = []
    for r in shop.cuts:
        s = shop.sawn[r.piece]
        rows.append([*cells(r), s.before, s.after, "" if s.line is None else s.line, " ".join(r.joints)])
    return _text(CUTS, rows)


_FIELDS = (
    "piece", "part", "stock", "number", "od", "wall", "angle", "clr", "before", "after", "back", "centre", "throat",
    "back_chord", "throat_chord", "net", "shrink", "beyond", "trim", "cut",
)  # fmt: skip


def joints_csv(shop: ShopPlan) -> str:
    """Every joint: where it stands, its roll mark, when and how it is welded."""
    rolls = {mark.joint: mark for mark in shop.marks}
    rows = []
    for j in shop.joints:
        w, mark = shop.welding.weld(j.id), rolls.get(j.id)
        rows.append(
            [
                j.id, w.words, *j.between, *j.at, *j.direction, j.highest, j.lowest, j.to_face, j.compass,
                *((mark.piece, mark.roll, mark.roll_mm, mark.start) if mark else ("",) * 4),
                w.rank, w.stage or "", w.length, w.tacks.words, w.tier or "",
            ]
        )  # fmt: skip
    return _text(JOINTS, rows)


def bends_csv(shop: ShopPlan) -> str:
    """Length, roll and angle of every run as the bender reads it, with its corner points in the bench frame.

    The corner of a row is that of its bend; the last row's is the end. A bend of 180° or more has no corner.
    """
    rows: list[list[object]] = []
    for table in shop.bends:
        points = table.corners
        fits = len(points) == len(table.rows) + 1
        rows += [
            [
                table.run,
                n,
                r.length,
                *(_read_from(r, table, n)),
                r.angle,
                r.clr,
                *(points[n] if fits else ("", "", "")),
            ]
            for n, r in enumerate(table.rows, start=1)
        ]
    return _text(BENDS, rows)


def _read_from(row: BendRow, table: BendTable, number: int) -> tuple[object, str]:
    """The roll of a bend and the line it is read from; nothing for the last straight."""
    if not row.angle:
        return "", ""
    return row.roll, f"the run's {table.line}" if number == 1 else "the back line before it"


def _text(heads: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    out = io.StringIO()
    write = csv.writer(out, lineterminator="\n")
    write.writerow(heads)
    for row in rows:
        write.writerow([fixed(v, 4) if isinstance(v, float) else "" if v is None else v for v in row])
    return out.getvalue()
