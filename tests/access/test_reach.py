"""Poses that are said to reach a weld, judged by meshes made apart from the package; the sweep has the full count."""

from __future__ import annotations

import numpy as np
import pytest

from manifoldgen.access.torch import torches
from manifoldgen.catalogue import STANDARD
from manifoldgen.pieces import split
from tests import factory
from tests.benchmarks import sweep_access_judge_torch as judge


@pytest.mark.slow
def test_reported_poses_keep_their_margin_from_the_metal(monkeypatch) -> None:
    """One place a joint: 2 mm less 0.1 from everything, 0.3 less 0.1 from what is welded; torches are meshes too."""
    monkeypatch.setattr(judge, "PER_JOINT", 1)
    m = split(factory.with_branch(factory.manifold(3, stub=20.0)))
    seen, wrong = judge.judge_poses(m, np.random.default_rng(1), torches(STANDARD)[0])

    assert seen > 15
    assert wrong == []


@pytest.mark.slow
def test_poses_from_the_merge_side_stay_clear_of_the_inlets_walls(monkeypatch) -> None:
    """Through the open bores, lid and cone not on yet: 0.2 mm at least from the tubes as they are, hollow."""
    monkeypatch.setattr(judge, "PER_JOINT", 2)
    m = split(factory.manifold(4))
    seen, wrong = judge.judge_merge_side(m, np.random.default_rng(1), torches(STANDARD)[0])

    assert seen > 8
    assert wrong == []
