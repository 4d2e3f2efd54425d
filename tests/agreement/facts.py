"""Every number that an output holds, as (part, quantity): value, with where it stands and how finely it is written."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tests.agreement.paper import PaperTable, sheets

NUMBER = re.compile(r"[+−-]?\d+(?:\.\d+)?")


@dataclass(frozen=True)
class Fact:
    """One number.  fine : half of its last digit.  place : file and table it stands in."""

    part: str
    quantity: str
    value: float
    fine: float
    place: str


class UnknownColumn(Exception):  # noqa: N818 - a test's own
    """A column of numbers that no quantity is named for: it has to be compared, or named as standing alone."""


# By table: the column that names the part, then each head's quantity; None stands in one place only, or is no number.
CSV: dict[str, tuple[str, dict[str, str | None]]] = {
    "cut-list.csv": ("piece", {
        "number": "stock number", "od_mm": "od", "wall_mm": "wall", "bend_deg": "bend", "clr_mm": "clr",
        "straight_before_mm": "before", "straight_after_mm": "after", "back_mm": "back", "centre_mm": "centre",
        "throat_mm": "throat", "back_chord_mm": None, "throat_chord_mm": None, "net_mm": "net", "shrink_mm": "shrink",
        "beyond_mm": None, "trim_mm": "trim", "cut_mm": "cut", "saw_before_mm": "saw before", "saw_after_mm": "saw after",
        "line_from_saw_cut_mm": "line",
    }),
    "joints.csv": ("joint", {
        "x_mm": "x", "y_mm": "y", "z_mm": "z", "dx": None, "dy": None, "dz": None, "top_over_bench_mm": "top",
        "low_over_bench_mm": None, "to_bench_deg": "to bench", "heading_x_to_y_deg": "compass", "roll_clockwise_deg": "roll",
        "roll_clockwise_mm": "roll mm", "order": "order", "stage": "stage", "seam_mm": "seam",
    }),
    "work-list.csv": ("id", {"number": "number", "minutes": "minutes", "stage": None}),
}  # fmt: skip
PAPER: dict[str, tuple[int, dict[str, str | None]]] = {
    "CUT": (0, {"bend °": "bend", "back mm": "back", "side mm": "centre", "throat mm": "throat",
                "straight mm": "saw before", "after the bend mm": "saw after", "net mm": "net", "take from": "stock number"}),
    "FIT, TACK": (0, {"x mm": "x", "y mm": "y", "z mm": "z", "top over bench mm": "top",
                      "to bench °": "to bench", "heading (x towards y) °": "compass"}),
    "WELD": (0, {"no.": "order", "stage": "stage"}),
    "no.": (1, {"no.": "order", "stage": "stage", "seam mm": "seam", "g": None, "min": "weld minutes"}),
    "id": (0, {"tilt °": "tilt", "swing °": "swing", "room mm": "room"}),
    "": (1, {"": "number", "min": "minutes"}),
    "piece": (0, {"min": "piece minutes"}),
    "item": (0, {"qty": "taken"}),
    "stage": (1, {"stage": None, "litres": None, "by volumes": None, "by mixing": None}),
    "joint": (0, {"length": None, "far end below the flat cut": None, "torch reaches": None}),
    "wall mm": (0, {"gap at most mm": None, "step at most mm": None, "clean mm": None, "rod mm": None}),
    "hole": (0, {"dia mm": None, "right mm": None, "up mm": None, "right of port 1 mm": None, "up of port 1 mm": None}),
    "between": (0, {"centres mm": None, "over both studs mm": None}),
}  # fmt: skip
MILL = {"blank, sawn square": "saw before", "before the joint line: grip allowance, shrink and trim": "line"}
WORDS = {"joins", "from", "kind", "torch", "tacks", "done", "thread", "tool", "comes off", "tried", "what", "id", "tube", "size",
         "have it", "rod", "joints", "cap", "argon in (low)", "vent (high)", "fits", "ends, sizes in mm"}  # fmt: skip


PIECE = {
    "bend": "angle_deg", "clr": "clr_mm", "od": "od_mm", "wall": "wall_mm", "back": "back_mm", "centre": "centre_mm",
    "throat": "throat_mm", "net": "net_mm", "shrink": "shrink_mm", "trim": "trim_mm", "cut": "cut_mm",
    "stock number": "stock_number",
}  # fmt: skip
STUD = {"tilt": "tilt_deg", "swing": "swing_deg", "room": "clearance_mm"}
ROLL = {"roll": "roll_deg", "roll mm": "roll_mm"}


def of_report(content: dict[str, Any]) -> Iterator[Fact]:
    """report.json, full digits."""

    def facts(part: str, row: dict[str, Any], keys: dict[str, str]) -> Iterator[Fact]:
        for quantity, key in keys.items():
            if row[key] is not None:
                yield Fact(part, quantity, float(row[key]), 1e-9, "report.json")

    for p in content["pieces"]:
        before, after = p["straights_mm"]
        yield from facts(p["piece"], p, PIECE)
        yield from facts(
            p["piece"], {"before": before, "after": after}, {"before": "before", "after": "after"}
        )
        yield from facts(p["joints"][0], p, ROLL)
    for number, r in content["runners"].items():
        yield from facts(f"runner {number}", r, {"length": "length_mm"})
        for k, corner in enumerate(r["corners"]):
            names = {f"corner {k} {axis}": axis for axis in "xyz"}
            yield from facts(f"runner {number}", dict(zip("xyz", corner, strict=True)), names)
    for s in content.get("studs", []):
        yield from facts(s["id"], s, STUD if s["reachable"] else {})
    for w in content.get("welds", []):
        yield from facts(w["id"], w, {"stage": "stage"})


def of_csv(folder: Path) -> Iterator[Fact]:
    """The shop's lists, four digits."""
    for name, (key, columns) in CSV.items():
        for row in _rows(folder / name):
            cells = {head: cell for head, cell in row.items() if head != key}
            yield from _named(row[key], cells, columns, name)
    for row in _rows(folder / "bend-table.csv"):
        corners = {axis: row[f"corner_{axis}_mm"] for axis in "xyz"}
        names: dict[str, str | None] = {axis: f"corner {row['row']} {axis}" for axis in "xyz"}
        yield from _named(row["run"], corners, names, "bend-table.csv")


