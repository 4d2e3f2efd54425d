"""Which saw guides a job needs: elbows of one outside and one CLR share a guide, narrower angles take a stop block.

    stop ▐███████████▌ face = the cut plane          looked at along the bend, unrolled
         ├─── 70.1° ──┤
         ▐▓▓▓▓███████▌ with a stop block of 30.5° before the elbow the same guide cuts 39.6°

The widest angle is cut bare, the narrower ones with a block each between stop and elbow. A block too thin to print
makes a guide of its own.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from manifoldgen.manifold.model import Manifold
from manifoldgen.shop.elbow_cuts import ElbowCut, elbow_cuts
from manifoldgen.wording import fixed, size

SAME = 0.05  # degrees and mm: cuts this near each other are one
LEAST_BLOCK = 2.5  # mm: a stop block at its throat


@dataclass(frozen=True)
class GuideGroup:
    """Cuts that one guide serves: those of its own angle, and by narrower angle those that take a stop block."""

    own: tuple[ElbowCut, ...]
    narrower: tuple[tuple[ElbowCut, ...], ...] = ()

    @property
    def cut(self) -> ElbowCut:
        """The cut that the guide is drawn on."""
        return self.own[0]

    @property
    def served(self) -> tuple[ElbowCut, ...]:
        """Every cut it serves."""
        return (*self.own, *(c for cuts in self.narrower for c in cuts))

    @property
    def words(self) -> str:
        """Its name: outside, CLR and angle, and the piece where a leg makes it that piece's own."""
        cut = self.cut
        return (
            f"guide {size(cut.od)} clr {size(cut.clr)} {fixed(cut.angle)}{' ' + cut.piece if cut.leg else ''}"
        )

    def stop(self, cuts: Sequence[ElbowCut]) -> str:
        """The name of the stop block for narrower cuts."""
        return f"{self.words} stop {fixed(cuts[0].angle)}"


def saw_guides(m: Manifold) -> tuple[GuideGroup, ...]:
    """The guides for every cut through an arc in the cutting plan."""
    return grouped(elbow_cuts(m))


def grouped(cuts: Sequence[ElbowCut]) -> tuple[GuideGroup, ...]:
    """The fewest guides: by outside and CLR, the widest angle first; a leg before the arc has its own guide."""
    alike: dict[tuple[float, float, float], list[list[ElbowCut]]] = {}
    for cut in sorted(cuts, key=lambda c: (-c.angle, c.piece)):
        same = alike.setdefault((round(cut.od, 2), round(cut.clr, 2), round(cut.leg, 1)), [])
        if same and same[-1][0].angle - cut.angle <= SAME:
            same[-1].append(cut)
        else:
            same.append([cut])
    return tuple(group for (_, _, leg), angles in alike.items() for group in _shared(angles, leg))


def _shared(angles: Sequence[Sequence[ElbowCut]], leg: float) -> list[GuideGroup]:
    """Angles, widest first, parted into guides with their blocks so that the least plastic is printed."""
    best: list[tuple[float, list[GuideGroup]]] = [(0.0, [])]  # for the first n angles
    for n in range(1, len(angles) + 1):
        options = []
        for first in range(n):
            wide, narrower = angles[first], angles[first + 1 : n]
            if all(leg == 0 and _block_prints(wide[0], c[0]) for c in narrower):
                group = GuideGroup(tuple(wide), tuple(tuple(c) for c in narrower))
                options.append((best[first][0] + _plastic(group), [*best[first][1], group]))
        best.append(min(options, key=lambda o: o[0]))
    return best[-1][1]


def _plastic(group: GuideGroup) -> float:
    """About what a guide and its blocks take: degrees of arc, a guide's stop counted as so many."""
    stop_deg, block_deg = 6.0, 2.0
    return group.cut.angle + stop_deg + sum(group.cut.angle - c[0].angle + block_deg for c in group.narrower)


def _block_prints(wide: ElbowCut, narrow: ElbowCut) -> bool:
    """Whether the block between two angles is thick enough at its throat."""
    throat = wide.clr - wide.od / 2
    return math.radians(wide.angle - narrow.angle) * throat >= LEAST_BLOCK
