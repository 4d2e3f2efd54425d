"""The collector's own pieces (transition plate or plate, cone) and its welds on the curves of `manifold.seams`."""

from __future__ import annotations

import math

import numpy as np

from manifoldgen.geometry.vectors import Array, array, cos_sin, unit, vec
from manifoldgen.manifold.model import Collector, Joint, Piece
from manifoldgen.manifold.seams import seam_radius, star_depth, touch_depth


def prefix(collectors: int, name: str) -> str:
    """``C``, or ``CA``, ``CB`` … where there are several collectors."""
    return "C" if collectors == 1 else f"C{name}"


def letters(collector: Collector) -> tuple[str, ...]:
    """A, B, D, … for the neighbours (order[k], order[k + 1]) round the ring; C, L, S are cone, lid and star."""
    return tuple("ABDEFGHIJKMNOPQRTUVWXYZ"[: len(collector.order)])


def lid_id(code: str) -> str:
    """The lid, or the plate of a bundle: a collector's first piece."""
    return f"{code}-P1"


def cone_id(code: str) -> str:
    """The cone: a collector's second piece."""
    return f"{code}-P2"


def pieces(collector: Collector, code: str, part: str, outward: str) -> tuple[Piece, Piece]:
    """Lid (or plate) and cone.  part : what they are listed under.  outward : the weld at the cone's outlet."""
    merge = collector.kind == "merge"
    cone = f"J{code}.C"
    rim = f"J{code}.L" if merge else cone
    return (
        Piece(
            lid_id(code), part, None, collector.section, joints=(rim, cone), role="lid" if merge else "plate",
            owner=collector.owner, number=1,
        ),
        Piece(
            cone_id(code), part, None, collector.outlet, joints=(cone, outward), role="cone",
            owner=collector.owner, number=2,
        ),
    )  # fmt: skip


def leg_length(collector: Collector) -> float:
    """Centreline of an inlet from the ring plane to its flat cut, mm (0 for a bundle)."""
    if collector.kind == "bundle":
        return 0.0
    return collector.merge_depth / math.cos(math.radians(collector.half_angle))


def joints(collector: Collector, code: str, tubes: dict[int, str]) -> list[Joint]:
    """The collector's joints; `tubes` gives the piece that holds each cylinder's inlet.

    A seam's `at` is the middle (by depth) of its branch, `direction` runs along it with the flow.
    """
    made: list[Joint] = []
    r, own = collector.section.radius, collector.owner
    depth = collector.merge_depth
    flat = vec(collector.frame.out((0.0, 0.0, depth)))
    if collector.kind == "merge":
        touch, star = touch_depth(collector), star_depth(collector)
        n = len(collector.order)
        for k, letter in enumerate(letters(collector)):
            pair = (tubes[collector.order[k]], tubes[collector.order[(k + 1) % n]])
            middle = (
                collector.ring_angles[k] + collector.ring_angles[1] / 2 - collector.ring_angles[0] / 2
            ) % 360
            at, along = _mid_seam(collector, middle, (touch, depth), 0)
            made.append(Joint(f"J{code}.{letter}", "crotch", vec(at), vec(along), r, pair, owner=own))
            if n > 2:  # two inlets first touch on the axis: there is no inner branch
                at, along = _mid_seam(collector, middle, (touch, star), 1)
                made.append(
                    Joint(f"J{code}.{letter}i", "inner seam", vec(at), vec(along), r, pair, owner=own)
                )
        if n > 2:
            star_at = vec(collector.frame.out((0.0, 0.0, star)))
            first = (tubes[collector.order[0]], tubes[collector.order[-1]])
            made.append(Joint(f"J{code}.S", "star", star_at, collector.frame.z, r, first, owner=own))
        lid = (tubes[collector.order[0]], lid_id(code))
        made.append(
            Joint(f"J{code}.L", "lid", flat, collector.frame.z, collector.ring_radius, lid, owner=own)
        )
    sheets = (lid_id(code), cone_id(code))
    made.append(Joint(f"J{code}.C", "cone", flat, collector.frame.z, collector.rim_radius, sheets, owner=own))
    return made


def _mid_seam(
    collector: Collector, angle: float, span: tuple[float, float], branch: int
) -> tuple[Array, Array]:
    """Middle of a seam branch and its direction there, in the bench frame."""
    c, s = cos_sin(angle)
    outward = np.array([-s, c, 0.0])
    middle, step = sum(span) / 2, 1e-3 * (span[1] - span[0])

    def point(depth: float) -> Array:
        return array(outward * seam_radius(collector, depth)[branch] + (0.0, 0.0, depth))

    along = unit(point(middle + step) - point(middle - step))
    return collector.frame.out(point(middle)), collector.frame.turn(along)
