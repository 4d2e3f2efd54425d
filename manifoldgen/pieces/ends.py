"""How far the metal of a run reaches beyond its centreline's ends: sockets, slanted faces, mitres, saddles."""

from __future__ import annotations

import math

from manifoldgen.errors import GeometryError
from manifoldgen.geometry.vectors import Array, array
from manifoldgen.manifold.model import Branch, Flange, Manifold, Run
from manifoldgen.manifold.mouth import mouth_of
from manifoldgen.pieces.part import SLIVER

LEVEL = 1e-6  # mm: less than that is a square end


def past_start(m: Manifold, run: Run) -> float:
    """Metal needed before a run's centreline begins, mm along the tube; 0 at a square end.

    A tube that meets the flange at an angle reaches r tan(tilt) further on one side, one in a socket to its
    floor; a branch's saddle reaches down the sides of its parent.
    """
    branch = next((b for b in m.branches if b.run is run), None)
    past = 0.0
    if branch is not None:
        past = saddle_depth(m, branch)
    elif run.kind == "runner" and m.head.transition == "flange" and run.path is not None:
        past = _on_flange(m.head, run, array(run.path.start.direction))
    return past if past > LEVEL else 0.0


def past_end(m: Manifold, run: Run) -> float:
    """Metal needed after a run's last centreline ends (a runner's: at its inlet's flat cut), mm along the tube."""
    if run.kind == "runner":
        collector = next((c for c in m.collectors if run.number in c.order), None)
        return run.section.radius * math.tan(math.radians(collector.half_angle)) if collector else 0.0
    flange = m.turbo if run.kind == "outlet" else m.wastegate_flange
    return flange.seat_depth if flange else 0.0


def formed(m: Manifold) -> float:
    """Formed tube that a runner begins with and that is no part of the piece sawn for it, mm."""
    return m.head.transition_length if m.head.transition == "tube" else 0.0


def saddle_depth(m: Manifold, branch: Branch) -> float:
    """How far a branch's saddle reaches beyond where its axis leaves the parent's wall, mm along the branch.

    0 while the parent has no path with a bend there.
    """
    try:
        mouth = mouth_of(m, branch)
    except GeometryError:
        return 0.0
    return max(0.0, branch.wall_length - mouth.nearest)


def _on_flange(flange: Flange, run: Run, direction: Array) -> float:
    lean = min(1.0, abs(float(direction @ array(flange.frame.z))))
    if lean <= SLIVER:
        return 0.0
    return (flange.seat_depth + run.section.radius * math.sqrt(1 - lean**2)) / lean
