"""The shop's lists as CSV: comma between, point as decimal, one line of heads; mm and degrees."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence

from manifoldgen.shop.plan import ShopPlan

CUTS = (
    "piece", "part", "stock", "number", "od", "wall", "bend_deg", "clr", "straight_before", "straight_after", "back",
    "centre", "throat", "back_chord", "throat_chord", "net", "shrink", "beyond", "trim", "cut", "saw_before", "saw_after",
    "line_from_saw_cut", "joints",
)  # fmt: skip
JOINTS = (
    "joint", "kind", "first", "second", "x", "y", "z", "dx", "dy", "dz", "top_over_bench", "low_over_bench",
    "to_bench_deg", "from_x_to_y_deg", "roll_deg", "roll_mm", "roll_from", "order", "stage", "seam", "tacks", "torch",
)  # fmt: skip
BENDS = ("run", "row", "length", "roll_deg", "bend_deg", "clr", "corner_x", "corner_y", "corner_z")


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
                j.id, j.kind, *j.between, *j.at, *j.direction, j.highest, j.lowest, j.to_face, j.compass,
                *((mark.roll, mark.roll_mm, mark.start) if mark else ("", "", "")),
                w.rank, w.stage or "", w.length, w.tacks.words, w.tier or "",
            ]
        )  # fmt: skip
    return _text(JOINTS, rows)


def bends_csv(shop: ShopPlan) -> str:
    """Length, roll and angle of every run as the bender reads it, with its corner points in the bench frame.

    The corner of a row is that of its bend; the last row's is the end. A bend of 180° or more has no corner.
    """
    rows: list[list[object]] = []
    for run, table, points in shop.bends:
        fits = len(points) == len(table) + 1
        rows += [
            [run, n, r.length, r.roll, r.angle, r.clr, *(points[n] if fits else ("", "", ""))]
            for n, r in enumerate(table, start=1)
        ]
    return _text(BENDS, rows)


def _text(heads: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    out = io.StringIO()
    write = csv.writer(out, lineterminator="\n")
    write.writerow(heads)
    for row in rows:
        write.writerow([f"{v + 0.0:.4f}" if isinstance(v, float) else "" if v is None else v for v in row])
    return out.getvalue()
