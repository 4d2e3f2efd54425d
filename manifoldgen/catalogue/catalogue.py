"""`Catalogue`: typed access to the tables, with a shop's own rows over them."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any

from manifoldgen.catalogue import threads
from manifoldgen.catalogue.records import Curve, Elbow, Head, Material, Nut, Pipe, Thread, Washer
from manifoldgen.catalogue.tables import FILES, Confidence, File, TableRow, Unknown, pick, plain, read

NUTS = {"hex": "hex_nut", "flange": "flange_nut", "all-metal-lock": "all_metal_lock_nut"}
HEADS = {"bolt": "hex_screw", "socket-head": "socket_head"}
FITS = ("fine", "medium", "coarse")
Columns = Mapping[str, str]
# tables by size of thread, each with the columns that a row must have and what they are
SIZES: Mapping[str, Columns] = {
    "hex_nut": {"s": "across flats", "m": "height"},
    "flange_nut": {"s": "across flats", "m": "height", "dc": "diameter of its flange"},
    "all_metal_lock_nut": {"s": "across flats", "m": "height"},
    "hex_screw": {"s": "across flats", "k": "head height"},
    "socket_head": {"dk": "head diameter", "k": "head height", "key": "hexagon"},
    "washer": {"d1": "bore", "d2": "outside", "h": "thickness"},
    "clearance_hole": dict.fromkeys(FITS, "diameter"),
}
_THREAD: Columns = {"d": "diameter", "pitch": "pitch"}
SAME_SIZE = 0.02  # mm: sizes across flats closer than this are one; 5/16 in and 8 mm are 0.06 apart
NEAR_SIZE = (
    0.5  # mm: a drive's largest socket may be so much over its largest size here (9/16 in beside 14 mm)
)
OWN = "the shop's own file"
_NUMBER = re.compile(r"\d+(?:\.\d+)?")
_MSI_GPA = 6.895  # 1e6 psi in GPa


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
                ours = dict(pick(merged, table, f"table of {name}"))
                for k, values in rows.items():
                    key = self.row_name(name, table, str(k))
                    base = ours.get(key) or self.base(name, table, key)
                    ours[key] = _own(f"{table} {key}", base, values)
                merged[table] = ours
            own[name] = replace(file, tables=dict(merged))
        return Catalogue(own)

    def row_name(self, file: str, table: str, name: str) -> str:
        """A row's name as it stands here: threads are known by other ways to write them, too."""
        return self.thread_name(name) if file == "fasteners" and table in {*SIZES, "thread"} else name

    def base(self, file: str, table: str, name: str) -> TableRow | None:
        """The row that an own one starts from: the one of its name, else that of its size of thread."""
        rows, name = self.table(file, table), self.row_name(file, table, name)
        return self._sized(table, name) if file == "fasteners" and table in SIZES else rows.get(name)

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

    @cached_property
    def _called(self) -> Mapping[str, threads.Called]:
        """What the names of all threads say, with the pitch of their rows."""
        tabled = self.table("fasteners", "thread")
        own = [n for t in SIZES for n in self.table("fasteners", t) if not _is_size(n)]
        made = {}
        for name in dict.fromkeys((*tabled, *own)):
            it = threads.called(name)
            if it is not None:
                pitch = _pitch(tabled[name]) if name in tabled else None
                made[name] = replace(it, name=name, pitch=pitch or it.pitch)
        return made

    def thread_name(self, text: str) -> str:
        """A thread's name as it stands in every list: ``M8`` for ``M8x1.25``, ``3/8-16 UNC`` for ``3/8"-16``."""
        return text if text in self._called else threads.named(text, self._called.values())

    def threads(self) -> tuple[str, ...]:
        """Names of the threads there is a nut, a head or a hole for."""
        own = [n for t in SIZES for n in self.table("fasteners", t) if not _is_size(n)]
        every = dict.fromkeys((*self.table("fasteners", "thread"), *own))
        return tuple(n for n in every if any(self._sized(t, n) for t in SIZES))

    def threads_of_size(self, thread: str) -> tuple[str, ...]:
        """Names of the threads of the same diameter as `thread`; all there are where it has none of its own."""
        it = threads.called(thread)
        every = {n: threads.called(n) for n in self.threads()}
        alike = tuple(n for n, other in every.items() if it and other and other.size == it.size)
        return alike or tuple(every)

    def thread(self, name: str) -> Thread:
        """A thread's diameter and pitch: those of its row, else those its name says."""
        name = self.thread_name(name)
        it, row = threads.called(name), self.table("fasteners", "thread").get(name)
        sized = [r for t in SIZES if (r := self._sized(t, name))]
        if not sized:
            pick(dict.fromkeys(self.threads()), name, "thread")
        pitch = (_pitch(row) if row else None) or (it.pitch if it else None)
        pitch = pitch or next((float(r["pitch"]) for r in sized if r.get("pitch")), None)
        diameter = row.get("d") if row else None
        diameter = diameter or (it.diameter if it else None)
        if pitch is None or diameter is None:
            raise Unknown(
                f"the diameter and pitch of thread '{name}' are not known: {_add('thread', name, 'd', 'pitch')}"
            )
        return Thread(name, float(diameter), float(pitch))

    def hole(self, thread: str, fit: str) -> float:
        """Clearance hole of a thread, mm; fit ``fine``, ``medium`` or ``coarse``."""
        pick(dict.fromkeys(FITS, fit), fit, "fit")
        return float(self._of("clearance_hole", thread, f"{fit} clearance hole", fit)[fit])

    def nut(self, kind: str, thread: str) -> Nut:
        """A nut of one kind (``hex``, ``flange``, ``all-metal-lock``) and thread."""
        table = pick(NUTS, kind, "nut")
        row = self._of(table, thread, f"{kind} nut")
        flats = float(row["s"])
        corners = float(row.get("e") or flats / math.cos(math.pi / 6))
        flange = row.get("dc")
        return Nut(
            kind,
            self.thread_name(thread),
            flats,
            corners,
            float(row["m"]),
            float(flange) if flange else None,
            float(row.get("c", 0.0)) if flange else 0.0,
            row.src,
            row.conf,
        )

    def head(self, kind: str, thread: str) -> Head:
        """A bolt's head (``bolt``: hexagon, ``socket-head``)."""
        row = self._of(pick(HEADS, kind, "bolt"), thread, f"{kind} head")
        flats = row.get("s")
        diameter = float(row.get("dk") or 0.0) or float(row["s"]) / math.cos(math.pi / 6)
        name = self.thread_name(thread)
        return Head(kind, name, float(row["k"]), diameter, flats, row.get("key"), row.src, row.conf)

    def washer(self, thread: str) -> Washer:
        """The plain washer of a thread."""
        row, name = self._of("washer", thread, "washer"), self.thread_name(thread)
        return Washer(name, float(row["d1"]), float(row["d2"]), float(row["h"]), row.src, row.conf)

    def key(self, size: float) -> None:
        """Raise Unknown where no hexagon key and no bit socket fits a hexagon of `size` mm."""
        largest = max(float(row["key_max"]) for row in self.table("tools", "bit_socket").values())
        if size > largest + SAME_SIZE and self.across_flats("hex_key", size) is None:
            raise Unknown(
                f"there is no hex key or bit socket of {size:g} mm in the catalogue: add it to the shop file, "
                f"tools: {{hex_key: {{{size:g}: {{long: its long arm, short: its short arm}}}}}}"
            )

    def sizes(self, table: str) -> Mapping[float, TableRow]:
        """The rows of a table of tools that are named by a size across flats (``13``, ``9/16 in``), by mm."""
        found = {}
        for name, row in self.table("tools", table).items():
            size = plain(float(name) if _NUMBER.fullmatch(name) else name)
            if isinstance(size, float):
                found[size] = row
        return found

    def across_flats(self, table: str, size: float) -> TableRow | None:
        """The row of a table of tools for a size across flats, mm; None where there is none."""
        return next((row for s, row in self.sizes(table).items() if abs(s - size) < SAME_SIZE), None)

    def socket_width(self, drive: str, size: float) -> float:
        """Largest diameter of a socket's nut end, mm: the tabled one, else by the formula of its drive."""
        row, tabled = self.row("tools", "hand_socket", drive), self.across_flats("hand_socket_d1", size)
        if tabled is not None and tabled.get(drive):
            return float(tabled[drive])
        return float(row["per_s"]) * size + float(row["plus"])

    def largest_socket(self, drive: str) -> float:
        """The widest nut there are sockets for in one drive, mm across flats."""
        tabled = [size for size, row in self.sizes("hand_socket_d1").items() if row.get(drive)]
        return max([float(self.row("tools", "hand_socket", drive).get("most", 0.0)), *tabled]) + NEAR_SIZE

    def _sized(self, table: str, thread: str) -> TableRow | None:
        """The row of a thread, by its full name or by its size."""
        rows, it = self.table("fasteners", table), threads.called(thread)
        return rows.get(thread) or (rows.get(it.size) if it else None)

    def _of(self, table: str, thread: str, what: str, *columns: str) -> TableRow:
        """The row of a thread with all it needs; Unknown says what to add to the shop file."""
        name = self.thread_name(thread)
        row, needed = self._sized(table, name), columns or tuple(SIZES[table])
        missing = [c for c in needed if row is None or row.get(c) is None]
        if row is None or missing:
            raise Unknown(f"there is no {what} of {name} in the catalogue: {_add(table, name, *missing)}")
        return row

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
    own = {key: plain(value) for key, value in values.items()}
    return TableRow(name, {**(row.values if row else {}), **own}, (OWN,), conf)


def _curve(row: TableRow) -> Curve:
    values = row.get("v") or [_MSI_GPA * m for m in row["msi"]]
    return Curve(tuple(map(float, row["t"])), tuple(map(float, values)), row.src, row.conf)


def _pitch(row: TableRow) -> float | None:
    """Of a row of the table of threads, mm; None where it has none."""
    if row.get("pitch"):
        return float(row["pitch"])
    return threads.INCH / float(row["tpi"]) if row.get("tpi") else None


def _is_size(name: str) -> bool:
    """Whether a row's name is a size that several threads have (``3/8``)."""
    it = threads.called(name)
    return it is not None and it.name == it.size and not name.startswith("M")


def _add(table: str, name: str, *columns: str) -> str:
    """What to write into the shop file."""
    told = SIZES.get(table, _THREAD)
    row = ", ".join(f"{c}: {told[c]}" for c in columns)
    return f"add it to the shop file, catalogue: {{fasteners: {{{table}: {{{name}: {{{row}}}}}}}}}"
