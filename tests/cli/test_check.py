"""`manifoldgen check`: what it prints and how it ends."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from manifoldgen import checks
from manifoldgen.checks.registry import KINDS
from manifoldgen.cli import job, main
from manifoldgen.errors import Where
from manifoldgen.pieces import split
from tests import factory

# the keys of report.json that a check without solids can fill (README, report.json)
KEYS = {"schema_version", "name", "ok", "findings", "collectors", "runners", "length", "gaps", "pieces"}
KEYS |= {"studs", "removal", "welds", "weld_order"}


@pytest.fixture
def tight_job(monkeypatch):
    """A job whose gap is asked far wider than it is."""
    m = factory.manifold(3)
    m = split(replace(m, limits=replace(m.limits, gap=80.0, gap_at_merge=60.0, gap_at_flange=80.0)))
    monkeypatch.setattr(job, "laid", lambda file, **_: m)
    return m


def test_clean_job(straight_job, capsys):
    """A job without errors ends with 0; the last line is the summary, the line before the next command."""
    assert main(["check", "job.yaml"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[-2].startswith(f"{straight_job.name}: no errors, ")
    assert lines[-3] == "next: manifoldgen build job.yaml"


def test_job_with_errors(tight_job, capsys):
    """Errors end with 1, are listed under their name with what to do, and point to the explanation."""
    assert main(["check", "job.yaml"]) == 1
    out = capsys.readouterr().out
    lines = out.splitlines()
    assert "✕ error  runner-gap" in lines
    assert any(line.strip().startswith("→") for line in lines)
    assert lines[-3].startswith("next: manifoldgen explain ")
    assert " error" in lines[-2]
    assert all(line == line.rstrip() for line in lines)


def test_runner_table_holds_the_lengths(straight_job, capsys):
    """The table's lengths are those of the runners, to 0.1 mm."""
    main(["check", "job.yaml"])
    out = capsys.readouterr().out
    assert f"{straight_job.runners[0].path.length:.1f}" in out


def test_json_is_one_object_with_the_keys_that_stay(tight_job, capsys):
    """A program reads stdout as it is; a key whose part was not built is absent."""
    assert main(["check", "job.yaml", "--format", "json"]) == 1
    out, err = capsys.readouterr()
    content = json.loads(out)
    assert set(content) == KEYS
    assert content["ok"] is False
    assert set(content["findings"][0]) == {
        "name", "severity", "message", "value", "limit", "unit", "parts", "points", "where", "do",
    }  # fmt: skip
    assert err.startswith("checked in ")


def test_colour_only_for_a_terminal(tight_job, capsys):
    """No escape codes in a file or a pipe."""
    main(["check", "job.yaml"])
    assert "\x1b" not in capsys.readouterr().out


def test_a_finding_in_the_shop_file_points_there(straight_job, monkeypatch, capsys):
    """A stock item of the shop's own file is found in that file, not in the job."""
    found = KINDS["bend-not-in-stock"].finding(
        message="It does not fit.", do="Measure it.", where=Where(3, 5, "at/my-shop.yaml")
    )
    monkeypatch.setattr("manifoldgen.designs.settled.examine", lambda m: checks.Examined((found,), None))
    assert main(["check", "job.yaml"]) == 1
    assert "my-shop.yaml:3:5" in capsys.readouterr().out
