"""The page's tables, read off report.json's mapping: every cell knows the key its number stands under."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from manifoldgen.manifold.cut import JOINT_WORDS
from manifoldgen.reports.shown import NOTHING, against, leaves, percent, shown, under, worded
from manifoldgen.wording import counted

Content = Mapping[str, Any]
Flat = tuple[str, str, tuple[str, ...]]  # id, what it is, its joints
_TABLED = {
    "schema_version",
    "name",
    "ok",
    "findings",
    "runners",
    "gaps",
    "studs",
    "welds",
    "weld_order",
    "pieces",
    "prints",
}
_PLACES = {"turbo", "points"}  # of the survey


@dataclass(frozen=True)
class Cell:
    """Text on the page.  key : of the number in the report, where it is one.  mark : ``good``, ``bad`` or empty."""

    text: str
    key: str = ""
    mark: str = ""

    @property
    def number(self) -> bool:
        """Whether it is set right, digit under digit."""
        return bool(self.key)

    @property
    def long(self) -> bool:
        """Whether it is a sentence rather than a word."""
        return not self.key and len(self.text) > 16


@dataclass(frozen=True)
class PageRow:
    """One row.  go : what a press on it shows in the view, empty for nothing.  name : its id, as visible text."""

    go: str
    name: str
    cells: tuple[Cell, ...]


@dataclass(frozen=True)
class Table:
    """One table.  heads : with units, the id's first."""

    id: str
    title: str
    heads: tuple[str, ...]
    rows: tuple[PageRow, ...]

    @property
    def numeric(self) -> tuple[bool, ...]:
        """Whether each column holds numbers, the id's first."""
        return (False, *(any(row.cells[k].number for row in self.rows) for k in range(len(self.heads) - 1)))

    @property
    def filled(self) -> Table:
        """The same without the columns in which nothing stands."""
        kept = [
            k for k in range(len(self.heads) - 1) if any(row.cells[k].text != NOTHING for row in self.rows)
        ]
        heads = (self.heads[0], *(self.heads[k + 1] for k in kept))
        rows = tuple(PageRow(row.go, row.name, tuple(row.cells[k] for k in kept)) for row in self.rows)
        return Table(self.id, self.title, heads, rows)


def tables(content: Content, flat: Iterable[Flat] = ()) -> tuple[Table, ...]:
    """Nuts, welds, runners, pieces, gaps, surveyed places and printed parts; a table without rows is left out.

    flat : pieces that are no tubes, which the report does not list.
    """
    made = (
        _studs(content), _welds(content), _runners(content), _pieces(content, flat), _gaps(content), _places(content),
        _prints(content),
    )  # fmt: skip
    return tuple(table.filled for table in made if table.rows)


def _number(key: str, value: object) -> Cell:
    return Cell(under(key, value), key if isinstance(value, int | float) else "")


def _studs(content: Content) -> Table:
    rows = []
    for k, s in enumerate(content.get("studs", [])):
        verdict = "ratchet" if s["ratchet"] else "spanner" if s["reachable"] else "out of reach"
        if not s.get("comes_off", True):
            verdict += ", stays on"
        key = f"studs.{k}."
        cells = (
            Cell(verdict, mark="good" if s["reachable"] and s.get("comes_off", True) else "bad"),
            Cell(shown(s["tool"])),
            _number(key + "swing_deg", s["swing_deg"]),
            _number(key + "clearance_mm", s["clearance_mm"]),
            _number(key + "shortfall_mm", s["shortfall_mm"]),
            Cell(shown(s["blocked_by"])),
        )
        rows.append(PageRow(f"stud:{s['id']}", s["id"], cells))
    heads = ("nut", "reached with", "tool", "swing °", "room mm", "short mm", "in the way")
    return Table("nuts", "Nuts and bolts", heads, tuple(rows))


def _welds(content: Content) -> Table:
    rows = []
    for k, w in enumerate(content.get("welds", [])):
        key = f"welds.{k}."
        state = "stuck" if w.get("stuck") else f"stage {w['stage']}" if w["apart"] else "in place"
        blocked = w.get("longest_blocked")
        unit = "°" if w.get("unit") == "deg" else "mm"
        cells = (
            Cell(JOINT_WORDS.get(w.get("kind"), NOTHING)),
            Cell(state, mark="bad" if w.get("stuck") else "good" if not w["apart"] else ""),
            Cell(percent(w["reach"]), key + "reach"),
            Cell(
                f"{shown(blocked)} {unit}" if blocked else shown(None),
                key + "longest_blocked" if blocked else "",
            ),
            _number(key + "stage", w["stage"]),
            Cell(shown(w["tier"])),
            Cell(", ".join(w["blocked_by"][:2]) or shown(None)),
        )
        rows.append(PageRow(f"weld:{w['id']}", w["id"], cells))
    heads = ("weld", "kind", "when", "reach", "blocked", "stage", "torch access", "in the way")
    return Table("welds", "Welds", heads, tuple(rows))


def _runners(content: Content) -> Table:
    names = ("length_mm", "bends", "bend_deg", "mass_kg", "end_miss_mm", "end_miss_deg", "snapped_mm")
    rows = []
    for number, r in content.get("runners", {}).items():
        key = f"runners.{number}."
        cells = [_number(key + name, r.get(name)) for name in names]
        cells.append(
            Cell(", ".join(dict.fromkeys(under("clrs", c) for c in r.get("clrs", []))) or shown(None))
        )
        rows.append(PageRow(f"runner:{number}", f"runner {number}", tuple(cells)))
    heads = (
        "runner",
        "length mm",
        "bends",
        "bent °",
        "mass kg",
        "end error mm",
        "end error °",
        "corrected mm",
        "CLR mm",
    )
    return Table("runners", "Runners", heads, tuple(rows))


