"""Ways out of a stuck weld: looked at place by place, they are what looking at the whole weld finds."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from manifoldgen.access import wayout
from manifoldgen.access.reach import reach_of
from manifoldgen.access.torch import torches
from manifoldgen.catalogue import STANDARD
from tests.access.test_masks import GROUPS, JOB, crowd, ring


@pytest.mark.slow
@pytest.mark.parametrize("sides", [1, 2])
def test_place_by_place_says_what_the_whole_weld_says(sides) -> None:
    """24 welds in crowds that thin out, from one side and from two: both answers are met and agree."""
    rng = np.random.default_rng(17)
    print("seed 17")
    torch = torches(STANDARD)[0]
    met = {False: 0, True: 0}
    last: list[int] = []
    for case in range(24):
        on, weld = crowd(rng), ring(12)
        welds = (weld, replace(weld, bisector=-weld.bisector, side="merge side"))[:sides]
        kept = rng.permutation(np.arange(2, GROUPS))[: (0, 4, 30, 60)[case % 4]]
        present = sum(1 << int(g) for g in kept)
        whole = reach_of(JOB, welds, torch, on).full(present)
        assert wayout._full(JOB, welds, torch, on, present, last) == whole
        met[whole] += 1
    assert min(met.values()) > 3
