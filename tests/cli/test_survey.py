"""`manifoldgen survey`: the form on paper and as JSON, blank and with readings."""

from __future__ import annotations

import json

import numpy as np
import pytest

from manifoldgen.cli import main
from tests.jobs import FOUR
from tests.surveys import HOLES, truth

BLANK = (
    FOUR.split("survey:\n")[0]
    .replace("inlet: {at: [144, 373, 316], facing: [0, 0.3, 0.95], clock: 0}", "inlet: {at: survey}")
    .replace("from: rail_end", "from: [0, 0, 300]")
)


@pytest.fixture
def measured() -> str:
    """A job with sixteen distances and two angles, one distance 60 mm off."""
    t = truth(np.random.default_rng(3))
    rows = [t.distance(a, b) for a in ("S1", "S4", "S8", "P1") for b in HOLES]
    rows[5]["mm"] += 60
    lines = [f"  - {{from: {r['from']}, to: {r['to']}, mm: {r['mm']:.1f}}}" for r in rows]
    lines += [f"  - {{angle: turbo.facing, to: {a}, deg: {t.angle(a)['deg']:.1f}}}" for a in "xy"]
    return BLANK + "survey:\n" + "\n".join(lines) + "\n"


def test_blank_form_says_what_it_rests_on(tmp_path, capsys):
    """Nothing measured yet: lines to write on, the most useful first, and that the pose is a nominal one."""
    file = tmp_path / "job.yaml"
    file.write_text(BLANK, encoding="utf-8")

    assert main(["survey", str(file)]) == 0
    out = capsys.readouterr().out
    assert out.count("__________") == 27
    assert "a nominal place in front of the flange" in out
    assert "the turbo's pose is not fixed yet" in out


def test_form_with_readings_names_the_wrong_one(tmp_path, capsys, measured):
    """The pose, its expected error, each residual and the reading left out stand on the form."""
    file = tmp_path / "job.yaml"
    file.write_text(measured, encoding="utf-8")

    assert main(["survey", str(file), "--next", "3"]) == 0
    out = capsys.readouterr().out
    assert "expected error now" in out
    assert "S4 to turbo.B2" in out
    assert "cannot be right, left out" in out
    assert out.count("__________") == 3


def test_json_and_report_hold_the_same_survey(tmp_path, capsys, measured):
    """`survey --format json` prints the key `survey` of report.json, with what to measure next beside it."""
    file = tmp_path / "job.yaml"
    file.write_text(measured, encoding="utf-8")

    assert main(["survey", str(file), "--format", "json"]) == 0
    form = json.loads(capsys.readouterr().out)
    assert main(["check", str(file), "--format", "json"]) in (0, 1)
    report = json.loads(capsys.readouterr().out)
    assert form["survey"]["basis"] == "readings"
    assert report["survey"]["outliers"] == ["S4 to turbo.B2"]
    assert report["survey"].items() <= form["survey"].items()
    doubtful = [f for f in report["findings"] if f["name"] == "survey-doubtful"]
    (told,) = [f for f in doubtful if f["message"].startswith("S4 to turbo.B2")]
    assert told["where"]["line"] > 1


def test_check_of_an_unmeasured_job_points_to_the_form(tmp_path, capsys):
    """`at: survey` without readings: exit 2, place and remedy in one sentence."""
    file = tmp_path / "job.yaml"
    file.write_text(BLANK, encoding="utf-8")

    assert main(["check", str(file)]) == 2
    err = capsys.readouterr().err
    assert "job.yaml:36:15: " in err
    assert "manifoldgen survey" in err
