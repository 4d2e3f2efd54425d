"""Shared by the tests of the command line: a job that needs no file."""

from __future__ import annotations

import pytest

from manifoldgen.cli import job
from manifoldgen.pieces import split
from tests import factory


@pytest.fixture
def straight_job(monkeypatch):
    """Let every verb read a bundle of three straight runners without findings, whatever file it is given."""
    m = split(factory.manifold(3))
    monkeypatch.setattr(job, "laid", lambda file, **_: m)
    monkeypatch.setattr(job, "inputs", lambda file: (file,))
    return m
