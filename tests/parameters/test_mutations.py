"""Spoilt job files: one clear error with places inside the file, or a job; never anything else."""

from __future__ import annotations

import re

import pytest

from manifoldgen.errors import ParameterError
from manifoldgen.parameters import Parameters, load_text
from tests.jobs import FOUR
from tests.mutations import spoilt

JARGON = re.compile(
    r"input should|value error|pydantic|traceback|dictionary|NoneType|object at 0x|float_|_type", re.I
)


def check(raw: bytes) -> str:
    """Read `raw`; returns ``job`` or ``refused``, and fails on anything else."""
    try:
        job = load_text(raw, "job.yaml")
    except ParameterError as error:
        told = error.problems
    else:
        assert isinstance(job, Parameters)
        return "job"
    lines = raw.decode("utf-8", "replace").replace("\r\n", "\n").split("\n")
    assert told
    for problem in told:
        found = re.match(r"job\.yaml:(\d+):(\d+): \S", problem)

        assert found, problem
        assert 1 <= int(found[1]) <= len(lines), problem
        assert 1 <= int(found[2]) <= len(lines[int(found[1]) - 1]) + 1, problem
        assert not JARGON.search(problem), problem
        assert "\n" not in problem
        assert len(problem) < 400, problem
    return "refused"


@pytest.mark.parametrize("seed", range(40))
def test_spoilt_file(seed: int) -> None:
    """Whatever is in a file: a job, or sentences with places inside it."""
    check(spoilt(FOUR, seed))


def test_both_ways() -> None:
    """The cases hold files that are refused and files that still read."""
    found = {check(spoilt(FOUR, seed)) for seed in range(40)}

    assert found == {"job", "refused"}
