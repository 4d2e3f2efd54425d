"""What stands on a flange at every stud: washer, nut or head, and the stud's end; heights above the face.

0 ──washer── seat ──nut── top ──── tip
"""

from __future__ import annotations

from dataclasses import dataclass

from manifoldgen.access.pack import rod
from manifoldgen.catalogue import Catalogue
from manifoldgen.geometry.vectors import Array, array
from manifoldgen.manifold.model import Stud


@dataclass(frozen=True)
class Assumed:
    """A size that nobody gave or measured.  what : its name.  stud : id of the stud whose size it is, or empty."""

    what: str
    stud: str = ""

    @property
    def words(self) -> str:
        """As the report names it: ``bolt length T1``, ``ratchet head``."""
        return f"{self.what} {self.stud}" if self.stud else self.what


@dataclass(frozen=True)
class Fastener:
    """A nut or a head in place, mm above the flange face.

    seat : underside of nut or head.  rim : top of a flange nut's flange (= seat without one).
    top : of nut or head.  tip : of the stud (= top where nothing stands out).
    across_flats : of the hexagon a tool takes from outside, 0 for a socket head.  key : hexagon inside, 0 without.
    radius : of the circle that holds nut, head and washer.  body : of the nut or head alone.
    shank : length of a bolt below its head, 0 for a stud.  assumed : sizes that nobody gave.
    """

    seat: float
    rim: float
    top: float
    tip: float
    across_flats: float
    key: float
    radius: float
    body: float
    shank: float = 0.0
    assumed: tuple[Assumed, ...] = ()


def fastener(stud: Stud, tables: Catalogue, grip: float = 0.0) -> Fastener:
    """The nut or head of a stud, from the catalogue.

    grip : what a bolt clamps, mm, for a bolt whose length is not given.

    A stud whose length is not given ends where good practice wants it: `stud_protrusion.design_default` threads
    above the nut. A bolt whose length is not given is taken to engage as deep as it is thick.
    """
    washer = tables.washer(stud.thread) if stud.washer else None
    seat = washer.thickness if washer else 0.0
    if stud.kind == "stud":
        nut = tables.nut(stud.nut or "hex", stud.thread)
        rim = seat + nut.rim
        top = seat + nut.height
        threads = tables.row("fasteners", "stud_protrusion", "design_default")["range"][1]
        assumed = () if stud.tip > 0 else (Assumed("stud length", stud.id),)
        tip = stud.tip if stud.tip > 0 else top + threads * tables.thread(stud.thread).pitch
        wide = max(nut.diameter, washer.od if washer else 0.0) / 2
        return Fastener(
            seat, rim, top, max(tip, top), nut.across_flats, 0.0, wide, nut.diameter / 2, 0.0, assumed
        )
    head = tables.head(stud.kind, stud.thread)
    top = seat + head.height
    wide = max(head.diameter, washer.od if washer else 0.0) / 2
    shank = stud.tip if stud.tip > 0 else grip + tables.thread(stud.thread).diameter
    assumed = () if stud.tip > 0 else (Assumed("bolt length", stud.id),)
    return Fastener(
        seat, seat, top, top, head.across_flats or 0.0, head.key or 0.0, wide, head.diameter / 2, shank, assumed
    )  # fmt: skip


def rows(stud: Stud, tables: Catalogue) -> tuple[Array, ...]:
    """Washer, nut or head, and stud end as solids (hexagons as the round that holds them)."""
    f = fastener(stud, tables)
    at, axis = array(stud.at), array(stud.axis)

    def disc(low: float, high: float, radius: float) -> Array:
        return rod(at + low * axis, at + high * axis, radius)

    made = [disc(f.seat, f.top, f.body)]
    if f.seat > 0:
        made.append(disc(0.0, f.seat, f.radius))
    if f.tip > f.top:
        made.append(disc(f.top, f.tip, tables.thread(stud.thread).diameter / 2))
    return tuple(made)
