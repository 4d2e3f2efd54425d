"""Templates for a collector's inlets: both mitres and the flat cut of a merge collector, the flat cut of a plate collector."""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np

from manifoldgen.geometry.path import Path
from manifoldgen.geometry.pose import Frame
from manifoldgen.geometry.vectors import Array, array, cos_sin, vec
from manifoldgen.manifold.model import Collector, Joint, Manifold, Piece, Run
from manifoldgen.shop import developed
from manifoldgen.shop.tubes import (
    SQUARE,
    back_line,
    begins,
    head_cut,
    run_of,
    straight_at_end,
    turn_of,
)
from manifoldgen.shop.wrap import Datum, Wrap, WrapMark

STEPS = 1440  # even steps round a tube: a quarter of a degree


def inlet_wraps(m: Manifold, lines: Mapping[str, float | None], paper: float) -> list[Wrap]:
    """One template for every inlet whose piece is known and whose end is not square.

    lines : by piece, mm from the sawn end to the line that the lengths start from; None where nothing is milled.
    """
    made = []
    for c in m.collectors:
        if c.kind == "bundle" and c.half_angle < SQUARE:
            continue
        pieces = {p.inlet: p for p in m.pieces if p.inlet in c.order}
        made += [
            _inlet(m, c, pieces[number], lines[pieces[number].id], paper)
            for number in c.order
            if number in pieces
        ]
    return made


def _inlet(m: Manifold, c: Collector, piece: Piece, line: float | None, paper: float) -> Wrap:
    number = piece.inlet
    ring, datum = ring_from_datum(m, piece)
    r, bore = c.section.radius, c.section.bore_radius
    phi = developed.turns(STEPS, *corners(c))
    pose = c.inlet(number)
    back = back_of(c, number)
    at = array(pose.at) - ring * array(pose.direction)
    frame = Frame(vec(at), vec(back), vec(np.cross(pose.direction, back)), pose.direction)
    outside = ring + edge(c, phi, r)
    marks = [WrapMark.side(0.0, "back", "outermost"), WrapMark.side(180.0, "towards the axis")]
    neighbours = _neighbours(c, number)
    if c.kind == "merge" and len(c.order) > 2:
        marks += [WrapMark.side(90.0, f"to {neighbours[0]}"), WrapMark.side(270.0, f"to {neighbours[1]}")]
    else:
        marks += [WrapMark.side(90.0), WrapMark.side(270.0)]
    marks += [WrapMark(at, "joint", name) for at, name in crotches(m, c, number)]
    run = run_of(m, piece)
    marks += _bend_mark(run, back, array(pose.direction))
    return Wrap(
        name=f"inlet of cylinder {number}",
        kind="inlet" if c.kind == "merge" else "mitre",
        pieces=(piece.id,),
        joints=tuple(piece.joints[1:]),
        section=c.section,
        phi=phi,
        outside=outside,
        inside=ring + edge(c, phi, bore),
        cut=outside,
        waste="downstream",
        datum=_scribed(line, datum),
        frame=frame,
        marks=tuple(marks),
        paper=paper,
        notes=("flat cuts: follow the planes, not square to the wall",),
    )


def _scribed(line: float | None, datum: Datum) -> Datum:
    """The datum as it is found on the blank: a square end has tube ahead of it until the cut is made."""
    return datum if line is None else Datum("line", datum.joint, line)


def edge(c: Collector, phi: Array, radius: float) -> Array:
    """An inlet's cut at a radius of its tube, mm along the inlet from the ring plane."""
    if c.kind == "bundle":
        return developed.flat(phi, radius, c.half_angle, c.merge_depth)
    return developed.inlet(
        phi,
        radius,
        inlets=len(c.order),
        half_angle=c.half_angle,
        ring=c.ring_radius,
        depth=c.merge_depth,
    )


def back_of(c: Collector, number: int) -> Array:
    """The direction from an inlet's centreline to its back line: the line farthest from the collector's axis."""
    pose = c.inlet(number)
    outward = array(pose.at) - array(c.frame.at)
    d = array(pose.direction)
    back = outward - float(outward @ d) * d
    return array(back / np.linalg.norm(back))


def ring_from_datum(m: Manifold, piece: Piece) -> tuple[float, Datum]:
    """How far downstream of a piece's datum the ring plane lies, mm, and what the datum is."""
    path, run = piece.path or Path(run_of(m, piece).start, ()), run_of(m, piece)
    straight, first = straight_at_end(path), piece.joints[0]
    if straight < path.length - 1e-6:
        return straight, Datum("bend end")
    if not (begins(run, piece) and run.kind == "runner"):
        return straight, Datum("end", first)
    head = head_cut(m, run)
    long_side = piece.section.radius * math.tan(math.radians(head.tilt))
    return straight + head.sunk - head.formed + long_side, Datum("end", first)


def corners(c: Collector) -> tuple[float, ...]:
    """Where the curve of an inlet has corners, degrees: on the star's line and where the flat cut takes over."""
    if c.kind == "bundle":
        return ()
    phi = np.linspace(0.0, 180.0, 3601)
    sides = c.ring_radius / cos_sin(c.half_angle)[1] + developed.bisectors(
        phi, c.section.radius, len(c.order), c.half_angle
    )
    gap = sides - developed.flat(phi, c.section.radius, c.half_angle, c.merge_depth)
    found = [180.0]
    for k in np.flatnonzero(np.diff(np.sign(gap)) != 0):
        at = float(phi[k] - gap[k] * (phi[k + 1] - phi[k]) / (gap[k + 1] - gap[k]))
        found += [at, 360.0 - at]
    return tuple(found)


def scallop(c: Collector) -> float:
    """Degrees from the back line to the bottom of each scallop: atan2(cot h, -cos γ), h = π/N (closed form)."""
    n = len(c.order)
    cot = 0.0 if n == 2 else 1 / math.tan(math.pi / n)
    return math.degrees(math.atan2(cot, -cos_sin(c.half_angle)[0]))


def crotches(m: Manifold, c: Collector, number: int) -> list[tuple[float, str]]:
    """Where the scallops' bottoms lie, degrees from the back line, and the crotch joint there."""
    if c.kind == "bundle" or len(c.order) == 2:
        return []
    k = c.order.index(number)
    held = {p.inlet: p.id for p in m.pieces if p.inlet}
    at, made = scallop(c), []
    for step, turn in ((1, at), (-1, 360.0 - at)):
        other = c.order[(k + (-step if c.mirror else step)) % len(c.order)]
        name = _joint(m.joints, held.get(number), held.get(other))
        if name:
            made.append((turn, name))
    return made


def _joint(joints: tuple[Joint, ...], one: str | None, other: str | None) -> str | None:
    pair = {one, other}
    return next((j.id for j in joints if j.kind == "crotch" and set(j.between) == pair), None)


def _neighbours(c: Collector, number: int) -> tuple[str, str]:
    k, n = c.order.index(number), len(c.order)
    right, left = c.order[(k + 1) % n], c.order[k - 1]
    pair = (left, right) if c.mirror else (right, left)
    return f"cyl. {pair[0]}", f"cyl. {pair[1]}"


def _bend_mark(run: Run, back: Array, along: Array) -> list[WrapMark]:
    """Where the back line of the bend before the inlet comes to lie on it."""
    line = back_line(run.path, run.path.length) if run.path else None
    if line is None:
        return []
    return [WrapMark.bend(turn_of(line, back, along), "before")]
