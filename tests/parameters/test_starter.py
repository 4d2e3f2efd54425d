"""The file to start from reads as it stands, for every number of cylinders."""

from __future__ import annotations

import pytest

import manifoldgen as mg
from manifoldgen.errors import ParameterError
from manifoldgen.parameters import load_text
from manifoldgen.parameters.starter import ORDERS, Answers, starter


@pytest.mark.parametrize("cylinders", ORDERS)
def test_starter_reads(cylinders: int) -> None:
    """It is a job of that name and number; no placeholder is left."""
    text = starter("my-first", Answers(cylinders))
    job = load_text(text)

    assert (job.name, job.cylinders) == ("my-first", cylinders)
    assert "<" not in text


@pytest.mark.slow
@pytest.mark.parametrize("cylinders", [2, 3, 4, 5])  # the others: tests/benchmarks/sweep_jobs.py
def test_starter_is_clean(cylinders: int) -> None:
    """Its runners find their inlets and no check complains."""
    manifold = mg.split(mg.route(mg.assemble(load_text(starter("my-first", Answers(cylinders))))))

    assert [finding for finding in mg.check(manifold) if finding.severity == "error"] == []


def test_starter_refuses() -> None:
    """A name or a number that cannot be is one sentence."""
    with pytest.raises(ParameterError, match="small letters"):
        starter("My First")
    with pytest.raises(ParameterError, match="take 2 to 8"):
        starter("first", Answers(12))
