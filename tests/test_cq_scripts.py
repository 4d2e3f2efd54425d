"""The CQ-editor scripts run through CadQuery's own gateway interface, with their literals as parameters."""

from __future__ import annotations

import runpy
from pathlib import Path

import pytest
from cadquery import cqgi

pytestmark = pytest.mark.slow
SCRIPTS = Path(__file__).parent.parent / "cq_scripts"


def run(name: str, **parameters: object) -> list[cqgi.ShapeResult]:
    """What a script shows with these parameters."""
    model = cqgi.parse((SCRIPTS / name).read_text(encoding="utf-8"))
    result = model.build(build_parameters=parameters)
    assert result.success, result.exception
    return list(result.results)


def test_collector_script() -> None:
    """Three inlets instead of four, shown by name."""
    (shown,) = run("collector.py", inlets=3)
    assert shown.options["name"] == "collector"
    assert shown.shape.solids().size() == 1


def test_runner_script() -> None:
    """A longer first straight makes the tube larger by as much."""
    volumes = [run("runner.py", first=first)[0].shape.val().Volume() for first in (40.0, 50.0)]
    assert volumes[1] - volumes[0] == pytest.approx(3.141592653589793 * (21.2**2 - 19.2**2) * 10)


def test_scripts_run_without_an_editor() -> None:
    """Without `show_object` they only make their part."""
    assert "runner" in runpy.run_path(str(SCRIPTS / "runner.py"))


def test_manifold_script_names_its_parts() -> None:
    """A shipped job, whole and in pieces: every part, then every piece of tube by its id."""
    job = str(SCRIPTS / "jobs" / "snow_groomer_three.yaml")
    shown = {result.options["name"] for result in run("manifold.py", job=job, pieces=True)}
    assert {"head flange", "turbo flange", "R1-P1", "C-P1", "O-P1"} <= shown
