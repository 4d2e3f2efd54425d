"""How much gas is inside the pieces: what a purge has to push out, mm³."""

from __future__ import annotations

import math
from collections.abc import Collection

from manifoldgen.manifold.collector_volume import cone_bore, inlet_bore, lid_bore
from manifoldgen.manifold.model import Manifold, Piece

LITRE = 1e6  # mm³


def piece_bore(m: Manifold, piece: Piece) -> float:
    """Gas inside one piece, mm³: π ID²/4 times its centreline (exact for bends too: Pappus), with its inlet.

    A branch's foot inside the parent's wall is left out.
    """
    if piece.path is None:
        collector = m.collector_of(piece.owner)
        if collector is None:
            return 0.0
        return cone_bore(collector) if piece.role == "cone" else lid_bore(collector)
    straight = math.pi * piece.section.bore_radius**2 * piece.path.length
    return straight + (_leg(m, piece) if piece.inlet else 0.0)


def flange_bore(m: Manifold, name: str) -> float:
    """Gas inside one flange's openings, mm³; the head flange counts one port's share for each of them."""
    flange = next(f for f in m.flanges if f.name == name)
    return sum(o.contour.area for o in flange.openings) * flange.thickness


def litres(m: Manifold, pieces: Collection[str], closed: Collection[str]) -> float:
    """Gas inside connected pieces and the flange openings that are welded to them, litres.

    closed : ids of the joints that are held, tacked or welded.
    """
    inside = sum(piece_bore(m, p) for p in m.pieces if p.id in pieces)
    shares = {f.name: flange_bore(m, f.name) / max(len(f.openings), 1) for f in m.flanges}
    for joint in m.joints:
        if joint.id in closed and joint.kind == "flange" and set(joint.between) & set(pieces):
            inside += sum(shares.get(name, 0.0) for name in joint.between)
    return inside / LITRE


def _leg(m: Manifold, piece: Piece) -> float:
    collector = next((c for c in m.collectors if piece.inlet in c.order), None)
    return inlet_bore(collector) if collector else 0.0
