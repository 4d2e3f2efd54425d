"""Hand tools as exact primitives, made from catalogue rows and put on one nut, head or socket-head screw.

Heights are mm above the flange face along the stud. `seat` stands on the nut, `shaft` on the axis beyond the
pivot (tilted where the tool is), the arms of the handle turn about that axis:

    face ─ seat (socket, joint's lower half) ─ pivot ─ shaft (extension, ratchet head) ─ arms

A tool is first slid on: a socket lifted clear of the stud's end, a ring dropped on with its handle, an open
end from the side. Tools come in the order in which a fabricator would take them.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np

from manifoldgen import units
from manifoldgen.access.fasteners import Fastener
from manifoldgen.catalogue import Catalogue, TableRow
from manifoldgen.geometry.vectors import Array

DRIVES = ("10", "6.3", "12.5")  # as taken; a shop's own after them
_THIRDS = (1 / 3, 2 / 3, 1.0)  # of the greatest tilt


@dataclass(frozen=True)
class Frustum:
    """A frustum about the axis from height z0 (radius r0) to z1 (r1), grown by `rounding`; mm."""

    z0: float
    r0: float
    z1: float
    r1: float
    rounding: float = 0.0


@dataclass(frozen=True)
class Arm:
    """A round bar of the handle in the half plane, from (rho0, z0) to (rho1, z1); mm.

    lift : dropped on by as much.  slide : slid on from the side by as much.
    flat : instead, a disc of `radius` about the axis from z0 to z1 (an open end's head).
    """

    rho0: float
    z0: float
    rho1: float
    z1: float
    radius: float
    lift: float = 0.0
    slide: float = 0.0
    flat: bool = False

    @property
    def row(self) -> tuple[float, ...]:
        """As the swing wants it, with the way on."""
        out = 0.0 if self.flat else self.slide
        side = self.slide if self.flat else 0.0
        return self.rho0, self.z0, self.rho1 + out, self.z1, self.radius, self.lift, side


@dataclass(frozen=True)
class Tool:
    """A tool on one kind of nut.

    name : in words.  drive : of a socket's square, inches; None for a wrench.  ratchet : a ratchet with socket.
    extension : length, mm.  on : parts that only the way on adds to `seat`.
    need : degrees the handle has to swing.  tilts : degrees, those to try; the last is the greatest.
    assumed : names of the sizes that are from memory.
    """

    name: str
    seat: tuple[Frustum, ...]
    on: tuple[Frustum, ...]
    arms: tuple[Arm, ...]
    need: float
    drive: str | None = None
    ratchet: bool = False
    extension: float = 0.0
    pivot: float = 0.0
    shaft: tuple[Frustum, ...] = ()
    tilts: tuple[float, ...] = (0.0,)
    assumed: tuple[str, ...] = ()

    def arrays(self) -> tuple[Array, Array, Array]:
        """Seat with the way on, shaft and arms as the kernels want them."""
        seat = _rows([(p.z0, p.r0, p.z1, p.r1, p.rounding) for p in (*self.seat, *self.on)], 5)
        shaft = _rows([(p.z0, p.r0, p.z1, p.r1, p.rounding) for p in self.shaft], 5)
        return seat, shaft, _rows([a.row for a in self.arms], 7)


def _rows(rows: list[tuple[float, ...]], width: int) -> Array:
    return np.array(rows, dtype=float).reshape(-1, width)


@dataclass
class _Drawer:
    """Rows of the catalogue's tools, and which of those taken are only from memory."""

    tables: Catalogue
    assumed: dict[str, None] = field(default_factory=dict)

    def take(self, table: str, row: str, said: str) -> TableRow:
        """A row; `said` names it where its sizes are assumed."""
        return self.note(self.tables.row("tools", table, row), said)

    def note(self, row: TableRow, said: str) -> TableRow:
        """The row itself, its sizes noted where they are assumed."""
        if is_assumed(row):
            self.assumed[said] = None
        return row

    def value(self, table: str, row: str, said: str) -> float:
        """The single value of a row."""
        return float(self.take(table, row, said)["value"])

    def by_size(self, table: str, row: str, size: float, said: str) -> float:
        """per_s · size + plus."""
        found = self.take(table, row, said)
        return float(found["per_s"]) * size + float(found["plus"])

    def names(self) -> tuple[str, ...]:
        """What was assumed."""
        return tuple(self.assumed)


def is_assumed(row: TableRow) -> bool:
    """Whether a row's sizes are from memory rather than read or measured."""
    return row.conf == "low" or (row.conf == "med" and any("memory" in s for s in row.src))


def tools(f: Fastener, tables: Catalogue) -> tuple[Tool, ...]:
    """Every tool for a nut or head, in the order of preference.

    Ratchet and socket straight, with extensions, deep, wobble extension, swivel joint; ratcheting ring, ring,
    open end; hexagon key by hand; an impact wrench last.
    """
    straight: list[Tool] = []
    deep: list[Tool] = []
    wobble: list[Tool] = []
    swivel: list[Tool] = []
    for drive in _drives(tables):
        for long, bit in _bits(f, tables, drive):
            (deep if long else straight).extend(_driven(tables, drive, bit, ""))
            wobble += _driven(tables, drive, bit, "wobble")
            if drive in tables.table("tools", "universal_joint"):
                swivel += _driven(tables, drive, bit, "swivel")
    straight.sort(key=lambda t: t.extension > 0)
    made = [*straight, *deep, *wobble, *swivel]
    made += _keys(f, tables) if f.key else _wrenches(f, tables)
    if not f.key:
        made += _impact(f, tables)
    return tuple(made)


def _drives(tables: Catalogue) -> Iterator[str]:
    """The square drives there are sockets, ratchets and extensions for, in the order in which they are taken."""
    needed = [tables.table("tools", t) for t in ("square_drive", "hand_socket", "ratchet", "extension")]
    every = dict.fromkeys((*DRIVES, *needed[0]))
    return (drive for drive in every if all(drive in rows for rows in needed))


@dataclass(frozen=True)
class _Bit:
    """A socket or bit socket: its parts on the nut, the way on, its top, its name, what is assumed."""

    parts: tuple[Frustum, ...]
    on: tuple[Frustum, ...]
    top: float
    name: str
    assumed: tuple[str, ...]


def _bits(f: Fastener, tables: Catalogue, drive: str) -> Iterator[tuple[bool, _Bit]]:
    """Sockets (regular, deep) or the bit socket of one drive; whether deep."""
    gap = float(tables.row("tools", "room", "seat")["value"])
    if f.key:
        drawer = _Drawer(tables)
        if drive not in tables.table("tools", "bit_socket"):
            return
        row = drawer.take("bit_socket", drive, "bit socket")
        if f.key > row["key_max"] + 1e-9:
            return
        into = _depth(f, drawer)
        low = f.top - into
        foot, top = low + row["bit"], low + row["bit"] + row["body"]
        radius = row["d"] / 2
        parts = (
            Frustum(low, f.key / math.sqrt(3), foot, f.key / math.sqrt(3)),
            Frustum(foot, radius, top, radius),
        )
        on = (Frustum(top, radius, top + into + gap, radius),)
        yield False, _Bit(parts, on, top, f"{units.across_flats(f.key)} bit socket", drawer.names())
        return
    if f.across_flats > tables.largest_socket(drive):
        return
    for length in ("regular", "deep"):
        drawer = _Drawer(tables)
        made = _socket(f, drawer, drive, length, gap)
        if made:
            yield length == "deep", made


def _socket(f: Fastener, drawer: _Drawer, drive: str, length: str, gap: float) -> _Bit | None:
    """A socket on a nut; None where the stud's end bottoms in it."""
    row = drawer.take("hand_socket", drive, "socket")
    tabled = drawer.tables.across_flats("hand_socket_d1", f.across_flats)
    if tabled is not None and tabled.get(drive):
        drawer.note(tabled, "socket")
    wide = drawer.tables.socket_width(drive, f.across_flats)
    long = float(row[length])
    hollow = long * float(drawer.take("socket_inside", "bolt_depth", "socket")["of_length"])
    foot = f.rim + gap
    if f.tip - foot > hollow:
        return None
    radius, top = wide / 2, max(wide, float(row["d2"])) / 2
    parts = (
        Frustum(foot, radius, foot + hollow, top),
        Frustum(foot + hollow, top, foot + long, top),
    )
    on = (Frustum(foot + long, top, foot + long + f.tip - f.rim, top),)
    name = f"{units.across_flats(f.across_flats)} {'deep ' if length == 'deep' else ''}socket"
    return _Bit(parts, on, foot + long, name, drawer.names())


def _driven(tables: Catalogue, drive: str, bit: _Bit, joint: str) -> Iterator[Tool]:
    """A socket turned by a ratchet: straight, or with a wobble extension or a swivel joint."""
    drawer = _Drawer(tables, dict.fromkeys(bit.assumed))
    inch = str(tables.row("tools", "square_drive", drive)["inch"])
    need = drawer.value("min_swing", "ratchet", "swing")
    extension = drawer.take("extension", drive, "extension")
    radius = float(extension["d_max"]) / 2
    lengths = [float(x) for x in extension["lengths"]]
    pivot, begin, seat = bit.top, 0.0, bit.parts
    knee: tuple[Frustum, ...] = ()
    tilts: tuple[float, ...] = (0.0,)
    if joint == "wobble":
        tilts = _steps(drawer.take("wobble", "angle", "wobble")["usable"])
    elif joint == "swivel":
        row = drawer.take("universal_joint", drive, "swivel joint")
        half, r = float(row["length"]) / 2, float(row["d"]) / 2
        seat = (*seat, Frustum(pivot, r, pivot + half, r))
        knee = (Frustum(0.0, 0.0, 0.0, 0.0, r), Frustum(0.0, r, half, r))
        pivot, begin = pivot + half, half
        tilts = _steps(row["usable"])
    words = {"": "", "wobble": "wobble ", "swivel": ""}[joint]
    for length in lengths if joint == "wobble" else [0.0, *lengths]:
        top = begin + length
        head, arms = _ratchet(drawer, drive, top)
        shaft = (*knee, *((Frustum(begin, radius, top, radius),) if length else ()), head)
        name = f"{inch} ratchet, {f'{length:g} mm {words}extension, ' if length else ''}"
        name += f"{'swivel joint, ' if joint == 'swivel' else ''}{bit.name}"
        names = tuple(n for n in drawer.names() if length or n != "extension")
        yield Tool(name, seat, bit.on, arms, need, inch, ratchet=True, extension=length, pivot=pivot, shaft=shaft, tilts=tilts, assumed=names)  # fmt: skip


def _ratchet(drawer: _Drawer, drive: str, z: float) -> tuple[Frustum, tuple[Arm, ...]]:
    """A ratchet's head on top of the shaft, and its handle with a fist round the end."""
    row = drawer.take("ratchet", drive, "ratchet head")
    fist = drawer.take("hand", "fist_on_handle", "hand")
    r, hand = float(row["head_d"]) / 2, float(fist["radius"])
    top, mid = z + float(row["head_h"]), z + float(row["head_h"]) / 2
    length = float(row["length"])
    grip = max(length - float(fist["length"]), 0.0)
    grip_r = float(row["grip_r"])
    arms = (
        Arm(0.0, mid, grip, mid, float(row["neck_r"])),
        Arm(grip, mid, length - grip_r, mid, grip_r),
        Arm(min(grip + hand, length - hand), mid, length - hand, mid, hand),
    )
    return Frustum(z, r, top, r), arms


def _wrenches(f: Fastener, tables: Catalogue) -> Iterator[Tool]:
    """Ratcheting ring, ring and open-ended spanners, each long and stubby."""
    s = f.across_flats
    gap = float(tables.row("tools", "room", "seat")["value"])
    foot = f.rim + gap
    over = f.tip - f.rim  # how high a ring is lifted over the stud's end
    for kind in ("ratcheting ring", "ring", "open-ended"):
        for stubby in (False, True):
            drawer = _Drawer(tables)
            which = "stubby_length" if stubby else "length"
            long = drawer.by_size("combination_wrench", which, s, "spanner length")
            name = f"{units.across_flats(s)} {'stubby ' if stubby else ''}{kind} spanner"
            if kind == "open-ended":
                yield _open_end(s, drawer, foot, long, name)
                continue
            if kind == "ring":
                tabled = tables.across_flats("box_wrench", s)
                if tabled is not None:
                    d, t = float(drawer.note(tabled, "ring spanner")["od_max"]), float(tabled["t"])
                else:
                    d = drawer.by_size("box_wrench", "fit", s, "ring spanner")
                    t = drawer.by_size("combination_wrench", "ring_thickness", s, "ring spanner")
                lean = math.radians(drawer.value("combination_wrench", "ring_offset", "ring spanner offset"))
                need = drawer.value("min_swing", "ring_12pt", "swing")
            else:
                d = drawer.by_size("ratcheting_ring", "od", s, "ratcheting ring spanner")
                t = drawer.by_size("ratcheting_ring", "thickness", s, "ratcheting ring spanner")
                lean, need = 0.0, drawer.value("min_swing", "ratchet", "swing")
            reach, mid = long - d / 2 - t / 2, foot + t / 2
            arm = Arm(0.0, mid, reach * math.cos(lean), mid + reach * math.sin(lean), t / 2, lift=over)
            seat, on = (
                (Frustum(foot, d / 2, foot + t, d / 2),),
                (Frustum(foot + t, d / 2, foot + t + over, d / 2),),
            )
            yield Tool(name, seat, on, (arm,), need, assumed=drawer.names())


def _open_end(s: float, drawer: _Drawer, foot: float, long: float, name: str) -> Tool:
    """An open end, slid on from the side by the width of the nut, flipped after each swing."""
    width = drawer.by_size("combination_wrench", "open_width", s, "open-ended spanner")
    t = drawer.by_size("combination_wrench", "open_thickness", s, "open-ended spanner")
    head = Arm(0.0, foot, 0.0, foot + t, width / 2, slide=s, flat=True)
    mid = foot + t / 2
    bar = Arm(0.0, mid, long - width / 2 - t / 2, mid, t / 2, slide=s)
    need = drawer.value("min_swing", "open_15_flipped", "swing")
    return Tool(name, (), (), (head, bar), need, assumed=drawer.names())


def _keys(f: Fastener, tables: Catalogue) -> Iterator[Tool]:
    """A hexagon key by either arm."""
    key = tables.across_flats("hex_key", f.key)
    if key is None:
        return
    r = f.key / math.sqrt(3)
    for arm_in, handle in (("short", "long"), ("long", "short")):
        drawer = _Drawer(tables)
        row = drawer.note(key, "hex key")
        into = _depth(f, drawer)
        low = f.top - into
        top = low + float(row[arm_in]) - r
        bar = Arm(0.0, top, float(row[handle]) - 2 * r, top, r, lift=into)
        need = drawer.value("min_swing", "ring_6pt", "swing")
        seat, on = (Frustum(low, r, top, r),), (Frustum(top, r, top + into, r),)
        yield Tool(
            f"{units.across_flats(f.key)} hex key, {arm_in} arm in",
            seat,
            on,
            (bar,),
            need,
            assumed=drawer.names(),
        )


def _impact(f: Fastener, tables: Catalogue) -> Iterator[Tool]:
    """Impact sockets straight on an impact wrench; it needs no swing, only room for its grip."""
    gap = float(tables.row("tools", "room", "seat")["value"])
    for drive in tables.table("tools", "impact_socket"):
        for length in ("regular", "deep"):
            drawer = _Drawer(tables)
            row = drawer.take("impact_socket", drive, "impact socket")
            long = float(row[length])
            hollow = long * float(drawer.take("socket_inside", "bolt_depth", "socket")["of_length"])
            foot = f.rim + gap
            if f.tip - foot > hollow:
                continue
            r = (float(row["per_s"]) * f.across_flats + float(row["plus"])) / 2
            gun = drawer.take("impact_wrench", drive, "impact wrench")
            body, back = float(gun["body_d"]) / 2, float(gun["length"])
            top = foot + long
            grip = Arm(
                0.0, float(gun["grip_at"]), float(gun["grip"]), float(gun["grip_at"]), float(gun["grip_r"])
            )
            inch = str(tables.row("tools", "square_drive", drive)["inch"])
            name = f"{inch} impact wrench, {units.across_flats(f.across_flats)} {'deep ' if length == 'deep' else ''}impact socket"
            seat, on = (Frustum(foot, r, top, r),), (Frustum(top, r, top + f.tip - f.rim, r),)
            shaft = (Frustum(0.0, body, back, body),)
            yield Tool(name, seat, on, (grip,), 0.0, inch, pivot=top, shaft=shaft, assumed=drawer.names())


def _depth(f: Fastener, drawer: _Drawer) -> float:
    """How deep a key sits in a socket head."""
    return (f.top - f.seat) * float(drawer.take("hex_key", "depth", "hex key")["of_head"])


def _steps(greatest: float) -> tuple[float, ...]:
    return tuple(float(greatest) * k for k in _THIRDS)
