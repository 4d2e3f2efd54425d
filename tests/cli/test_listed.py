"""The kept work list: answered at once and the same, never where anything is not as it was, never from a foreign file."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from manifoldgen import folders
from manifoldgen.cli import job, listed, main
from manifoldgen.cli.app import app
from manifoldgen.cli.plain import PlainCall, plain
from tests.worked import JOBS

ROOT = Path(__file__).resolve().parents[2]
LIMIT_S = 0.3  # what one tick may take
HEAVY = {"typer", "rich", "numpy", "scipy", "numba", "pydantic", "yaml", "trimesh", "manifold3d"}


@pytest.fixture
def work(tmp_path, monkeypatch) -> Path:
    """A copy of the quickest demo job with a shop file, and an empty cache."""
    monkeypatch.setenv(folders.CACHE, str(tmp_path / "cache"))
    file = tmp_path / "job" / "three.yaml"
    file.parent.mkdir()
    text = (JOBS / "snow_groomer_three.yaml").read_text("utf-8")
    file.write_text(text + "\nshop: our-shop.yaml\n", encoding="utf-8")
    (file.parent / "our-shop.yaml").write_text("rates: {saw_straight: 7}\n", encoding="utf-8")
    return file


@pytest.fixture
def made(monkeypatch) -> list[Path]:
    """Every file that is worked out, in turn."""
    found: list[Path] = []
    whole = job.designed

    def designed(file: Path, **more: object) -> object:
        found.append(file)
        return whole(file, **more)

    monkeypatch.setattr(job, "designed", designed)
    return found


def run(capsys, *words: object) -> tuple[int, str, str]:
    """Exit code, stdout and stderr."""
    code = main(["worklist", *map(str, words)])
    said = capsys.readouterr()
    return code, said.out, said.err


def kept() -> Path:
    """The one list that is kept."""
    (only,) = folders.cache().glob("work-list-*.json")
    return only


def test_the_second_answer_is_the_same_and_nothing_is_worked_out(work, made, capsys) -> None:
    """Text and JSON, ticks between; beside the job lie its own files and the ticks only."""
    first = run(capsys, work)
    assert run(capsys, work) == first
    fresh = json.loads(run(capsys, work, "--format", "json")[1])
    kept().unlink()
    assert json.loads(run(capsys, work, "--format=json")[1]) == fresh
    run(capsys, work, "--done", "print-sheets")
    assert "1 of " in run(capsys, work)[1]

    assert len(made) == 2
    assert sorted(p.name for p in work.parent.iterdir()) == ["our-shop.yaml", "three.done.txt", "three.yaml"]


def test_a_tick_takes_a_moment(work, capsys) -> None:
    """In a process of its own: processor time within the limit, none of the heavy libraries, nor the parser of the verbs."""
    assert run(capsys, work)[0] == 0
    code = (
        "import os, sys; from manifoldgen.cli import main; "
        f"code = main(['worklist', {str(work)!r}, '--done', 'print-sheets']); "
        "print('took', sum(os.times()[:2])); print('loaded', *{n.partition('.')[0] for n in sys.modules}); sys.exit(code)"
    )
    runs = [
        subprocess.run(
            [sys.executable, "-c", code], capture_output=True, text=True, cwd=ROOT, check=True
        ).stdout
        for _ in range(3)
    ]
    took = min(float(out.rpartition("took ")[2].split()[0]) for out in runs)
    loaded = set(runs[0].rpartition("loaded ")[2].split())

    assert "1 of " in runs[0]
    assert took <= LIMIT_S
    assert "manifoldgen" in loaded
    assert not loaded & HEAVY


@pytest.mark.parametrize("changed", ["three.yaml", "our-shop.yaml"])
def test_a_changed_file_is_worked_out_anew_and_named(work, made, capsys, changed) -> None:
    """One blank more in the job or in its shop file; its old content again is another change."""
    run(capsys, work)
    file = work.parent / changed
    before = file.read_text("utf-8")
    file.write_text(before + "\n", encoding="utf-8")

    assert f"{changed} changed since the list was worked out: working it out again" in run(capsys, work)[2]
    assert "changed" not in run(capsys, work)[2]
    assert len(made) == 2


def test_own_minutes_count_at_once(work, capsys) -> None:
    """A rate in the shop file changes the kept list's minutes."""
    run(capsys, work)
    (work.parent / "our-shop.yaml").write_text("rates: {saw_straight: 8}\n", encoding="utf-8")
    steps = json.loads(run(capsys, work, "--format", "json")[1])["work_list"]["steps"]

    assert {s["minutes"] for s in steps if s["id"] == "cut-R1-P1"} == {8.0}


def test_a_scan_that_the_job_names_counts_too(work, made, capsys) -> None:
    """Another content under the same name is another job."""
    shutil.copy(JOBS / "strut_tower.stl", work.parent / "post.stl")
    text = work.read_text("utf-8")
    assert "\nobstacles:" in text
    far = "  - {name: far post, mesh: post.stl, clearance: 1}\n"
    work.write_text(text.replace("\nobstacles:\n", f"\nobstacles:\n{far}", 1), encoding="utf-8")
    run(capsys, work)
    with (work.parent / "post.stl").open("ab") as scan:
        scan.write(b"\0")

    assert "post.stl changed" in run(capsys, work)[2]
    assert len(made) == 2


