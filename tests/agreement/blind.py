"""A builder who has only the papers: runs put together from sheets and lists, mill cuts and branch holes set out.

Nothing here knows the program's numbers; a line that does not read as a builder would read it is left aside, and what is
then missing is missing.
"""

from __future__ import annotations

import csv
import math
import re
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np

from tests.agreement.paper import PaperSheet, PaperTable, sheets

Place = tuple[np.ndarray, np.ndarray]
AXIS = re.compile(r"\(([+-])([xyz])\)")
ROLL = re.compile(
    r"(?P<piece>\S+): back line (?P<mm>[\d.]+) mm \((?P<deg>[\d.]+)°\) (?P<way>clockwise|anticlockwise) of "
    r"(?P<on>.+)'s (?P<line>.+), looking downstream"
)
STRAIGHT_ON = re.compile(r"(?P<piece>\S+): back line in line with (?P<on>.+)'s (?P<line>.+)")


@dataclass
class Built:
    """One run on the bench.  end : place and travel.  backs : the back line of each bent piece, where it ends."""

    end: Place
    backs: dict[str, np.ndarray] = field(default_factory=dict)
    bends: dict[str, Place] = field(default_factory=dict)  # where each bend begins
    piece: str = ""  # the last one
    before: Place | None = None  # where the last piece begins


def turned(v: np.ndarray, axis: np.ndarray, degrees: float) -> np.ndarray:
    """A vector turned right-handed about a unit axis (Rodrigues)."""
    a = math.radians(degrees)
    return v * math.cos(a) + np.cross(axis, v) * math.sin(a) + axis * (axis @ v) * (1 - math.cos(a))


def square(v: np.ndarray, along: np.ndarray) -> np.ndarray:
    """The unit part of a vector square to a unit direction."""
    across = v - (v @ along) * along
    return across / np.linalg.norm(across)


@dataclass(frozen=True)
class Blank:
    """A blank as the mill asks for it, mm.  line : the joint scribed on it.  grip : clamped on.  ahead : before the line.

    left_on : of that for shrink and trim.  straight : to clamp on, behind the line.  flat : the flat cut, from the line.
    """

    line: str
    grip: float
    length: float
    ahead: float
    left_on: float
    straight: float
    flat: float


def table_of(sheet: PaperSheet, head: str) -> PaperTable:
    """The table that begins with a head, its rows from all pages of the sheet."""
    parts = [t for t in sheet.tables if t.heads[0] == head]
    return replace(parts[0], rows=tuple(row for part in parts for row in part.rows))


def run_sheets(folder: Path) -> dict[str, PaperSheet]:
    """The sheet of every run, by the name its list gives it."""
    names = {"Outlet: collector to turbo": "outlet", "Wastegate branch": "wastegate branch"}
    made = {}
    for sheet in sheets(folder / "build-sheets.pdf"):
        title = re.sub(r" \(\d+ of \d+\)$", "", sheet.title)
        runner = re.match(r"Runner (\d+): ", title)
        run = f"runner {runner[1]}" if runner else names.get(title)
        if run:
            first = made.get(run)
            made[run] = replace(first, tables=(*first.tables, *sheet.tables)) if first else sheet
    return made


def blanks(folder: Path) -> dict[str, Blank]:
    """What the mill sheet asks of every blank that begins at a joint's line, by piece."""
    made = {}
    for sheet in sheets(folder / "build-sheets.pdf"):
        if not sheet.title.endswith("inlets on the mill"):
            continue
        grip = re.search(r"Clamp in V-blocks on (\d+) mm", sheet.words)
        (table,) = [t for t in sheet.tables if t.rows and t.rows[0][0] == "from"]
        rows = {row[0].split(":")[0].split(",")[0]: row[1:] for row in table.rows}
        columns = zip(
            table.heads[1:], rows["from"], rows["blank"], rows["before the joint line"],
            rows["of that left on for shrink and trim; the grip allowance is sawn off"], rows["straight to clamp on"],
            rows["flat cut on the centreline"], strict=True,
        )  # fmt: skip
        for piece, line, *numbers in columns:
            if line.startswith("J"):
                made[piece] = Blank(line, float(grip[1]) if grip else 0.0, *map(float, numbers))
    return made


def listed(folder: Path) -> dict[str, dict[str, str]]:
    """The cut list by piece."""
    with (folder / "cut-list.csv").open(encoding="utf-8-sig", newline="") as file:
        return {row["piece"]: row for row in csv.DictReader(file)}


def joint_place(fit: PaperTable, row: tuple[str, ...]) -> Place:
    """Where a joint stands and which way its tube goes, from its row."""
    cell = dict(zip(fit.heads, row, strict=True))
    at = np.array([float(cell[f"{k} mm"]) for k in "xyz"])
    up = math.radians(float(cell["to bench °"]))
    heading = cell["heading (x towards y) °"]
    way = math.radians(float(heading)) if heading != "–" else 0.0
    return at, np.array([math.cos(up) * math.cos(way), math.cos(up) * math.sin(way), math.sin(up)])


