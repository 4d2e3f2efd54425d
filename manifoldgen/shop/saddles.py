"""Templates for branches where they stand on their parent: on a bend, on a straight beside it, on the cone."""

from __future__ import annotations

import numpy as np

from manifoldgen.geometry.path import Path
from manifoldgen.geometry.pose import Frame
from manifoldgen.geometry.vectors import array, vec
from manifoldgen.manifold.model import Branch, Manifold, Piece
from manifoldgen.manifold.mouth import branch_frame, leaves
from manifoldgen.shop import developed
from manifoldgen.shop.inlets import STEPS
from manifoldgen.shop.tubes import begins, straight_at_start
from manifoldgen.shop.wrap import Datum, Wrap, WrapMark

_STEEP = 45.0  # degrees of aim from which the branch's back line is named after the flow


def branch_wraps(m: Manifold, paper: float) -> list[Wrap]:
    """One template for every branch whose piece is known."""
    made = []
    for b in m.branches:
        piece = next((p for p in m.pieces if p.owner == b.run.owner and begins(b.run, p)), None)
        if piece is not None and piece.path is not None:
            made.append(_saddle(m, b, piece, piece.path, paper))
    return made


def _saddle(m: Manifold, b: Branch, piece: Piece, path: Path, paper: float) -> Wrap:
    frame, phi = branch_frame(m, b), developed.turns(STEPS)
    section = b.run.section
    outside = leaves(m, b, frame, phi, section.radius)
    inside = leaves(m, b, frame, phi, section.bore_radius)
    straight = straight_at_start(path)
    end, datum = b.wall_length + straight, Datum("bend start")
    if straight > path.length - 1e-6:
        datum = Datum("end", piece.joints[-1])
        whole = b.run.path or path
        if abs(whole.length - path.length) < 1e-6 and m.wastegate_flange is not None:
            end += m.wastegate_flange.seat_depth
    at = array(b.root) + end * array(b.axis)
    back = "upstream" if b.aim > _STEEP else "outside of the bend" if b.element is not None else "outside"
    front = "downstream" if b.aim > _STEEP else "throat side" if b.element is not None else "inside"
    marks = (
        WrapMark.side(0.0, "back", back),
        WrapMark.side(90.0),
        WrapMark.side(180.0, front),
        WrapMark.side(270.0),
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
