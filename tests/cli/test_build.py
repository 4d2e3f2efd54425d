"""`manifoldgen build` and `picture`: what is left on disk, and how they end."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from dataclasses import replace
from functools import partial
from pathlib import Path
from types import SimpleNamespace

import pytest

from manifoldgen.cli import job, main
from manifoldgen.errors import GeometryError
from manifoldgen.export import manifest
from manifoldgen.geometry.vectors import vec
from manifoldgen.pictures import draw
from manifoldgen.pieces import split
from manifoldgen.routing import route as routing
from manifoldgen.routing.route import Routed
from tests import factory

ROOT = Path(__file__).resolve().parents[2]
MODEL = {"model.step", "model.stl", "model.3mf", "model.glb", "lumen.stl"}
FILES = MODEL | {"report.html", "report.json", "manifest.json"}
PAPERS = {
    "build-sheets.pdf",
    "templates.pdf",
    "templates.dxf",
    "cut-list.csv",
    "joints.csv",
    "bend-table.csv",
}
DXFS = {"work-list.csv", "head-flange.dxf", "turbo-flange.dxf", "wastegate-flange.dxf"}
# the same job in a process of its own, with another hash seed
AGAIN = """
import sys
from manifoldgen.cli import job, main
from manifoldgen.errors import GeometryError
from manifoldgen.pieces import split
from tests import factory
m = split(factory.with_branch(factory.manifold(2)))
job.laid = lambda file, **_: m
sys.exit(main(["build", "job.yaml", "--out", sys.argv[1]]))
"""


@pytest.fixture
def given(monkeypatch):
    """Let the verbs read a manifold that the test made."""

    def give(m):
        monkeypatch.setattr(job, "laid", lambda file, **_: split(m))

    return give


@pytest.mark.slow
def test_a_build_is_whole_and_repeatable(given, tmp_path, capsys):
    """All files, a manifest that verifies, report.json on stdout too, the same bytes from another process."""
    given(factory.with_branch(factory.manifold(2)))
    assert main(["build", "job.yaml", "--out", str(tmp_path), "--format", "json"]) == 0
    content = json.loads(capsys.readouterr().out)
    folder = tmp_path / "bundle"

    assert {p.name for p in folder.iterdir()} == {*FILES, "shop", "prints"}
    assert {p.name for p in (folder / "shop").iterdir()} >= PAPERS | DXFS
    assert {"model-collector.stl", "model-collector.3mf", "printed-parts.csv"} <= {
        p.name for p in (folder / "prints").iterdir()
    }
    assert manifest.problems(folder) == ()
    assert content == json.loads((folder / "report.json").read_text())
    solids = content["solids"]
    assert (solids["valid"], solids["solids"], solids["watertight"]) == (True, 1, True)
    assert solids["genus"] == solids["genus_expected"]
    assert solids["volume_mm3"] == pytest.approx(solids["volume_expected_mm3"], rel=1e-5)
    for patch in ("inlet_1", "inlet_2", "outlet", "wastegate", "wall"):
        assert f"\nsolid {patch}\n" in "\n" + (folder / "lumen.stl").read_text()

    again = tmp_path / "again"
    env = {**os.environ, "PYTHONHASHSEED": "7"}
    subprocess.run(
        [sys.executable, "-c", AGAIN, str(again)], cwd=ROOT, env=env, check=True, capture_output=True
    )
    files = sorted(p.relative_to(folder) for p in folder.rglob("*") if p.is_file() and p.name != "model.glb")
    for name in files:
        assert (folder / name).read_bytes() == (again / "bundle" / name).read_bytes(), name


@pytest.mark.slow
def test_errors_never_stop_a_build(given, tmp_path, capsys):
    """Two tubes through each other: what can be written is, without a solid that would be wrong; ends with 1."""
    m = factory.manifold(2)
    first, second = m.runners
    start = replace(first.path.start, at=vec((first.path.start.at[0] + 5.0, *first.path.start.at[1:])))
    given(replace(m, runners=(first, replace(second, path=replace(first.path, start=start), start=start))))

    assert main(["build", "job.yaml", "--out", str(tmp_path)]) == 1
    out = capsys.readouterr().out
    folder = tmp_path / "bundle"
    written = {p.name for p in folder.iterdir()}
    content = json.loads((folder / "report.json").read_text())
    assert "✕ error  runner-gap" in out
    assert "✕ error  solid-not-sound" in out
    assert {"report.json", "manifest.json", "model.step"} <= written
    assert {"shop", "prints", "report.html"} <= written  # the papers say: do not cut
    assert not {"model.stl", "model.3mf", "lumen.stl"} & written
    assert "solids" not in content
    assert manifest.problems(folder) == ()


def test_a_path_that_was_not_found_stops_no_build(given, tmp_path, capsys, monkeypatch):
    """The runner is named with its trouble, the rest is written, the exit code is 1."""
    m = factory.manifold(2)
    lost = replace(m.runners[1], path=None, todo="auto", trouble="no way past the frame rail, 4.0 mm short")
    given(replace(m, runners=(m.runners[0], lost)))
    monkeypatch.setattr(routing, "find", lambda m, **_: Routed(m, verified=False))

    assert main(["build", "job.yaml", "--out", str(tmp_path)]) == 1
    assert "4.0 mm short" in " ".join(capsys.readouterr().out.split())
    assert (tmp_path / m.name / "model.step").exists()
    assert not (tmp_path / m.name / "model.stl").exists()


@pytest.mark.parametrize(
    ("only", "told"), [("step", "not step"), (",", "not nothing"), ("shop,page", "not page")]
)
def test_parts_that_do_not_exist_are_named(given, tmp_path, capsys, only, told):
    """Asking for something that is no part is an answer, not an empty folder."""
    assert main(["build", "job.yaml", "--out", str(tmp_path), "--only", only]) == 2
    assert told in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("only", "there"),
    [("shop", {"shop"}), ("report", {"report.html"}), ("shop,report", {"shop", "report.html"})],
)
def test_one_part_alone_comes_without_the_kernel(given, tmp_path, monkeypatch, only, there):
    """Papers and page come in seconds: neither waits for solids; report and manifest are always there."""
    monkeypatch.setattr("manifoldgen.solids.build", None)
    given(factory.with_branch(factory.manifold(2)))

    assert main(["build", "job.yaml", "--out", str(tmp_path), "--only", only]) == 0
    assert {p.name for p in (tmp_path / "bundle").iterdir()} == {*there, "report.json", "manifest.json"}
    assert manifest.problems(tmp_path / "bundle") == ()


def test_what_cannot_be_made_is_said(given, tmp_path, monkeypatch, capsys):
    """Papers that fail leave the rest of the build whole, and an error that says which and why."""

    def refuse(*_args, **_more):
        raise GeometryError("branch of 60 mm on a tube of 42 mm")

    monkeypatch.setattr("manifoldgen.drawing.papers.write_papers", refuse)
    given(factory.manifold(2))

    assert main(["build", "job.yaml", "--out", str(tmp_path), "--only", "shop,report"]) == 1
    assert "shop sheets not made: branch of 60 mm" in " ".join(capsys.readouterr().out.split())
    content = json.loads((tmp_path / "bundle" / "report.json").read_text())
    assert [f["severity"] for f in content["findings"] if f["name"] == "not-made"] == ["error"]
    assert "branch of 60 mm" in (tmp_path / "bundle" / "report.html").read_text()


@pytest.mark.parametrize("output", ["picture.jpg", "nowhere/picture.png"])
def test_a_picture_that_cannot_be_written_is_refused_first(output, tmp_path, monkeypatch, capsys):
    """Nobody waits for solids to learn that the file's name was wrong."""
    monkeypatch.chdir(tmp_path)
    assert main(["picture", "job.yaml", "-o", output]) == 2
    assert output in capsys.readouterr().err.replace("the picture into", output)