def test_a_file_that_is_gone_is_said(work, capsys) -> None:
    """The kept list is no help where the job itself is not there."""
    run(capsys, work)
    work.unlink()
    code, _, err = run(capsys, work)

    assert code == 2
    assert "there is no file" in err


def test_another_program_works_it_out_anew(work, made, capsys, monkeypatch) -> None:
    """The same version from other source, or beside other packages, is another program."""
    run(capsys, work)
    monkeypatch.setattr(listed, "_program", lambda: "another")

    run(capsys, work)
    run(capsys, work)
    assert len(made) == 2


def test_the_program_is_its_source(tmp_path, monkeypatch) -> None:
    """A file of it that is touched, or one more, makes another program; compiled files do not."""
    package = tmp_path / "manifoldgen" / "cli"
    package.mkdir(parents=True)
    (package / "listed.py").write_text("", encoding="utf-8")
    monkeypatch.setattr(listed, "__file__", str(package / "listed.py"))
    first = listed._program()
    assert listed._program() == first
    (package / "__pycache__").mkdir()
    (package / "__pycache__" / "listed.py").write_text("x", encoding="utf-8")
    assert listed._program() == first
    (package / "more.yaml").write_text("x", encoding="utf-8")
    assert listed._program() != first


def spoilt(text: str) -> list[bytes]:
    """What may lie in the place of a kept list: broken, foreign, of another form, another job's."""
    content = json.loads(text)
    first, *rest = content["steps"]
    return [
        b"", b"{", b"\xff\xfe", b"[]", b"null", b'"list"', b"[" * 100_000, text[: len(text) // 2].encode(),
        *(json.dumps(content | change).encode() for change in (
            {"form": 0}, {"job": "/elsewhere/three.yaml"}, {"files": {}}, {"files": []}, {"steps": {}}, {"steps": [[]]},
            {"steps": [[*first[:3], "soon", *first[4:]], *rest]}, {"steps": [[1, *first[1:]], *rest]}, {"findings": [1]},
            {"findings": [{"message": "?"}]}, {"name": None, "steps": None},
        )),
        json.dumps({k: v for k, v in content.items() if k != "steps"}).encode(),
    ]  # fmt: skip


def test_a_broken_or_foreign_list_is_ignored(work, made, capsys) -> None:
    """Whatever lies there: the same answer, worked out and kept anew, no word of it."""
    first = run(capsys, work)
    good = kept().read_text("utf-8")
    for count, content in enumerate(spoilt(good), start=2):
        kept().write_bytes(content)
        assert run(capsys, work) == first, content[:60]
        assert len(made) == count, content[:60]
        assert kept().read_text("utf-8") == good


def test_a_cache_that_cannot_be_written_is_no_fault(work, made, capsys, monkeypatch, tmp_path) -> None:
    """A file where the folder should be: answered, each time worked out."""
    (tmp_path / "no-folder").write_text("", encoding="utf-8")
    monkeypatch.setenv(folders.CACHE, str(tmp_path / "no-folder" / "cache"))

    assert run(capsys, work)[0] == 0
    assert run(capsys, work)[0] == 0
    assert len(made) == 2


def test_a_job_that_changes_while_it_is_worked_out_is_not_kept(work, capsys, monkeypatch) -> None:
    """An editor that saves in between: what was worked out is shown, and worked out again next time."""
    whole = job.designed

    def slow(file: Path, **more: object) -> object:
        design = whole(file, **more)
        file.write_text(file.read_text("utf-8") + "\n", encoding="utf-8")
        return design

    monkeypatch.setattr(job, "designed", slow)
    assert run(capsys, work)[0] == 0
    assert list(folders.cache().glob("work-list-*")) == []


@pytest.mark.parametrize(
    ("words", "asked"),
    [
        (["worklist", "a.yaml"], PlainCall(Path("a.yaml"))),
        (["worklist", "a.yaml", "--done", "x", "--done=y"], PlainCall(Path("a.yaml"), ("x", "y"))),
        (["worklist", "--undo", "x", "a.yaml", "--format", "json"], PlainCall(Path("a.yaml"), undo=("x",), as_json=True)),
        (["worklist", "a.yaml", "--format=text"], PlainCall(Path("a.yaml"))),
        *((["worklist", *rest], None) for rest in (
            [], ["a", "b"], ["a", "--help"], ["-h"], ["a", "--done"], ["a", "--done", "--undo"], ["a", "--format", "xml"],
            ["a", "--", "b"], ["a", "--don", "x"], ["a", "-d", "x"], ["a", "--format"],
        )),
        (["check", "a.yaml"], None),
        ([], None),
    ],
)  # fmt: skip
def test_plain_calls_are_read_by_hand_and_no_others(words, asked) -> None:
    """Whatever is not plain goes to the parser, which judges it."""
    assert plain(words) == asked


def test_the_parser_gives_the_same_answer(work, capsys) -> None:
    """The two ways in: same text, same exit code."""
    by_hand = run(capsys, work, "--done", "print-sheets")
    with pytest.raises(SystemExit) as end:
        app(args=["worklist", str(work), "--done", "print-sheets"], prog_name="manifoldgen")
    said = capsys.readouterr()

    assert (end.value.code, said.out) == by_hand[:2]
