"""`init`, `explain`, `schema` and `doctor`."""

from __future__ import annotations

import json

import pytest

from manifoldgen.checks.registry import KINDS
from manifoldgen.cli import doctor, main
from manifoldgen.errors import MissingLibraryError
from manifoldgen.parameters import load


@pytest.mark.parametrize("cylinders", [2, 4])
def test_init_writes_a_file_that_loads(cylinders, tmp_path, monkeypatch, capsys):
    """The first file a user has must be right, and the next command must be said."""
    monkeypatch.chdir(tmp_path)

    assert main(["init", "first-job", "--cylinders", str(cylinders)]) == 0
    assert "next: manifoldgen check first-job.yaml" in capsys.readouterr().out
    job = load(tmp_path / "first-job.yaml")
    assert job.name == "first-job"
    assert len(job.engine.firing_order) == cylinders


def test_init_never_overwrites(tmp_path, monkeypatch, capsys):
    """An evening's measurements are in that file."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "mine.yaml").write_text("measured")

    assert main(["init", "mine"]) == 2
    assert "mine.yaml exists and is not overwritten" in capsys.readouterr().err
    assert (tmp_path / "mine.yaml").read_text() == "measured"


@pytest.mark.parametrize("name", ["../up", "Big", "", "a b", "-x", "a" * 65])
def test_init_refuses_names_that_are_no_folder(name, tmp_path, monkeypatch):
    """The name becomes a folder under exports: it must not lead out of it."""
    monkeypatch.chdir(tmp_path)

    assert main(["init", "--cylinders", "4", "--", name]) == 2
    assert list(tmp_path.iterdir()) == []


def test_explain_every_finding(capsys):
    """Whatever name a check prints, `explain` has a text for it."""
    for name in KINDS:
        assert main(["explain", name]) == 0
    out = capsys.readouterr().out
    assert out.count("Why: ") == out.count("Do: ") == len(KINDS)
    assert "wastegate-aim (error or warning): The wastegate branch turns" in out


def test_explain_without_a_name_lists_them_all(capsys):
    """Every name once, in order, each with what it means."""
    assert main(["explain"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert [line.split()[0] for line in lines if not line.startswith(" ")] == sorted(KINDS)


def test_explain_helps_with_spelling(capsys):
    """A name typed from memory is nearly right."""
    assert main(["explain", "runer-gap"]) == 2
    assert "did you mean runner-gap?" in capsys.readouterr().err


def test_schema_is_one_json_object(capsys):
    """An editor reads it as it is printed."""
    assert main(["schema"]) == 0
    schema = json.loads(capsys.readouterr().out)
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    assert "head_flange" in schema["properties"]


def quick_doctor(monkeypatch, kernel: bool = True, drawing: Exception | None = None) -> None:
    """Leave the two slow trials of `doctor` out, with the given outcome."""

    def draw(*parts, **options):
        if drawing:
            raise drawing

    monkeypatch.setattr(doctor, "_runs", lambda code: kernel)
    monkeypatch.setattr("manifoldgen.pictures.draw", draw)


def test_doctor_names_versions(monkeypatch, capsys):
    """What a report of a fault needs: system, Python, libraries."""
    quick_doctor(monkeypatch)

    assert main(["doctor"]) == 0
    out = capsys.readouterr().out
    assert out.endswith("everything is there\n")
    for name in ("python", "manifoldgen", "cadquery-ocp", "vtk"):
        assert f"\n{name} " in out


def test_doctor_names_what_is_missing_and_the_packages(monkeypatch, capsys):
    """Without EGL nothing can be drawn: the Debian packages are named, the end is not clean."""
    quick_doctor(monkeypatch, drawing=MissingLibraryError("this system cannot draw"))

    assert main(["doctor"]) == 2
    out = capsys.readouterr().out
    assert "next: apt-get install libegl-mesa0 libegl1 libgl1-mesa-dri" in out
    assert out.endswith("something is missing\n")
