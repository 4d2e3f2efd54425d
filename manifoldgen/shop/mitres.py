"""Templates for tubes that lean on the head flange: a flat cut at the runner's start."""

from __future__ import annotations

import math

import numpy as np

from manifoldgen.geometry.path import Path
from manifoldgen.geometry.pose import Frame
from manifoldgen.geometry.vectors import array, unit, vec
from manifoldgen.manifold.model import Manifold, Piece, Run
from manifoldgen.shop import developed
from manifoldgen.shop.inlets import STEPS
from manifoldgen.shop.tubes import begins, head_cut, next_back_line, turn_of
from manifoldgen.shop.wrap import Datum, Wrap, WrapMark


def head_wraps(m: Manifold, paper: float) -> list[Wrap]:
    """One template for every runner that leaves the head flange at an angle, on a tube that is not formed."""
    made = []
    for run in m.runners:
        first = next((p for p in m.pieces if p.part == run.name and begins(run, p)), None)
        if run.path is not None and first is not None and head_cut(m, run).tilt:
            made.append(_start(m, run, run.path, first, paper))
    return made


def _start(m: Manifold, run: Run, path: Path, piece: Piece, paper: float) -> Wrap:
    head = head_cut(m, run)
    along, up = array(run.start.direction), array(m.head.frame.z)
    back = unit(float(up @ along) * along - up)  # the side the tube leans to: the short side
    r, bore = run.section.radius, run.section.bore_radius
    low = r * math.tan(math.radians(head.tilt))
    at = array(run.start.at) - (head.sunk + low) * along
    phi = developed.turns(STEPS)
    outside = low + developed.mitre(phi, r, head.tilt)
    marks = [
        WrapMark.side(0.0, "back", "leans to this side, short"),
        WrapMark.side(90.0),
        WrapMark.side(180.0, "long side"),
        WrapMark.side(270.0),
    ]
    line = next_back_line(path)
    if line is not None:
        marks.append(WrapMark.bend(turn_of(line, back, along), "behind"))
    return Wrap(
        name=f"{run.name} on the head flange",
        kind="mitre",
        pieces=(piece.id,),
        joints=(piece.joints[0],),
        section=run.section,
        phi=phi,
        outside=outside,
        inside=low + developed.mitre(phi, bore, head.tilt),
        cut=outside,
        waste="upstream",
        datum=Datum("end", piece.joints[0]),
        frame=Frame(vec(at), vec(back), vec(np.cross(along, back)), vec(along)),
        marks=tuple(marks),
        paper=paper,
        notes=(f"flat cut {head.tilt:.1f}° from square; the long side keeps the blank's length",),
    )
