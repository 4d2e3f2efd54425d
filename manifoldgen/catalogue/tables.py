"""The catalogue's files as plain rows: every row with its source and how sure it is.

    <file>.yaml ── sources: {KEY: text}
                ── <table>: {<row>: {…, src: KEY or [KEY, …], conf: high | med | low}}

sources : each names its kind: a standard, a handbook or textbook, a manual, a data sheet, the table of a reseller,
supplier or open-source library, an article, a discussion, a guide, measured, computed, common practice, from memory.
conf : high = read in the source named, med = memory and a cross check, low = memory or practice only.
Numbers are mm; a value with a unit (``9/16 in``) stands as its source prints it and is read in mm.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any, Literal, TypeVar

from manifoldgen import units
from manifoldgen.errors import ManifoldgenError

FILES = (
    "fasteners",
    "limits",
    "materials",
    "pipe_schedules",
    "rates",
    "shop",
    "stock_elbows",
    "tig",
    "tools",
    "tube_stock",
)
Confidence = Literal["high", "med", "low"]
T = TypeVar("T")
_LENGTH = re.compile(r"[\d./ -]+\s*(?:mm|in)")


@dataclass(frozen=True)
class TableRow:
    """One row: its values, the sources written out, and the confidence."""

    id: str
    values: Mapping[str, Any]
    src: tuple[str, ...]
    conf: Confidence

    def __getitem__(self, name: str) -> Any:  # noqa: ANN401 - a table's value is a number, a text or a list
        """One value of the row; KeyError lists the names there are."""
        return pick(self.values, name, f"value of {self.id}")

    def get(self, name: str, default: Any = None) -> Any:  # noqa: ANN401
        """One value of the row, or `default`."""
        return self.values.get(name, default)


@dataclass(frozen=True)
class File:
    """One file of the catalogue: its sources and its tables of rows."""

    name: str
    sources: Mapping[str, str]
    tables: Mapping[str, Mapping[str, TableRow]]

    def rows(self) -> Iterator[tuple[str, TableRow]]:
        """Every row with its table's name."""
        for table, rows in self.tables.items():
            for row in rows.values():
                yield table, row


class Unknown(ManifoldgenError, KeyError):  # noqa: N818 - read as "Unknown: there is no …"
    """A name the catalogue does not have; str() is one sentence with the names it has, or what to add."""

    def __str__(self) -> str:
        return str(self.args[0])


def pick(table: Mapping[str, T], name: object, what: str) -> T:
    """`table[name]`, or Unknown with a sentence that lists the valid names."""
    found = table.get(str(name))
    if found is None:
        raise Unknown(f"there is no {what} '{name}' in the catalogue: use {', '.join(table)}")
    return found


@cache
def read(name: str) -> File:
    """One file of the catalogue (read once)."""
    import yaml

    text = (files("manifoldgen.catalogue") / f"{name}.yaml").read_text("utf-8")
    return parse(name, yaml.safe_load(text))


def parse(name: str, raw: Mapping[str, Any]) -> File:
    """Rows out of a file's mapping; ValueError where one has no source or confidence."""
    sources = {str(k): str(v) for k, v in raw["sources"].items()}
    tables = {
        str(table): {str(k): _row(f"{table} {k}", v, sources) for k, v in rows.items()}
        for table, rows in raw.items()
        if table != "sources"
    }
    return File(name, sources, tables)


def plain(value: object) -> object:
    """A length written with its unit (``9/16 in``) in mm, in lists too; everything else as it is."""
    if isinstance(value, list | tuple):
        return [plain(v) for v in value]
    if isinstance(value, str) and _LENGTH.fullmatch(value.strip()):
        return round(units.length(value), 6)
    return value


def _row(name: str, raw: Mapping[str, Any], sources: Mapping[str, str]) -> TableRow:
    keys = raw.get("src", ())
    keys = (keys,) if isinstance(keys, str) else tuple(keys)
    missing = [k for k in keys if k not in sources]
    if not keys or missing or raw.get("conf") not in {"high", "med", "low"}:
        raise ValueError(f"{name}: a row needs src (defined under sources) and conf (high, med or low)")
    values = {str(k): plain(v) for k, v in raw.items() if k not in {"src", "conf"}}
    return TableRow(name, values, tuple(sources[k] for k in keys), raw["conf"])