def _rows(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8-sig", newline="") as file:
        return list(csv.DictReader(file))


def of_paper(pdf: Path) -> Iterator[Fact]:
    """The tables of a PDF, and the lengths in its words."""
    for sheet in sheets(pdf):
        place = f"{pdf.name}, {sheet.title}"
        for table in sheet.tables:
            yield from _of_table(table, f"{place}, {table.heads[0]}")
            yield from _rolls(table, f"{place}, {table.heads[0]}")
        if (run := re.match(r"Runner (\d+):", sheet.title)) and (
            length := re.search(r"Length ([\d.]+) mm", sheet.words)
        ):
            yield _shown(f"runner {run[1]}", "length", length[1], place)
        if told := re.search(r"runner lengths (.*?) mm; spread", sheet.words):
            for number, long in re.findall(r"(\d+): ([\d.]+)", told[1]):
                yield _shown(f"runner {number}", "length", long, place)


def _of_table(table: PaperTable, place: str) -> Iterator[Fact]:
    if table.rows and table.rows[0][0] == "from":  # inlets on the mill: a column an inlet
        for row in (r for r in table.rows if r[0] in MILL):
            for piece, cell in zip(table.heads[1:], row[1:], strict=True):
                yield from _named(piece, {row[0]: cell}, MILL, place)
    elif table.heads[0] in PAPER:
        at, columns = PAPER[table.heads[0]]
        own = {table.heads[at]} - set(columns)
        for row in (r for r in table.rows if len(r) == len(table.heads)):  # else a line across
            cells = dict(zip(table.heads, row, strict=True))
            if found := re.search(r"no\. (\d+)$", cells.get("take from", "")):
                cells["take from"] = found[1]
            kept = {head: cell for head, cell in cells.items() if head not in WORDS | own}
            yield from _named(row[at], kept, columns, place)


SAID = re.compile(
    r"(\S+): back line ([\d.]+) mm \(([\d.]+)°\) (anti)?clockwise of \S+'s .*, looking downstream"
)


def _rolls(table: PaperTable, place: str) -> Iterator[Fact]:
    """The rolls of a fitting table: sentences below the joint they belong to."""
    joint = ""
    for row in table.rows if table.heads[0] == "FIT, TACK" else ():
        if len(row) > 1:
            joint = row[0]
        elif (said := SAID.fullmatch(row[0])) is not None:
            sign = "-" if said[4] else ""
            yield _shown(joint, "roll mm", sign + said[2], place)
            yield _shown(joint, "roll", sign + said[3], place)


def _named(part: str, cells: dict[str, str], columns: Mapping[str, str | None], place: str) -> Iterator[Fact]:
    """The numbers of one row."""
    for head, cell in cells.items():
        if NUMBER.fullmatch(cell or ""):
            if head not in columns:
                raise UnknownColumn(f"{place}: {head} = {cell}")
            if (quantity := columns[head]) is not None:
                yield _shown(part, quantity, cell, place)


def _shown(part: str, quantity: str, text: str, place: str) -> Fact:
    digits = len(text.partition(".")[2])
    return Fact(part, quantity, float(text.replace("−", "-")), 0.5 * 10.0**-digits, place)
