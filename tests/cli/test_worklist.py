"""`manifoldgen worklist`: what is left, what is kept beside the job, and what becomes of a file that is wrong."""

from __future__ import annotations

import json
import re
from dataclasses import replace

import pytest

import manifoldgen as mg
from manifoldgen import folders
from manifoldgen.cli import job, main, ticked
from manifoldgen.designs import Design
from manifoldgen.geometry.path import Path as Line
from manifoldgen.geometry.path import Straight
from manifoldgen.pieces import split
from tests import factory
from tests.worked import bare


@pytest.fixture(scope="module")
def designed():
    """The design of a manifold, made once for all tests that read it unchanged."""
    made: dict[str, Design] = {}

    def read(file, **_: object) -> Design:
        m = job.laid(file)
        key = repr((m.runs, m.limits))
        if key not in made:
            made[key] = mg.design(m)
        return made[key]

    return read


@pytest.fixture
def file(tmp_path, straight_job, designed, monkeypatch):
    """A job's file; its content is not read.  Lists are kept in a folder of the test's own."""
    monkeypatch.setenv(folders.CACHE, str(tmp_path.parent / f"{tmp_path.name}-cache"))
    monkeypatch.setattr(job, "designed", designed)
    path = tmp_path / "orchard.yaml"
    path.write_text("format: 1\n", encoding="utf-8")
    return path


def run(capsys, *words: object) -> tuple[int, str, str]:
    """Exit code, stdout and stderr."""
    code = main(["worklist", *map(str, words)])
    said = capsys.readouterr()
    return code, said.out, said.err


def kept(file) -> str:
    """The text beside the job."""
    return (file.parent / "orchard.done.txt").read_text("utf-8")


def test_all_is_left_at_first_and_nothing_is_written(file, capsys) -> None:
    """Every step in working order with number and station, time left by station, the first as next, no file."""
    code, out, _ = run(capsys, file)

    assert code == 0
    assert "next: print-sheets (desk)" in out
    assert "bundle: 0 of " in out
    assert re.search(r"left by station: desk 10 min, .*saw .*mill .*torch ", " ".join(out.split()))
    shown = re.findall(r"^ *(\d+)  (\S+) +(desk|printer|engine|store|laser shop|saw|belt sander|drill|mill|bench|torch|assembly) +\d+  ", out, re.MULTILINE)  # fmt: skip
    assert [int(n) for n, *_ in shown] == list(range(1, len(shown) + 1))
    assert f"0 of {len(shown)} steps done" in out
    assert ("1", "print-sheets", "desk") in shown
    assert [p.name for p in file.parent.iterdir()] == ["orchard.yaml"]


def test_done_is_kept_and_leaves_the_list(file, capsys) -> None:
    """A step by its id, a joint with all its steps; the next call knows it; undo takes it back."""
    code, out, err = run(capsys, file, "--done", "print-sheets", "--done", "J1.1")
    assert code == 0
    assert "orchard.done.txt" in err
    assert "bundle: " in out
    assert " 0 of " not in out
    assert "tack-J1.1" not in out
    assert "weld-J2.1" in out
    assert {"print-sheets", "tack-J1.1", "weld-J1.1"} <= set(kept(file).split())

    again = run(capsys, file)[1]
    assert again == out
    run(capsys, file, "--undo", "weld-J1.1")
    assert "weld-J1.1" not in kept(file)
    assert "tack-J1.1" in kept(file)


@pytest.mark.parametrize(
    ("word", "told"),
    [("wled-J1.1", "did you mean weld-J1.1?"), ("j1.1", "did you mean J1.1?"), ("xyzzy", "lists the ids")],
)
def test_an_unknown_id_changes_nothing(file, capsys, word, told) -> None:
    """Exit 2, the nearest id, and not even the known ids of the same call are written."""
    run(capsys, file, "--done", "print-sheets")
    before = kept(file)
    for option in ("--done", "--undo"):
        code, out, err = run(capsys, file, "--done", "order-stock", option, word)
        assert code == 2
        assert f"'{word}'" in err
        assert told in err
        assert out == ""
        assert kept(file) == before


def test_words_of_the_user_stay(file, capsys) -> None:
    """Notes, blank lines and his own order survive; his note is not taken for numbers; a byte-order mark is no harm."""
    own = "# Monday, with Kim\n\nprint-sheets   # on the good paper\ncut-R2-P1 # by Kim, blade no. 3\n"
    (file.parent / "orchard.done.txt").write_text("\ufeff" + own, encoding="utf-8")
    _, out, _ = run(capsys, file, "--done", "order-stock", "--done", "cut-R2-P1")

    assert kept(file).startswith(own)
    assert kept(file).splitlines()[-1] == "order-stock"
    assert "was done to" not in out


