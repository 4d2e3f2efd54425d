"""`manifoldgen init` on a terminal: the few things that matter, each with a default."""

from __future__ import annotations

from pathlib import Path

import pytest

from manifoldgen.cli import init as verb
from manifoldgen.parameters import load


def test_a_terminal_is_asked_and_what_it_says_stands_in_the_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each answer lands in its place; Enter keeps the default; the file loads."""
    answers = {"Cylinders": 3, "Port to port, mm": 104.0, "Runner tube OD, mm": 38.0}
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(verb.sys.stdin, "isatty", lambda: True)
    monkeypatch.setattr(verb.sys.stderr, "isatty", lambda: True)
    monkeypatch.setattr(verb.typer, "prompt", lambda text, default, err: answers.get(text, default))

    verb.init("shed-three", None)
    job = load(tmp_path / "shed-three.yaml")

    assert job.cylinders == 3
    assert job.head_flange.ports.pitch == 104.0
    assert (job.tubes.runner.od, job.tubes.runner.wall) == (38.0, 2.0)
    assert job.stock[0].clr == 57.0  # 1.5 times the OD asked for
