"""Open jobs routed, written out and checked: what the search calls found is clean in the file it leaves."""

from __future__ import annotations

import pytest

from manifoldgen.parameters.starter import Answers, starter
from tests.benchmarks.sweep_jobs import JOBS, one


@pytest.mark.slow
@pytest.mark.parametrize("cylinders", [2, 3, 5])
def test_a_starter_left_open_comes_back_clean(tmp_path, cylinders) -> None:
    """`init`'s file: routed, written into a copy, read again: no error is left (4, 6 to 8 in the sweep)."""
    file = tmp_path / "starter.yaml"
    file.write_text(starter(f"starter-{cylinders}", Answers(cylinders)), encoding="utf-8")
    assert one(file, tmp_path / "written.yaml")


@pytest.mark.slow
def test_a_shipped_job_with_open_paths_comes_back_clean(tmp_path) -> None:
    """The orchard sprayer's three runners (the four, five and six in the sweep)."""
    assert one(JOBS / "orchard_sprayer_three.yaml", tmp_path / "written.yaml")
