"""`Catalogue`: typed access to the tables, with a shop's own rows over them."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any

from manifoldgen.catalogue.records import Curve, Elbow, Head, Material, Nut, Pipe, Thread, Washer
from manifoldgen.catalogue.tables import FILES, Confidence, File, TableRow, pick, read

NUTS = {"hex": "hex_nut", "flange": "flange_nut", "all-metal-lock": "all_metal_lock_nut"}
HEADS = {"bolt": "hex_screw", "socket-head": "socket_head"}
FITS = ("fine", "medium", "coarse")
OWN = "the shop's own file"
_MSI_GPA = 6.895  # 1e6 psi in GPa
_INCH = 25.4


@dataclass(frozen=True)
class Catalogue:
    """The reference tables; `own` holds files with a shop's rows over ours."""

    own: Mapping[str, File] = field(default_factory=dict)

    def file(self, name: str) -> File:
        """One file of tables."""
        pick(dict.fromkeys(FILES, name), name, "file of tables")
        return self.own.get(name) or read(name)

    def table(self, file: str, table: str) -> Mapping[str, TableRow]:
        """All rows of one table, by name."""
        return pick(self.file(file).tables, table, f"table of {file}")

    def row(self, file: str, table: str, row: str | float) -> TableRow:
        """One row; KeyError lists the rows there are."""
        name = f"{row:g}" if isinstance(row, int | float) else row
        return pick(self.table(file, table), name, table.replace("_", " "))

    def with_overrides(
        self, overrides: Mapping[str, Mapping[str, Mapping[str, Mapping[str, Any]]]]
    ) -> Catalogue:
        """The same catalogue with values replaced: ``{file: {table: {row: {value: …}}}}``.

        A row that is not there yet is added; an unknown file or table raises KeyError with the names there are.
        """
        own = dict(self.own)
        for name, tables in overrides.items():
            file = own.get(name) or self.file(name)
            merged = dict(file.tables)
            for table, rows in tables.items():
                ours = pick(merged, table, f"table of {name}")
                merged[table] = {
                    **ours,
                    **{str(k): _own(f"{table} {k}", ours.get(str(k)), v) for k, v in rows.items()},
                }
            own[name] = replace(file, tables=dict(merged))
        return Catalogue(own)

    def elbows(self) -> tuple[Elbow, ...]:
        """Every bought elbow; a 45 is its own item."""
        found = []
        for nps, row in self.table("stock_elbows", "elbows").items():
            for kind, key in (("90 long", "a90_lr"), ("90 short", "a90_sr")):
                found.append(Elbow(nps, kind, row["od"], 90.0, row[key], row[key], row.src, row.conf))
            found.append(Elbow(nps, "45 long", row["od"], 45.0, None, row["b45_lr"], row.src, row.conf))
        return tuple(found)

    def pipes(self) -> tuple[Pipe, ...]:
        """Every pipe size with its walls."""
        return tuple(
            Pipe(
                nps,
                row["od"],
                tuple((s, row[f"s{s.lower()}"]) for s in ("5S", "10S", "40S")),
                row.src,
                row.conf,
            )
            for nps, row in self.table("pipe_schedules", "pipes").items()
        )

    def threads(self) -> tuple[str, ...]:
        """Names of the threads there are nuts for."""
        return tuple(self.table("fasteners", "hex_nut"))

    def nut_kinds(self) -> tuple[str, ...]:
        """Names of the kinds of nut."""
        return tuple(NUTS)

    def thread(self, name: str) -> Thread:
        """A thread with pitch and clearance holes."""
        row = pick(self.table("fasteners", "hex_nut"), name, "thread")
        holes = self.table("fasteners", "clearance_hole").get(name)
        fits = [float(holes[fit]) if holes else None for fit in FITS]
        return Thread(name, _diameter(name), float(row["pitch"]), *fits)

    def hole(self, thread: str, fit: str) -> float:
        """Clearance hole of a thread, mm; fit ``fine``, ``medium`` or ``coarse``."""
        row = pick(self.table("fasteners", "clearance_hole"), thread, "clearance hole of thread")
        pick(dict.fromkeys(FITS, fit), fit, "fit")
        return float(row[fit])

    def nut(self, kind: str, thread: str) -> Nut:
        """A nut of one kind (``hex``, ``flange``, ``all-metal-lock``) and thread."""
        row = pick(self.table("fasteners", pick(NUTS, kind, "nut")), thread, f"{kind} nut of thread")
        flats = float(row["s"])
        corners = float(row.get("e", flats / math.cos(math.pi / 6)))
        flange = row.get("dc")
        return Nut(
            kind,
            thread,
            flats,
            corners,
            float(row["m"]),
            float(flange) if flange else None,
            row.src,
            row.conf,
        )

    def head(self, kind: str, thread: str) -> Head:
        """A bolt's head (``bolt``: hexagon, ``socket-head``).

        Hexagon heads of the inch threads are not tabled: KeyError.
        """
        row = pick(self.table("fasteners", pick(HEADS, kind, "bolt")), thread, f"{kind} of thread")
        flats = row.get("s")
        diameter = float(row.get("dk", 0.0)) or float(flats) / math.cos(math.pi / 6)
        return Head(kind, thread, float(row["k"]), diameter, flats, row.get("key"), row.src, row.conf)

    def washer(self, thread: str) -> Washer:
        """The plain washer of a thread."""
        row = pick(self.table("fasteners", "washer"), thread, "washer of thread")
        return Washer(thread, float(row["d1"]), float(row["d2"]), float(row["h"]), row.src, row.conf)

    @cached_property
    def _alias(self) -> Mapping[str, str]:
        rows = self.table("materials", "alias")
        return {str(name).lower(): k for k, row in rows.items() for name in row["names"]}

    def material_names(self) -> tuple[str, ...]:
        """Names of the alloys."""
        return tuple(self.table("materials", "density"))

    def material(self, name: str) -> Material:
        """An alloy by name or alias (``304``, ``304L``, ``mild steel``)."""
        key = self._alias.get(name.strip().lower(), name.strip())
        density = pick(self.table("materials", "density"), key, "material")
        modulus = "625" if key == "625" else "carbon" if key == "mild steel" else "austenitic"

        def curve(table: str, row: str) -> Curve | None:
            found = self.table("materials", table).get(row)
            return _curve(found) if found else None

        alpha, e = (
            _curve(self.row("materials", "alpha", key)),
            _curve(self.row("materials", "modulus", modulus)),
        )
        t_max = self.row("materials", "t_max_air", key)["value"]
        return Material(
            key, float(density["value"]), alpha, e, curve("yield", key), curve("rupture_1000h", key), float(t_max), density.src, density.conf
        )  # fmt: skip

    def defaults(self, block: str) -> dict[str, float]:
        """Default values of a block of the parameter file (``limits``, ``obstacle``, ``survey``, ``flange``, ``print``)."""
        return {k: float(row["value"]) for k, row in self.table("limits", block).items()}


def _own(name: str, row: TableRow | None, values: Mapping[str, Any]) -> TableRow:
    conf: Confidence = "high"  # measured or bought by the one who uses it
    return TableRow(name, {**(row.values if row else {}), **values}, (OWN,), conf)


def _curve(row: TableRow) -> Curve:
    values = row.get("v") or [_MSI_GPA * m for m in row["msi"]]
    return Curve(tuple(map(float, row["t"])), tuple(map(float, values)), row.src, row.conf)


def _diameter(name: str) -> float:
    if name.startswith("M"):
        return float(name[1:].split("x", maxsplit=1)[0])
    top, bottom = name.split("-", maxsplit=1)[0].split("/")
    return int(top) / int(bottom) * _INCH
