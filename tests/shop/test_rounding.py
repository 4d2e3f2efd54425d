"""What the printed 0.1 mm and 0.1° cost, against runs put together from the rounded numbers apart from the program."""

from __future__ import annotations

import math
from pathlib import Path as File

import numpy as np
import pytest

from manifoldgen.manifold.model import Manifold
from manifoldgen.pieces import split
from manifoldgen.shop.plan import ShopPlan
from manifoldgen.shop.rounding import end_errors
from tests.shop.rebuild import random_runners
from tests.shop.test_cuts import misses
from tests.worked import demo

JOBS = File(__file__).resolve().parents[2] / "cq_scripts" / "jobs"
SEED = 53


def compare(m: Manifold, step: float) -> list[float]:
    """The end errors in mm, each equal to what the rounded pieces give when put together."""
    found = misses(m, step)
    told = {e.part: e for e in end_errors(m, ShopPlan(m).cuts, ShopPlan(m).marks, step)}
    assert set(told) == set(found)
    for part, (mm, sine) in found.items():
        assert told[part].mm == pytest.approx(mm, abs=1e-6)
        assert math.radians(told[part].deg) == pytest.approx(math.asin(sine), abs=1e-6)
    return [mm for mm, _ in found.values()]


def test_coarser_numbers_cost_more() -> None:
    """Half millimetres and half degrees miss by several times as much as the printed tenths, which do miss."""
    m = split(random_runners(np.random.default_rng(SEED), 6))
    fine, coarse = max(compare(m, 0.1)), max(compare(m, 0.5))

    assert 0.05 < fine < 1.0
    assert coarse > 2 * fine


@pytest.mark.parametrize("job", ["sand_rail_four", "snow_groomer_three"])
def test_a_job_from_printed_numbers(job: str) -> None:
    """Every run of a written job ends within 1 mm, and its sheet says by how much."""
    assert max(compare(demo(job).manifold, 0.1)) < 1.0
