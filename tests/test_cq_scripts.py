"""The CQ-editor scripts run through CadQuery's own gateway interface, with their literals as parameters."""

from __future__ import annotations

import runpy
import shutil
import subprocess
import sys
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
    job = "jobs/snow_groomer_three.yaml"
    shown = {result.options["name"] for result in run("manifold.py", job=job, pieces=True)}
    assert {"head flange", "turbo flange", "R1-P1", "C-P1", "O-P1"} <= shown


@pytest.mark.parametrize("name", ["collector.py", "manifold.py", "runner.py"])
def test_every_parameter_is_described(name: str) -> None:
    """CQGI offers a script's literals to whoever asks: each says what it is."""
    parameters = cqgi.parse((SCRIPTS / name).read_text(encoding="utf-8")).metadata.parameters
    assert parameters
    assert [p.name for p in parameters.values() if not p.desc] == []


def test_a_job_that_is_nowhere_is_said(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """One sentence says which job, what to do, and where it was looked for, the working folder too."""
    monkeypatch.chdir(tmp_path)
    model = cqgi.parse((SCRIPTS / "manifold.py").read_text(encoding="utf-8"))
    told = str(model.build({"job": "mine.yaml"}).exception)
    assert told.startswith("there is no job mine.yaml, give `job` in full; looked for: ")
    assert str(tmp_path / "mine.yaml") in told


# What CQ-editor does on every render: the text run in a bare module, and whatever it loaded dropped afterwards.
# `told` is what it says about the script's place: its file, a folder on the path, or nothing (as CQGI).
RENDERS = """
import sys
from pathlib import Path
from types import ModuleType

import cadquery as cq

def render(file, told):
    before, shown = set(sys.modules), {}
    module = ModuleType("__cq_main__")
    module.__dict__.update(cq=cq, show_object=lambda shape, name, options: shown.update({name: shape}))
    if told == "file":
        module.__dict__["__file__"] = str(file)
    if told == "path":
        sys.path.insert(0, str(file.parent))
    exec(compile(file.read_text(encoding="utf-8"), "<cqscript>", "exec"), module.__dict__)
    if told == "path":
        sys.path.pop(0)
    for name in set(sys.modules) - before:
        if name.split(".")[0] == "manifoldgen":
            del sys.modules[name]
    assert not [name for name in sys.modules if name.startswith("manifoldgen")]
    return shown

scripts = Path(sys.argv[1])
for told in ("file", "path", "nothing"):
    for name, least in (("runner.py", 1), ("collector.py", 1), ("manifold.py", 9)):
        shown = render(scripts / name, told)
        assert len(shown) >= least, (name, told, list(shown))
        print(name, told, len(shown))
"""


def test_scripts_render_again_and_again_in_one_editor(tmp_path: Path) -> None:
    """All three, thrice in one process started elsewhere, our modules dropped after each; the job is the script's own."""
    scripts, elsewhere = tmp_path / "scripts", tmp_path / "elsewhere"
    elsewhere.mkdir()
    shutil.copytree(SCRIPTS, scripts)
    done = subprocess.run(
        [sys.executable, "-c", RENDERS, str(scripts)],
        cwd=elsewhere,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    job = Path("jobs", "sand_rail_four.yaml")
    expected = [f"the job shown is {folder / job}" for folder in (scripts, scripts, SCRIPTS)]
    assert [line for line in done.stdout.splitlines() if line.startswith("the job")] == expected
