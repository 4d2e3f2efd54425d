"""The collector's own welds: outer valleys, inner seams, centre point, transition plate, cone; curves of `manifold.seams`."""

from __future__ import annotations

import math

import numpy as np

from manifoldgen.geometry.vectors import Array, array, cos_sin, unit, vec
from manifoldgen.manifold.model import Collector, Joint
from manifoldgen.manifold.seams import seam_radius, star_depth, touch_depth


def prefix(collectors: int, name: str) -> str:
    """``C``, or ``CA``, ``CB`` … where there are several collectors."""
    return "C" if collectors == 1 else f"C{name}"


def letters(collector: Collector) -> tuple[str, ...]:
    """A, B, D, … for the neighbours (order[k], order[k + 1]) round the ring; C, L, S are cone, lid and star."""
    return tuple("ABDEFGHIJKMNOPQRTUVWXYZ"[: len(collector.order)])


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
    r = collector.section.radius
    depth = collector.merge_depth
    if collector.kind == "merge":
        touch, star = touch_depth(collector), star_depth(collector)
        n = len(collector.order)
        for k, letter in enumerate(letters(collector)):
            pair = (tubes[collector.order[k]], tubes[collector.order[(k + 1) % n]])
            middle = (
                collector.ring_angles[k] + collector.ring_angles[1] / 2 - collector.ring_angles[0] / 2
            ) % 360
            at, along = _mid_seam(collector, middle, (touch, depth), 0)
            made.append(Joint(f"J{code}.{letter}", "crotch", vec(at), vec(along), r, pair))
            if n > 2:  # two inlets first touch on the axis: there is no inner branch
                at, along = _mid_seam(collector, middle, (touch, star), 1)
                made.append(Joint(f"J{code}.{letter}i", "inner seam", vec(at), vec(along), r, pair))
        if n > 2:
            star_at = vec(collector.frame.out((0.0, 0.0, star)))
            first = (tubes[collector.order[0]], tubes[collector.order[-1]])
            made.append(Joint(f"J{code}.S", "star", star_at, collector.frame.z, r, first))
        lid = (tubes[collector.order[0]], f"{code}-P1")
        flat = vec(collector.frame.out((0.0, 0.0, depth)))
        made.append(Joint(f"J{code}.L", "lid", flat, collector.frame.z, collector.ring_radius, lid))
    flat = vec(collector.frame.out((0.0, 0.0, depth)))
    between = (f"{code}-P1", f"{code}-P2")
    made.append(Joint(f"J{code}.C", "cone", flat, collector.frame.z, collector.rim_radius, between))
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
