"""How a command ends: exit codes, one sentence, a log for faults of our own, never a traceback."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from manifoldgen.cli import job, main
from manifoldgen.errors import ManifoldgenError


@pytest.fixture(autouse=True)
def _own_state(tmp_path, monkeypatch):
    """Keep logs of these tests out of the user's folder."""
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    monkeypatch.setenv("LOCALAPPDATA", str(tmp_path / "state"))


def failing(monkeypatch, error: BaseException) -> None:
    """Make reading any job file fail."""

    def read(file, **_):
        raise error

    monkeypatch.setattr(job, "laid", read)


def test_users_mistake_is_one_sentence(monkeypatch, capsys):
    """A wrong file ends with 2 and its sentence on stderr; stdout stays clean for whoever reads it."""
    failing(monkeypatch, ManifoldgenError("job.yaml:3:5: unknown key 'wal'; did you mean 'wall'?"))

    assert main(["check", "job.yaml"]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err == "job.yaml:3:5: unknown key 'wal'; did you mean 'wall'?\n"


def test_our_fault_leaves_a_log(monkeypatch, capsys, tmp_path):
    """A fault of the program is one sentence with the log's path; the traceback is in the log only."""
    failing(monkeypatch, ZeroDivisionError("division by zero"))

    assert main(["check", "job.yaml"]) == 2
    err = capsys.readouterr().err
    logs = list((tmp_path / "state" / "manifoldgen").iterdir())
    assert err.count("\n") == 1
    assert "Traceback" not in err
    assert str(logs[0]) in err
    assert "Traceback" in logs[0].read_text()
    assert "command: manifoldgen check job.yaml" in logs[0].read_text()


def test_debug_shows_the_traceback(monkeypatch, capsys):
    """`--debug` anywhere in the line shows where an error came from."""
    failing(monkeypatch, ManifoldgenError("wrong"))

    assert main(["check", "job.yaml", "--debug"]) == 2
    err = capsys.readouterr().err
    assert "Traceback" in err
    assert err.endswith("wrong\n")


def test_ctrl_c_is_quiet(monkeypatch, capsys):
    """Stopping a run is no fault: no traceback, the shell's usual 130."""
    failing(monkeypatch, KeyboardInterrupt())

    assert main(["check", "job.yaml"]) == 130
    assert "Traceback" not in capsys.readouterr().err


@pytest.mark.parametrize(
    ("error", "told"),
    [
        (ModuleNotFoundError("No module named 'vtkmodules'", name="vtkmodules"), "pip install vtk"),
        (
            ImportError("libGL.so.1: cannot open shared object file: No such file or directory"),
            "apt-get install libgl1",
        ),
    ],
    ids=["python", "system"],
)
def test_a_missing_library_is_named(monkeypatch, capsys, error, told):
    """What is missing and how to get it, in one sentence."""
    failing(monkeypatch, error)

    assert main(["check", "job.yaml"]) == 2
    err = capsys.readouterr().err
    assert told in err
    assert "fault of the program" not in err


@pytest.mark.parametrize(
    "words",
    [["chek", "job.yaml"], ["check"], ["check", "a.yaml", "b.yaml"], ["check", "a", "--format", "xml"]],
)
def test_a_wrong_call_is_2(words, capsys):
    """Mistyped verbs and options end with 2 and say what was meant."""
    assert main(words) == 2
    assert "Traceback" not in capsys.readouterr().err


def test_a_missing_file_names_the_way_out(tmp_path, capsys):
    """The first thing everybody mistypes is the file."""
    missing = tmp_path / "no.yaml"

    assert main(["check", str(missing)]) == 2
    err = capsys.readouterr().err
    assert str(missing) in err
    assert err.count("\n") == 1


def test_version_and_help(capsys):
    """Both end clean; the help lists every verb."""
    assert main(["--version"]) == 0
    assert main(["--help"]) == 0
    out = capsys.readouterr().out
    for verb in ("init", "check", "route", "build", "picture", "explain", "schema", "doctor"):
        assert f"\n  {verb} " in out


def started(code: str, **environment: str) -> subprocess.CompletedProcess:
    """Run `code` in a fresh interpreter."""
    env = {**os.environ, **environment}
    root = Path(__file__).resolve().parents[2]
    return subprocess.run([sys.executable, "-c", code], capture_output=True, env=env, cwd=root, check=False)


@pytest.mark.parametrize("encoding", ["cp1252", "ascii"])
def test_every_sentence_fits_every_console(encoding):
    """A console without our characters gets a plain spelling, not an error."""
    code = "from manifoldgen.cli import terminal as t; t.prepare(); t.emit('12° → 3 ≤ 4 × 5 …'); t.say('≥')"
    done = started(code, PYTHONIOENCODING=encoding)

    assert done.returncode == 0
    expected = {"cp1252": "12° -> 3 <= 4 × 5 …", "ascii": "12 deg -> 3 <= 4 x 5 ..."}[encoding]
    assert done.stdout.decode(encoding).strip() == expected
    assert done.stderr.decode(encoding).strip() == ">="


def test_a_reader_that_leaves_is_no_error():
    """`manifoldgen schema | head -1` must neither complain nor end as if there were findings."""
    root = Path(__file__).resolve().parents[2]
    command = [sys.executable, "-m", "manifoldgen", "schema"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, cwd=root) as writer:
        writer.stdout.close()
        told = writer.stderr.read()

    assert told == b""
    assert writer.returncode == 0


@pytest.mark.parametrize("words", [["--format", "json"], ["--format=json"]])
def test_what_is_wrong_is_an_object_where_stdout_is_read_by_a_program(words, tmp_path, capsys):
    """Every sentence with its place, once as an object on stdout, once in plain words on stderr; without it stdout is empty."""
    file = tmp_path / "job.yaml"
    file.write_text("format: 1\nname: [a\n")
    assert main(["check", str(file), *words]) == 2
    read = capsys.readouterr()
    told = json.loads(read.out)

    assert told["ok"] is False
    assert told["errors"] == read.err.splitlines()
    assert all(line.startswith(f"{file}:") for line in told["errors"])
    assert main(["check", str(file)]) == 2
    assert capsys.readouterr().out == ""


def test_completion_is_offered_for_the_shells(capsys):
    """The script that a shell asks for names the program; `--help` says how to install it."""
    assert main(["--help"]) == 0
    assert "--install-completion" in capsys.readouterr().out
    asked = {
        **os.environ,
        "_MANIFOLDGEN_COMPLETE": "complete_bash",
        "COMP_WORDS": "manifoldgen rou",
        "COMP_CWORD": "1",
    }
    program = "from manifoldgen.cli import main; raise SystemExit(main([]))"
    done = subprocess.run(
        [sys.executable, "-c", program], env=asked, capture_output=True, text=True, check=False
    )
    assert done.stdout.split() == ["route"]