def test_steps_that_are_gone_and_changed_numbers_are_named(file, capsys, monkeypatch) -> None:
    """After an edit: a tick without a step, and a piece that was cut to another length; neither is dropped."""
    run(capsys, file, "--done", "cut-R1-P1", "--done", "cut-R2-P1")
    path = file.parent / "orchard.done.txt"
    path.write_text(path.read_text("utf-8") + "weld-J9.9\n", encoding="utf-8")
    m = factory.manifold(3)
    first = m.runners[0]
    longer = replace(first, path=Line(first.start, (Straight(203.0),)))
    edited = split(replace(m, runners=(longer, *m.runners[1:])))
    monkeypatch.setattr(job, "laid", lambda file, **_: edited)
    file.write_text("format: 1  # longer\n", encoding="utf-8")

    code, out, err = run(capsys, file)
    assert code == 1  # its end misses the inlet by 3 mm now
    assert "orchard.yaml changed since the list was worked out: working it out again" in err
    assert "no longer in the job: weld-J9.9" in out
    assert "cut-R1-P1 was done to" in out
    assert "cut-R2-P1 was done to" not in out
    assert "weld-J9.9" in kept(file)
    run(capsys, file, "--undo", "weld-J9.9", "--done", "cut-R1-P1")
    _, out, _ = run(capsys, file)
    assert "no longer" not in out
    assert "was done to" not in out


def test_errors_that_stand_are_told_and_still_kept(file, capsys, monkeypatch) -> None:
    """Exit 1 and `do not cut`; what is done is done nevertheless."""
    m = factory.manifold(3)
    tight = split(replace(m, limits=replace(m.limits, flange_straight=500.0)))
    monkeypatch.setattr(job, "laid", lambda file, **_: tight)
    code, out, _ = run(capsys, file, "--done", "print-sheets")

    assert code == 1
    assert "do not cut" in out
    assert "print-sheets" in kept(file)


def test_a_disk_that_refuses_leaves_the_file(file, capsys, monkeypatch) -> None:
    """One sentence, exit 2, the old ticks, no scrap beside them."""
    run(capsys, file, "--done", "print-sheets")
    before = kept(file)

    def refuse(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.replace", refuse)
    code, _, err = run(capsys, file, "--done", "order-stock")
    assert code == 2
    assert "No space left on device" in err
    assert kept(file) == before
    assert sorted(p.name for p in file.parent.iterdir()) == ["orchard.done.txt", "orchard.yaml"]


@pytest.mark.parametrize("content", [b"\xff\xfe\x00weld", b"x" * (ticked.MOST_BYTES + 1)])
def test_a_file_that_is_no_list_is_left_alone(file, capsys, content) -> None:
    """Not UTF-8, or far too large: said in a sentence, untouched."""
    path = file.parent / "orchard.done.txt"
    path.write_bytes(content)
    code, _, err = run(capsys, file, "--done", "print-sheets")

    assert code == 2
    assert "orchard.done.txt" in err
    assert "move it away" in err
    assert path.read_bytes() == content


def test_a_folder_in_its_place_is_said(file, capsys) -> None:
    """No traceback where the list cannot be a file."""
    (file.parent / "orchard.done.txt").mkdir()
    code, _, err = run(capsys, file)

    assert code == 2
    assert "not a small text file" in err


def test_open_paths_have_no_pieces(file, capsys, monkeypatch) -> None:
    """Without a path there is nothing to saw: exit 2 and the command that helps."""
    m = factory.manifold(3)
    run_open = replace(m.runners[0], path=None, todo="auto")
    unfound = bare(split(replace(m, runners=(run_open, *m.runners[1:]))))
    monkeypatch.setattr(job, "designed", lambda file, **_: unfound)
    code, _, err = run(capsys, file)

    assert code == 2
    assert "runner 1" in err
    assert "manifoldgen route" in err


def test_json_holds_every_step(file, capsys) -> None:
    """One object: steps with done, minutes left by station, numbers as numbers."""
    run(capsys, file, "--done", "print-sheets")
    code, out, _ = run(capsys, file, "--format", "json")
    content = json.loads(out)
    work = content["work_list"]

    assert code == 0
    assert content["ok"]
    assert {f["severity"] for f in content["findings"]} <= {"warning", "note"}
    assert [s["id"] for s in work["steps"] if s["done"]] == ["print-sheets"]
    left = [s["minutes"] for s in work["steps"] if not s["done"]]
    assert work["minutes_left"] == pytest.approx(sum(left))
    assert sum(work["minutes_by_station"].values()) == pytest.approx(sum(left))
    assert work["not_in_job"] == []
    assert [s["number"] for s in work["steps"]] == list(range(1, len(work["steps"]) + 1))
    assert "desk" not in work["minutes_by_station"]