def _pieces(content: Content, flat: Iterable[Flat]) -> Table:
    names = ("angle_deg", "clr_mm", "roll_deg", "back_mm", "centre_mm", "throat_mm", "net_mm", "cut_mm")
    rows = []
    for k, p in enumerate(content.get("pieces", [])):
        key = f"pieces.{k}."
        cells = [Cell(shown(p.get("stock")))]
        cells += [_number(key + name, p.get(name)) for name in names]
        cells.append(Cell(" – ".join(p.get("joints", [])) or shown(None)))
        rows.append(PageRow(f"piece:{p['piece']}", p["piece"], tuple(cells)))
    told = {row.name for row in rows}
    for one, what, joints in flat:
        if one not in told:
            cells = [Cell(what), *(Cell(NOTHING) for _ in names), Cell(" – ".join(joints) or NOTHING)]
            rows.append(PageRow(f"piece:{one}", one, tuple(cells)))
    heads = (
        "piece", "out of", "bend °", "CLR mm", "roll °", "back mm", "centre mm", "throat mm", "net mm", "cut mm", "welds",
    )  # fmt: skip
    return Table("pieces", "Pieces", heads, tuple(rows))


def _gaps(content: Content) -> Table:
    rows = []
    for k, g in enumerate(content.get("gaps", [])):
        key = f"gaps.{k}."
        short = g["gap_mm"] < g["asked_mm"] - 1e-3
        known = g.get("known_to_mm", 0.0)
        sure = g["gap_mm"] - known >= g["asked_mm"] - 1e-3
        told = against(g["gap_mm"], g["asked_mm"], short=short)
        cells = (
            Cell(told.value, key + "gap_mm"),
            Cell(told.limit, key + "asked_mm"),
            _number(key + "known_to_mm", known) if known else Cell(NOTHING),
            Cell(
                "short" if short else "clear" if sure else "not sure",
                mark="bad" if short else "good" if sure else "",
            ),
        )
        between = g["a"] if g["a"] == g["b"] else f"{g['a']} – {g['b']}"
        rows.append(PageRow(f"gap:{k}", between, cells))
    return Table("gaps", "Gaps", ("between", "gap mm", "required mm", "known to ± mm", ""), tuple(rows))


def _places(content: Content) -> Table:
    """What comes from the survey, and within how much the truth lies in 95 of 100 surveys."""
    survey = content.get("survey", {})
    found = {"turbo": ("survey.turbo.", survey["turbo"])} if survey.get("turbo") else {}
    found |= {name: (f"survey.points.{name}.", point) for name, point in survey.get("points", {}).items()}
    rows = []
    for name, (key, place) in found.items():
        axis = ", ".join(shown(v, 2) for v in place["worst_axis"])
        cells = (
            *(_number(f"{key}at.{k}", v) for k, v in enumerate(place["at"])),
            _number(key + "expected_error_mm", place["expected_error_mm"]),
            _number(key + "expected_error_deg", place.get("expected_error_deg")),
            _number(key + "worst_axis_mm", place["worst_axis_mm"]),
            Cell(f"[{axis}]"),
            Cell(", ".join(f"{n['a']} to {n['b']}" for n in place["measure_next"]) or NOTHING),
        )
        rows.append(PageRow(f"place:{name}", name, cells))
    heads = ("place", "x mm", "y mm", "z mm", "± mm", "± °", "worst ± mm", "along", "measure next")
    return Table("survey", "Surveyed places, 95 %", heads, tuple(rows))


def _prints(content: Content) -> Table:
    """Each group with what it takes, and under it its parts."""
    found = content.get("prints", {"groups": (), "parts": ()})
    rows = []
    for k, group in enumerate(found["groups"]):
        count = counted(group["parts"], "part")
        taken = _taken(f"prints.groups.{k}.", group)
        rows.append(PageRow("", f"all: {group['group']}", (Cell(count), *taken, Cell(group["why"]))))
        for n, part in enumerate(found["parts"]):
            if part["group"] == group["group"]:
                taken = _taken(f"prints.parts.{n}.", part)
                rows.append(PageRow("", part["part"], (Cell(part["group"]), *taken, Cell(part["what_for"]))))
    return Table("prints", "Printed parts", ("part", "group", "g", "hours", "what for"), tuple(rows))


def _taken(key: str, row: Mapping[str, Any]) -> tuple[Cell, Cell]:
    return _number(key + "grams", row["grams"]), _number(key + "hours", row["hours"])


@dataclass(frozen=True)
class NumberGroup:
    """Numbers under one of the report's keys: label, cell, unit."""

    title: str
    rows: tuple[tuple[str, Cell, str], ...]


def numbers(content: Content) -> tuple[NumberGroup, ...]:
    """Everything the report holds that has no table of its own, as label, value and unit."""
    made = []
    for key, value in content.items():
        if key in _TABLED or value in (None, {}, []):
            continue
        rest = {k: v for k, v in value.items() if k not in _PLACES} if key == "survey" else value
        rows = tuple(_lines(key, rest))
        if rows:
            made.append(NumberGroup(worded(key)[0], rows))
    return tuple(made)


def _lines(key: str, value: object) -> Iterator[tuple[str, Cell, str]]:
    for full, leaf in leaves(key, value):
        steps = full.split(".")[1:]
        words, unit = worded(steps[-1]) if steps else worded(full)
        label = " ".join([*(s.replace("_", " ") for s in steps[:-1]), words])
        if isinstance(leaf, list | tuple):
            text = ", ".join(under(full, v) for v in leaf)
            if text:
                yield label, Cell(text), unit
        else:
            number = isinstance(leaf, int | float) and not isinstance(leaf, bool)
            yield label, Cell(under(full, leaf), full if number else ""), unit