def put_together(sheet: PaperSheet, cuts: dict[str, dict[str, str]]) -> Built:
    """A run from the first joint of its sheet: net lengths, bends, rolls from line to line."""
    fit, cut = table_of(sheet, "FIT, TACK"), table_of(sheet, "CUT")
    first = next(row for row in fit.rows if len(row) > 1)
    at, travel = joint_place(fit, first)
    said = [ROLL.fullmatch(r[0]) or STRAIGHT_ON.fullmatch(r[0]) for r in fit.rows if len(r) == 1]
    rolls = {m["piece"]: m for m in said if m}
    made = Built((at, travel))
    line = travel
    for row in (r for r in cut.rows if len(r) > 1):
        cell = dict(zip(cut.heads, row, strict=True))
        piece = cell["CUT"]
        before, after = (float(cuts[piece][k]) for k in ("straight_before_mm", "straight_after_mm"))
        made.before, made.piece = (at, travel), piece
        if cell["bend °"] == "–":
            at = at + travel * float(cell["net mm"])
            continue
        at = at + travel * before
        roll = rolls[piece]
        if axis := AXIS.search(roll["line"]):
            line = square(np.eye(3)["xyz".index(axis[2])] * (1 if axis[1] == "+" else -1), travel)
        else:
            assert roll["line"] == "back line"
            assert made.backs[roll["on"]] is not None
        groups = roll.groupdict()
        degrees = float(groups.get("deg") or 0.0) * (-1 if groups.get("way") == "anticlockwise" else 1)
        line = turned(line, travel, degrees)
        clr = float(cuts[piece]["clr_mm"])
        made.bends[piece] = (at, travel)
        centre, axis_of_bend = at - line * clr, np.cross(travel, -line)
        angle = float(cell["bend °"])
        assert abs(math.radians(angle) * clr - float(cell["side mm"])) < 0.1  # the sheet's own arithmetic
        at = centre + turned(at - centre, axis_of_bend, angle)
        travel, line = (turned(v, axis_of_bend, angle) for v in (travel, line))
        at = at + travel * after
        made.backs[piece] = line
    made.end = (at, travel)
    return made


@dataclass
class MillCut:
    """One cut of one inlet, in place: the seam it makes, a point of its plane and the plane's normal."""

    seam: str
    at: np.ndarray
    normal: np.ndarray


def mill_cuts(sheet: PaperSheet, built: dict[str, Built]) -> list[MillCut]:
    """Every cut of a merge collector's inlets, set out as the mill sheet says, on the runners as they were built."""
    (common,) = [t for t in sheet.tables if t.heads[0] == "tilt of the tube"]
    set_up = dict(zip(common.heads, common.rows[0], strict=True))
    tilt = float(set_up["tilt of the tube"].rstrip("°"))
    psi = float(set_up["inside line off the top"].split("°")[0])
    (inlets,) = [t for t in sheet.tables if t.rows[0][0] == "from"]
    made = []
    for column, piece in enumerate(inlets.heads[1:], start=1):
        told = {row[0]: row[column] for row in inlets.rows}
        run = next(b for b in built.values() if b.piece == piece)
        line_at, along = run.before or run.end
        apex = float(told["both planes cross the centreline, beyond the tube"])
        back_of_bend = run.backs[list(run.backs)[-1]]
        turn = float(told["back of the bend before: ° from the back line, + anticlockwise at the cut end"])
        # seen at the cut end one looks upstream: anticlockwise there is clockwise looking downstream
        back = turned(back_of_bend, along, -turn)
        inside = -back
        for seam, side in (("1st cut: crotch", 1), ("2nd cut: crotch", -1)):
            if told.get(seam, "-") == "-":
                continue
            # inside line psi left (right) of the top, seen at the cut end: the top is clockwise (anticlockwise) of it there
            top = turned(inside, along, -side * psi)
            normal = math.cos(math.radians(tilt)) * top + math.sin(math.radians(tilt)) * along
            made.append(MillCut(told[seam], line_at + apex * along, normal))
    return made


def hole_points(sheet: PaperSheet, built: Built) -> np.ndarray:
    """The edge of a branch's hole on the bend it is marked on, bench frame (n, 3), mm."""
    bend = re.search(r"Bend ([\d.]+)°, CLR ([\d.]+) mm, tube ([\d.]+) mm", sheet.words)
    assert bend
    angle, clr, od = map(float, bend.groups())
    piece = sheet.title.split()[0]
    start, travel = built.bends[piece]
    (table,) = [t for t in sheet.tables if t.heads[0].startswith("branch")]
    points = []
    back_end = built.backs[piece]
    axis_end = np.cross(built.end[1], -back_end)  # of this bend where nothing bends behind it
    for row in table.rows:
        cell = dict(zip(table.heads, row, strict=True))
        for around in cell["HOLE: around the tube mm"].split(" / "):
            turn = float(cell["HOLE: along back mm"]) / (math.radians(1.0) * (clr + od / 2))
            back = turned(back_end, axis_end, -angle)  # the back line where the bend begins
            centre = start - back * clr
            here, out = centre + turned(start - centre, axis_end, turn), turned(back, axis_end, turn)
            flow = turned(travel, axis_end, turn)
            # + anticlockwise seen from downstream: clockwise looking downstream is right-handed about the flow
            points.append(here + od / 2 * turned(out, flow, -math.degrees(float(around) / (od / 2))))
    return np.array(points)