@pytest.mark.slow
def test_picture_of_one_part(given, tmp_path, monkeypatch, capsys):
    """A part or a piece by its name; a name that is nearly one is met with the right one."""
    import cadquery as cq

    tree = cq.Assembly(name="bundle")
    tree.add(cq.Workplane().box(30, 20, 5), name="head flange")
    tree.add(cq.Assembly(name="runner 2").add(cq.Workplane().box(9, 9, 40), name="R2-P1"))
    monkeypatch.setattr("manifoldgen.solids.build", lambda m: SimpleNamespace(assembly=tree))
    monkeypatch.setattr("manifoldgen.pictures.draw", partial(draw, size=(160, 120)))
    given(factory.manifold(2))
    whole, part, piece = (tmp_path / f"{name}.png" for name in ("whole", "part", "piece"))
    asked = ["picture", "job.yaml", "--view", "x", "-o"]

    assert main([*asked, str(whole)]) == 0
    assert main([*asked, str(part), "--only", "runner 2"]) == 0
    assert main([*asked, str(piece), "--only", "R2-P1"]) == 0
    assert part.read_bytes() == piece.read_bytes()
    assert part.read_bytes() != whole.read_bytes()
    assert main([*asked, str(part), "--only", "runer 2"]) == 2
    assert "did you mean runner 2?" in capsys.readouterr().err
