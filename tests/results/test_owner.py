"""Two files with one name: neither's results are written over by the other's; a file moved or built again replaces its own."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest

import manifoldgen as mg
from manifoldgen.cli import job as cli_job
from manifoldgen.cli import main
from manifoldgen.errors import OutputError
from manifoldgen.export import manifest
from manifoldgen.export.atomic import whole_folder
from manifoldgen.manifold.model import Manifold
from manifoldgen.parameters import load
from manifoldgen.results.owner import claim, refuse_others
from tests import factory
from tests.jobs import FOUR

NAME = "bench-four"


def file(folder: Path, name: str = "four.yaml", gap: int = 12) -> Path:
    """A job's file; `gap` stands for an edit."""
    folder.mkdir(parents=True, exist_ok=True)
    made = folder / name
    made.write_text(FOUR.replace("{gap: 12,", f"{{gap: {gap},"), "utf-8")
    return made


def job(path: Path) -> Manifold:
    """The job of a file, laid out."""
    return mg.assemble(load(path))


def built(m: Manifold, out: Path) -> list[str]:
    """A build cut down to what owners are about: refuse, write, claim.  Returns what was told."""
    told: list[str] = []
    refuse_others(m, out, told.append)
    with whole_folder(out / m.name) as folder:
        (folder / "gap.txt").write_text(f"{m.limits.gap:g}")
        made_by = manifest.MadeBy(Path(m.origin.file).name, m.origin.sha256) if m.origin else None
        manifest.write(folder, m.name, job=made_by)
    claim(m, out)
    return told


def gap(out: Path) -> str:
    """Whose results are there."""
    return (out / NAME / "gap.txt").read_text()


def test_the_same_file_replaces_its_results(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Edited and built again, from here, from its own folder, through a link: nothing is said."""
    out = tmp_path / "exports"
    path = file(tmp_path / "jobs")
    assert built(job(path), out) == []
    assert built(job(file(tmp_path / "jobs", gap=13)), out) == []
    monkeypatch.chdir(tmp_path / "jobs")
    assert built(job(Path("four.yaml")), Path("../exports")) == []
    (tmp_path / "linked").symlink_to(tmp_path / "jobs")
    assert built(job(tmp_path / "linked" / "four.yaml"), out) == []
    assert gap(out) == "13"


@pytest.mark.parametrize(
    ("folder", "name", "edit"),
    [("jobs", "four-b.yaml", 14), ("others", "four.yaml", 14), ("jobs", "four-b.yaml", 12)],
    ids=["beside it", "of the same name elsewhere", "not edited yet"],
)
def test_another_file_is_refused(tmp_path: Path, folder: str, name: str, edit: int) -> None:
    """A copy that kept the name: one sentence with both files and what to do; the results stay whole."""
    out = tmp_path / "exports"
    first = file(tmp_path / "jobs")
    built(job(first), out)
    second = file(tmp_path / folder, name, gap=edit)

    with pytest.raises(OutputError) as caught:
        built(job(second), out)
    assert str(caught.value) == (
        f"{out / NAME} holds the results of {first}, not of {second}, and both have name: bench-four; "
        "change the name in one of them, move that folder away, or give another --out"
    )
    assert gap(out) == "12"
    assert manifest.problems(out / NAME) == ()
    assert built(job(second), tmp_path / "other") == []  # another --out
    (out / NAME).rename(out / "kept")
    assert built(job(second), out) == []  # that folder moved away


def test_a_moved_file_replaces_its_results(tmp_path: Path) -> None:
    """Renamed or moved, and edited: its old place is empty, so it is the same job; that is told."""
    out = tmp_path / "exports"
    first = file(tmp_path / "jobs")
    built(job(first), out)
    first.unlink()

    told = built(job(file(tmp_path / "shed", "mine.yaml", gap=15)), out)
    assert told == ["the results of four.yaml, which is no longer there, are replaced"]
    assert gap(out) == "15"
    assert built(job(file(tmp_path / "shed", "mine.yaml", gap=16)), out) == []


def test_the_whole_tree_moved(tmp_path: Path) -> None:
    """Jobs and results moved together belong together as before; a second file is still refused."""
    built(job(file(tmp_path / "a" / "jobs")), tmp_path / "a" / "exports")
    (tmp_path / "a").rename(tmp_path / "b")
    out = tmp_path / "b" / "exports"

    assert built(job(file(tmp_path / "b" / "jobs", gap=14)), out) == []
    with pytest.raises(OutputError, match="holds the results of"):
        built(job(file(tmp_path / "b" / "jobs", "copy.yaml")), out)


def test_results_without_the_note(tmp_path: Path) -> None:
    """Copied without what is hidden, results are known by the name or the content of their file, and that is told."""
    out = tmp_path / "exports"
    built(job(file(tmp_path / "jobs")), out)
    (out / f".{NAME}.job").unlink()
    with pytest.raises(OutputError, match=r"holds the results of four\.yaml, not of"):
        built(job(file(tmp_path / "jobs", "other.yaml", gap=14)), out)

    told = built(job(file(tmp_path / "jobs", gap=14)), out)
    assert told == ["the results of four.yaml are taken for those of this file, and replaced"]


def test_jobs_from_no_file(tmp_path: Path) -> None:
    """A mapping's results replace a mapping's, and neither a file's nor the other way round."""
    out = tmp_path / "exports"
    path = file(tmp_path / "jobs")
    bare = replace(job(path), origin=None)
    assert built(bare, out) == built(bare, out) == []
    with pytest.raises(OutputError, match=r"results of a job that came from no file, not of .*four\.yaml"):
        built(job(path), out)

    built(job(path), tmp_path / "other")
    with pytest.raises(OutputError, match=r"results of four\.yaml, not of a job that came from no file"):
        built(bare, tmp_path / "other")


def test_results_of_an_older_version(tmp_path: Path) -> None:
    """A manifest that does not say whose it is is replaced, as it was then."""
    out = tmp_path / "exports"
    path = file(tmp_path / "jobs")
    built(job(path), out)
    (out / f".{NAME}.job").unlink()
    kept = out / NAME / manifest.MANIFEST
    content = json.loads(kept.read_text("utf-8"))
    del content["job"]
    kept.write_text(json.dumps(content), "utf-8")

    assert built(job(file(tmp_path / "jobs", "other.yaml")), out) == []


def test_build_refuses_before_it_works(tmp_path: Path, monkeypatch, capsys) -> None:
    """The verb: the second file ends with 2 before anything is worked out; the manifest names the first, no folder."""
    first, second = file(tmp_path / "jobs"), file(tmp_path / "jobs", "copy.yaml")
    m = factory.manifold(2)
    origins = {path: job(path).origin for path in (first, second)}
    monkeypatch.setattr(cli_job, "laid", lambda path, **_: replace(m, origin=origins[path]))
    out = tmp_path / "exports"
    asked = ["build", "--out", str(out), "--only", "report"]

    assert main([*asked, str(first)]) == 0
    text = (out / m.name / "manifest.json").read_text("utf-8")
    assert json.loads(text)["job"] == {"file": "four.yaml", "sha256": origins[first].sha256}
    assert str(tmp_path) not in text
    capsys.readouterr()
    monkeypatch.setattr(cli_job, "worked_out", None)
    assert main([*asked, str(second)]) == 2
    told = capsys.readouterr().err
    assert f"holds the results of {first}, not of {second}" in told
    assert len(told.strip().splitlines()) <= 2
    with pytest.raises(OutputError, match="holds the results of"):
        mg.build(replace(m, origin=origins[second]), out, only="report")
