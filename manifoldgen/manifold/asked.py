"""The gap a runner asks of other runners, along its length."""

from __future__ import annotations

import numpy as np

from manifoldgen.geometry.distance import Asked
from manifoldgen.manifold.model import Limits

_STEP = 1e-3  # mm: a ramp of no length is this steep


def asked_along(length: float, limits: Limits) -> Asked:
    """`gap_at_flange` and `gap_at_merge` in their zones, each rising over `ramp` mm to `gap`; the smaller.

    Parameters
    ----------
    length : of the runner, flange face to ring plane, mm.
    """
    ramp = max(limits.ramp, _STEP)
    zones = ((limits.flange_zone, limits.gap_at_flange), (limits.merge_zone, limits.gap_at_merge))
    places = {0.0, length}
    for near, (zone, _) in enumerate(zones):
        places |= {abs(near * length - s) for s in (zone, zone + ramp)}
    at = np.array(sorted(s for s in places if 0 <= s <= length))
    flange, merge = (
        np.interp(s, [zone, zone + ramp], [gap, limits.gap])
        for s, (zone, gap) in zip((at, length - at), zones, strict=True)
    )
    before = flange - merge
    turn = np.flatnonzero(before[:-1] * before[1:] < 0)  # the rules change places: one more corner
    share = before[turn] / (before[turn] - before[turn + 1])
    every = np.concatenate([at, at[turn] + share * (at[turn + 1] - at[turn])])
    lesser = np.concatenate(
        [np.minimum(flange, merge), flange[turn] + share * (flange[turn + 1] - flange[turn])]
    )
    order = np.argsort(every, kind="stable")
    return Asked(tuple(every[order].tolist()), tuple(lesser[order].tolist()))
