"""A collector's inlets on the mill: two cuts each, given by tilt and roll, then one flat cut.

Both bisector planes hold the collector's axis, so each crosses an inlet's centreline where all axes meet,
the apex. With h = π/N, r the tube's radius and γ the half angle (all closed forms):

    tilt of the plane to the tube      δ = asin(sin γ sin h)
    roll from the line nearest the collector's axis      ±ψ = atan2(cos h, sin h cos γ)
    scallop's bottom before the apex   r / tan δ          centre point before the apex   r / tan γ

Set-up: the tube's cut end up by δ, so that the cut lies level. The back line is the line farthest from the
collector's axis, the inside line the one opposite. Rolled until the inside line stands ψ to one side of
the top, milled down to the plane; turned by 2 ψ, milled down again.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from manifoldgen.access.hands import Hands
from manifoldgen.geometry.vectors import array, cos_sin
from manifoldgen.manifold.model import Collector, Manifold, Piece, Section
from manifoldgen.manifold.seams import star_depth, touch_depth
from manifoldgen.pieces.blanks import blank_of, nested, square
from manifoldgen.pieces.hub import leg_length
from manifoldgen.shop import developed
from manifoldgen.shop.cautions import codes_first, hazard_line
from manifoldgen.shop.cuts import CutRow
from manifoldgen.shop.inlets import (
    back_of,
    corners,
    crotches,
    edge,
    ring_from_datum,
)
from manifoldgen.shop.seam_order import InnerSeam, SeamStep, inner_seams, seam_steps
from manifoldgen.shop.tubes import back_line, run_of, turn_of
from manifoldgen.shop.wrap import Datum


@dataclass(frozen=True)
class MillInlet:
    """One inlet on the mill; lengths in mm along its centreline from its square end.

    blank : tube to saw off first.  extra : of it ahead of the joint's line, to hold on to.  left_on : of that, what stays
        on after milling: shrink, and what is trimmed on the jig.
    apex : where both planes cross the centreline (beyond the tube).  scallop : the scallops' bottoms.
    star : the point of the tube on the line nearest the axis.  flat : the flat cut on the centreline.
    back : the flat cut on the back line.  longest : the tube's farthest point.  clamp : straight left to hold, square end to scallop, without `extra`.
    infeed : how deep the cutter goes from first touch on the blank's end.
    right, left : joints on the 90° and on the 270° side.
    bend_at : degrees from the back line to the back of the bend before it; None without one.
    datum : what the lengths start from.
    """

    cylinder: int
    piece: str
    datum: Datum
    blank: float
    extra: float
    left_on: float
    apex: float
    scallop: float
    star: float
    flat: float
    back: float
    longest: float
    clamp: float
    infeed: float
    right: str
    left: str
    bend_at: float | None


@dataclass(frozen=True)
class MillSheet:
    """Everything the mill needs to know about one collector.

    tilt, roll, turn : δ, ψ and 2 ψ, degrees (0 for a bundle: flat cut only; two inlets: one cut, roll 0).
    flat_cut : degrees of the flat cut from square.  half_step : 180/N, the rotary table's angle.
    apex, scallop, star, flat : mm along an inlet from the ring plane.
    star_depth, scallop_depth : below the flat cut, mm along the collector's axis.
    opening : clear width of the lumens at the flat cut, mm.  deep : the star lies deeper than the shop's limit.
    grip, spare, collar, pass_depth : mm, from the catalogue: straight tube held, tube between cutter and vice, what the
    nest's index collar takes.
    """

    name: str
    kind: Literal["merge", "bundle"]
    section: Section
    count: int
    half_angle: float
    tilt: float
    roll: float
    turn: float
    flat_cut: float
    half_step: float
    apex: float
    scallop: float
    star: float
    flat: float
    star_depth: float
    scallop_depth: float
    opening: float
    deep: bool
    grip: float
    spare: float
    collar: float
    pass_depth: float
    inlets: tuple[MillInlet, ...]
    inner: tuple[InnerSeam, ...]
    steps: tuple[SeamStep, ...]
    cautions: tuple[str, ...]


def tilt(half_angle: float, inlets: int) -> float:
    """Degrees between a bisector plane and an inlet's axis."""
    return math.degrees(math.asin(cos_sin(half_angle)[1] * math.sin(math.pi / inlets)))


def roll(half_angle: float, inlets: int) -> float:
    """Degrees from the inside line to the top in the set-up: half the turn between an inlet's two cuts."""
    h = math.pi / inlets
    return 0.0 if inlets == 2 else math.degrees(math.atan2(math.cos(h), math.sin(h) * cos_sin(half_angle)[0]))


