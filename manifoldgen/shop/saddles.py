"""Templates for branches where they stand on their parent: on a bend, on a straight beside it, on the cone."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from manifoldgen.errors import GeometryError
from manifoldgen.geometry.path import Arc, Path
from manifoldgen.geometry.pose import Frame
from manifoldgen.geometry.vectors import Array, array, cos_sin, unit, vec
from manifoldgen.manifold.model import Branch, Collector, Manifold, Piece, Run
from manifoldgen.shop import developed, leaving
from manifoldgen.shop.inlets import STEPS
from manifoldgen.shop.tubes import begins, straight_at_start
from manifoldgen.shop.wrap import Wrap, WrapMark

_STEEP = 45.0  # degrees of aim from which the branch's back line is named after the flow


def branch_wraps(m: Manifold, paper: float) -> list[Wrap]:
    """One template for every branch whose piece is known."""
    made = []
    for b in m.branches:
        piece = next((p for p in m.pieces if p.part == b.run.name and begins(b.run, p)), None)
        if piece is not None and piece.path is not None:
            made.append(_saddle(m, b, piece, piece.path, paper))
    return made


def branch_frame(m: Manifold, b: Branch) -> Frame:
    """Axes at a branch's root: z along its axis, x to its back line.

    The back line lies in the plane of bend (or cone axis) and branch: away from the bend's centre where
    the branch runs straight on, upstream where it stands square to the flow.
    """
    axis = array(b.axis)
    c, s = cos_sin(b.aim)
    parent = parent_of(m, b)
    if parent is not None:
        arc = parent.bend
        back = s * -array(arc.direction) + c * array(arc.radial)
    else:
        along = array(m.collectors[0].frame.z)
        back = (c * axis - along) / s if s > 1e-6 else _outward(m.collectors[0], array(b.root))
    back = unit(back - float(back @ axis) * axis)
    return Frame(b.root, vec(back), vec(np.cross(axis, back)), vec(axis))


@dataclass(frozen=True)
class Parent:
    """What a branch off a bend stands on."""

    run: Run
    path: Path
    bend: Arc


def parent_of(m: Manifold, b: Branch) -> Parent | None:
    """The run a branch leaves and its bend; None for a branch off the cone."""
    if b.element is None:
        return None
    run = next((r for r in m.runs if r.name == b.takeoff), None)
    path = run.path if run is not None else None
    arc = path.segments[b.element] if path is not None else None
    if run is None or path is None or not isinstance(arc, Arc):
        raise GeometryError(f"{b.run.name}: element {b.element + 1} of the {b.takeoff} is no bend to leave")
    return Parent(run, path, arc)


def leaves(m: Manifold, b: Branch, frame: Frame, phi: Array, radius: float) -> Array:
    """How far from the branch's root its lines at `radius` leave the parent's outside, mm.

    Raises GeometryError where a line does not leave it.
    """
    turn = np.radians(phi)
    ring = np.stack([radius * np.cos(turn), radius * np.sin(turn), np.zeros_like(turn)], axis=1)
    origins = frame.out(ring)
    parent = parent_of(m, b)
    if parent is None:
        s = leaving.from_cone(m.collectors[0], origins, array(b.axis))
        return leaving.checked(s, phi, b.run.name, "cone")
    reach = b.wall_length + 4 * b.run.section.radius
    s = leaving.from_tube(parent.path.segments, parent.run.section.radius, origins, array(b.axis), reach)
    return leaving.checked(s, phi, b.run.name, b.takeoff)


def _saddle(m: Manifold, b: Branch, piece: Piece, path: Path, paper: float) -> Wrap:
    frame, phi = branch_frame(m, b), developed.turns(STEPS)
    section = b.run.section
    outside = leaves(m, b, frame, phi, section.radius)
    inside = leaves(m, b, frame, phi, section.bore_radius)
    straight = straight_at_start(path)
    end, datum = b.wall_length + straight, "start of the bend"
    if straight > path.length - 1e-6:
        datum = f"square end {piece.joints[-1]}"
        whole = b.run.path or path
        if abs(whole.length - path.length) < 1e-6 and m.wastegate_flange is not None:
            end += m.wastegate_flange.seat_depth
    at = array(b.root) + end * array(b.axis)
    back = "upstream" if b.aim > _STEEP else "outside of the bend" if b.element is not None else "outside"
    front = "downstream" if b.aim > _STEEP else "throat side" if b.element is not None else "inside"
    marks = (
        WrapMark(0.0, f"0° back: {back}"),
        WrapMark(90.0, "90°"),
        WrapMark(180.0, f"180° {front}"),
        WrapMark(270.0, "270°"),
    )
    return Wrap(
        name=f"{b.run.name} on the {b.takeoff}",
        kind="saddle",
        pieces=(piece.id,),
        joints=(piece.joints[0],),
        section=section,
        phi=phi,
        outside=outside - end,
        inside=inside - end,
        cut=np.maximum(outside, inside) - end,
        waste="upstream",
        datum=datum,
        frame=Frame(vec(at), frame.x, frame.y, frame.z),
        marks=marks,
        paper=paper,
        notes=("cut straight through the wall, square to the tube's axis",),
    )


def _outward(c: Collector, point: Array) -> Array:
    x, y, _ = c.frame.into(point)
    return array(c.frame.turn((x, y, 0.0)))
