"""How good a solution is: what stays open, what error to expect, which reading does not belong.

Source: W. Baarda, A testing procedure for use in geodetic networks (1968), for the redundancy number of a reading, the
test of one after another and the smallest error that shows; from memory.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from manifoldgen.geometry.vectors import Array
from manifoldgen.manifold.survey.rows import Rows, States

LEVER = 50.0  # mm at which a turn of the face counts as a shift
LOOSE = 300.0  # mm: what is known no better than this is not known
TOUCH = 1e-3  # part of an open direction that an unknown may have and still be fixed
CHECKED = 0.02  # least share of its own error that a reading must show to be judged
CRITICAL = 3.29  # a sound reading goes beyond in 1 of 1000 (Baarda's alpha 0.1 %)
NOTICED = 4.13  # an error goes beyond `CRITICAL` in 80 of 100 where it is this large (Baarda's power 80 %)
HALF_INSIDE = 0.6745  # half of a standard normal's values are smaller than this


@dataclass(frozen=True)
class Fit:
    """The readings at one state.

    off : residual over standard deviation (m,).  covariance : of the unknowns in mm and radians, at the stated
    errors.  open_ways : unit directions of the unknowns (turns as mm at `LEVER`) that nothing fixes, (r, n).
    share : how much of its own error each reading shows, 0 to 1 (its redundancy number).
    """

    off: Array
    covariance: Array
    open_ways: Array
    share: Array
    spare: int

    @property
    def level(self) -> float:
        """Size of the residuals beside what is stated; 1 without spare readings."""
        return float(np.sqrt((self.off**2).sum() / self.spare)) if self.spare else 1.0

    @property
    def doubt(self) -> Array:
        """Each reading's residual over what it may be; 0 where nothing checks it."""
        seen = self.share > CHECKED
        return np.where(seen, self.off / np.sqrt(np.where(seen, self.share, 1.0)), 0.0)

    @property
    def shows_from(self) -> Array:
        """By reading, in its standard deviations: an error this large shows in 80 of 100; infinite where none would."""
        seen = self.share > CHECKED
        return np.where(seen, NOTICED / np.sqrt(np.where(seen, self.share, 1.0)), np.inf)

    def fixed(self, unknowns: slice) -> bool:
        """Whether the readings fix these unknowns."""
        return bool(np.all(np.linalg.norm(self.open_ways[:, unknowns], axis=0) < TOUCH))

    def _others(self) -> float:
        """Size of the residuals without the worst one, 1 or more: a rough tape makes no reading a wrong one.

        The smaller of two measures: one sees through a single wrong reading, the other through several.
        """
        doubt = np.abs(self.doubt[self.share > CHECKED])
        if self.spare < 2:
            return 1.0
        rest = max(0.0, (self.off**2).sum() - doubt.max() ** 2) / (self.spare - 1)
        return float(max(1.0, min(np.sqrt(rest), np.median(doubt) / HALF_INSIDE)))

    def worst(self) -> int | None:
        """The reading that belongs least, if it cannot be right; None if all may be."""
        w2 = self.doubt**2
        if not len(w2) or w2.max() < (CRITICAL * self._others()) ** 2:
            return None
        return int(w2.argmax())


def fit(rows: Rows, state: States) -> Fit:
    """The fit of one state."""
    off, slope = (a[0] for a in rows.evaluate(state))
    scale = np.ones(slope.shape[1])
    scale[3:6] = LEVER
    used = slice(0 if rows.turbo_open else 6, None)
    scaled = np.zeros_like(slope)
    scaled[:, used] = (slope / scale)[:, used]
    u, size, ways = np.linalg.svd(scaled, full_matrices=True)
    size = np.concatenate([size, np.zeros(len(ways) - len(size))])
    tied = size > 1.0 / LOOSE
    inverse = (ways[tied].T / size[tied] ** 2) @ ways[tied]
    basis = u[:, : len(tied)][:, tied[: u.shape[1]]]
    share = np.clip(1.0 - (basis**2).sum(axis=1), 0.0, 1.0)
    free = ways[~tied]
    if not rows.turbo_open:
        free = free[np.linalg.norm(free[:, 6:], axis=1) > 0.5]
    return Fit(
        off,
        inverse / np.outer(scale, scale),
        free,
        share,
        len(off) - int(tied.sum()),
    )
