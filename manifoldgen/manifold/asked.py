"""The gap a runner asks of other runners, along its length."""

from __future__ import annotations

from itertools import pairwise

from manifoldgen.geometry.gap import Asked
from manifoldgen.manifold.model import Limits


def asked_along(length: float, limits: Limits) -> Asked:
    """`gap_at_flange` and `gap_at_merge` in their zones, each rising over `ramp` mm to `gap`; the smaller.

    Parameters
    ----------
    length : of the runner, flange face to ring plane, mm.
    """

    def near(distance: float, zone: float, gap: float) -> float:
        beyond = distance - zone
        if beyond <= 0 or beyond >= limits.ramp:
            return gap if beyond <= 0 else limits.gap
        return gap + (limits.gap - gap) * beyond / limits.ramp

    def rules(s: float) -> tuple[float, float]:
        flange = near(s, limits.flange_zone, limits.gap_at_flange)
        return flange, near(length - s, limits.merge_zone, limits.gap_at_merge)

    corners = [limits.flange_zone, limits.flange_zone + limits.ramp]
    corners += [length - limits.merge_zone - limits.ramp, length - limits.merge_zone]
    places = sorted({0.0, length, *(s for s in corners if 0.0 < s < length)})
    asked: list[tuple[float, float]] = []
    for a, b in pairwise(places):
        # both rules are straight between two corners: their ends follow from two places inside, which
        # keeps the two sides of a step (a ramp of no length) apart
        (f1, m1), (f2, m2) = rules(a + (b - a) / 3), rules(a + (b - a) * 2 / 3)
        (fa, fb), (ma, mb) = (2 * f1 - f2, 2 * f2 - f1), (2 * m1 - m2, 2 * m2 - m1)
        asked.append((a, min(fa, ma)))
        if (fa - ma) * (fb - mb) < 0:
            share = (fa - ma) / ((fa - ma) - (fb - mb))
            asked.append((a + (b - a) * share, fa + (fb - fa) * share))
        asked.append((b, min(fb, mb)))
    return Asked(tuple(s for s, _ in asked), tuple(gap for _, gap in asked))