def mill_sheets(m: Manifold, cuts: Sequence[CutRow], hands: Hands | None = None) -> tuple[MillSheet, ...]:
    """One sheet a collector, its inlets in ring order; inlets whose runner has no path yet are left out.

    cuts : the cut list.  hands : what the torch reaches, for the inner seams' reachable length; None leaves it open.
    """
    left_on = {row.piece: row.left_on for row in cuts}
    return tuple(_sheet(m, c, left_on, hands) for c in m.collectors)


def _sheet(m: Manifold, c: Collector, left_on: Mapping[str, float], hands: Hands | None) -> MillSheet:
    n, g, r = len(c.order), c.half_angle, c.section.radius
    cg, sg = cos_sin(g)
    row = _figures(m)
    merge = c.kind == "merge"
    held = {p.inlet: p for p in m.pieces if p.inlet in c.order}
    opening = 2 * (c.ring_radius - c.merge_depth * sg / cg + c.section.bore_radius / cg)
    star = c.merge_depth - star_depth(c) if merge and n > 2 else 0.0
    bottom = c.merge_depth - touch_depth(c) if merge else 0.0
    apex = c.ring_radius / sg if merge else 0.0
    delta = tilt(g, n) if merge else 0.0
    psi = roll(g, n) if merge else 0.0
    numbers = [k for k in c.order if k in held and not square(c)]
    inner = inner_seams(m, c, hands)
    return MillSheet(
        name=m.part_name(c),
        kind=c.kind,
        section=c.section,
        count=n,
        half_angle=g,
        tilt=delta,
        roll=psi,
        turn=2 * psi,
        flat_cut=g,
        half_step=180.0 / n,
        apex=apex,
        scallop=apex - r / math.tan(math.radians(delta)) if merge else 0.0,
        star=apex - r * cg / sg if merge else 0.0,
        flat=leg_length(c),
        star_depth=star,
        scallop_depth=bottom,
        opening=opening,
        deep=star > row["star_depth_most"] * opening,
        grip=row["grip"],
        spare=row["spare"],
        collar=row["collar"] if nested(m, c) else 0.0,
        pass_depth=row["pass"],
        inlets=tuple(_inlet(m, c, held[k], left_on[held[k].id]) for k in numbers),
        inner=inner,
        steps=seam_steps(m, c, hands),
        cautions=_cautions(m, c, row["pass"]),
    )  # fmt: skip


def _inlet(m: Manifold, c: Collector, piece: Piece, kept: float) -> MillInlet:
    row, number = _figures(m), piece.inlet
    ring, datum = ring_from_datum(m, piece)
    delta = tilt(c.half_angle, len(c.order)) if c.kind == "merge" else 0.0
    cut = ring + edge(c, developed.turns(720, *corners(c)), c.section.radius)
    apex = ring + (c.ring_radius / cos_sin(c.half_angle)[1] if c.kind == "merge" else 0.0)
    blank = blank_of(m, c)
    bottom = ring + blank.scallop
    longest = ring + blank.longest
    left_on = kept if datum.square else 0.0
    extra = blank.held(ring, left_on) if datum.square else 0.0
    end = blank.from_line(ring)
    run, pose = run_of(m, piece), c.inlet(number)
    line = back_line(run.path, run.path.length) if run.path else None
    sides = {at < 180.0: name for at, name in crotches(m, c, number)}
    return MillInlet(
        cylinder=number,
        piece=piece.id,
        datum=datum,
        blank=end + extra,
        extra=extra,
        left_on=left_on,
        apex=apex,
        scallop=bottom,
        star=apex - c.section.radius / math.tan(math.radians(c.half_angle)) if c.kind == "merge" else bottom,
        flat=ring + leg_length(c),
        back=float(cut[0]),
        longest=longest,
        clamp=bottom - row["spare"],
        infeed=(end - bottom) * math.sin(math.radians(delta)),
        right=sides.get(True, ""),
        left=sides.get(False, ""),
        bend_at=None if line is None else turn_of(line, back_of(c, number), array(pose.direction)),
    )


def _figures(m: Manifold) -> dict[str, float]:
    names = ("grip", "pass", "spare", "collar", "star_depth_most")
    return {k: float(m.tables.row("shop", "mill", k)["value"]) for k in names}


def _cautions(m: Manifold, c: Collector, depth: float) -> tuple[str, ...]:
    merge = c.kind == "merge"
    said = [
        hazard_line(m.tables, "mill" if merge else "saw"),
        "Clamp thin tube on the full round in V-blocks, with a plug of wood or aluminium in it.",
    ]
    if merge:
        said += [
            f"Light passes of {depth:g} mm, climb milling: the cut is long and shallow, the wall {c.section.wall:g} mm.",
            "The edge ends like a knife.",
        ]
    return (*said, codes_first(m.tables))
