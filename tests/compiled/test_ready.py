"""Routines made ready: compiled in other processes, counted, told on stderr, and without a trace in the results."""

from __future__ import annotations

import os
import re
import shutil
import signal
import subprocess
import sys
from contextlib import suppress
from pathlib import Path

import pytest

from manifoldgen.cli import compiling
from manifoldgen.compiled import kept, modules, ready
from manifoldgen.compiled.modules import Modules

ROOT = modules.PACKAGE.parent
JOB = ROOT / "cq_scripts" / "jobs" / "sand_rail_four.yaml"
NOTICE = re.compile(r"^compiling measuring routines: (\d+) of (\d+), once for this version\r?$", re.MULTILINE)
# two lists that share most of what they need, made ready and then used
MADE_READY = """
from manifoldgen.compiled import ready
from manifoldgen.compiled.modules import Modules
told = []
lists = (Modules(1, ("access._gjk",)), Modules(1, ("access._slide",)))
ready.make_ready(lists, lambda done, total: told.append((done, total)))
print(*dict.fromkeys(told))
from manifoldgen.access._slide import slide
print(sum(slide.stats.cache_hits.values()), sum(slide.stats.cache_misses.values()))
"""


def check(*words: str, **environment: str) -> subprocess.CompletedProcess[str]:
    """`manifoldgen check` of the example job."""
    command = [sys.executable, "-m", "manifoldgen", "check", str(JOB), *words]
    return subprocess.run(
        command, capture_output=True, text=True, env={**os.environ, **environment}, cwd=ROOT, check=True
    )


@pytest.fixture(scope="module")
def everything():
    """The folder with all that a check needs; compiled here if it is not yet."""
    ready.make_ready(ready.needed(scans=False, search=False), lambda _done, _total: None)
    folder = kept.folder()
    assert folder is not None
    return folder


def copied(everything: Path, to: Path, *, without: str) -> Path:
    """A cache that lacks the routines of some modules."""
    to.mkdir(parents=True)
    for file in everything.iterdir():
        if not re.match(without, file.name):
            shutil.copyfile(file, to / file.name)
    return to


@pytest.fixture
def lacking(everything, tmp_path):
    """A place for compiled code where the searching kernels of tubes are missing."""
    copied(everything, tmp_path / everything.name, without=r"geometry\._search\.")
    return tmp_path


def test_processes_compile_and_the_count_rises(tmp_path):
    """From none to all; what they have made is found by the process that waited."""
    done = subprocess.run(
        [sys.executable, "-c", MADE_READY], capture_output=True, text=True, cwd=ROOT, check=True,
        env={**os.environ, kept.FOLDER: str(tmp_path)},
    )  # fmt: skip
    counts, found = done.stdout.splitlines()

    assert counts.startswith("(0, 5) ")
    assert counts.endswith(" (5, 5)")
    assert counts == " ".join(sorted(counts.replace(") (", ")|(").split("|")))
    assert found == "1 0"


@pytest.mark.skipif(sys.platform == "win32", reason="there are no such terminals")
def test_a_terminal_sees_the_count_rise(lacking):
    """From what is there to all of it, each count once."""
    command = [sys.executable, "-m", "manifoldgen", "check", str(JOB)]
    ours, theirs = os.openpty()
    with subprocess.Popen(
        command,
        stdout=subprocess.DEVNULL,
        stderr=theirs,
        cwd=ROOT,
        env={**os.environ, kept.FOLDER: str(lacking)},
    ):
        os.close(theirs)
        seen = b""
        with suppress(OSError):  # the other end is closed
            while more := os.read(ours, 4096):
                seen += more
    os.close(ours)
    counts = [(int(a), int(b)) for a, b in NOTICE.findall(seen.decode())]
    total = sum(len(some.kernels) for some in modules.CHECK)

    assert counts[0] == (total - len(modules.kernels("geometry._search")), total)
    assert counts[-1] == (total, total)
    assert counts == sorted(set(counts))


def test_elsewhere_it_is_one_line_and_the_paths_and_the_results_are_the_same(lacking):
    """Compiled or found: not a byte of what goes down a pipe changes, and nothing is said once all is there."""
    first = check(NUMBA_CACHE_DIR=str(lacking))
    again = check(NUMBA_CACHE_DIR=str(lacking))
    before, table = first.stderr.split("once for this version")  # said once

    assert before.startswith("compiling measuring routines: ")
    assert re.findall(r"^ (\d) +\d+\.\d ", table, re.MULTILINE) == ["1", "3", "4"]  # 2 ends in `close`
    assert "compiling" not in again.stderr
    assert first.stdout == again.stdout != ""


@pytest.mark.skipif(sys.platform == "win32", reason="there are no such signals")
def test_stopped_while_compiling_it_leaves_nothing_half(lacking):
    """Ctrl-C: the exit code says so, at once, and the next run does what this one has not."""
    command = [sys.executable, "-m", "manifoldgen", "check", str(JOB)]
    env = {**os.environ, kept.FOLDER: str(lacking), "PYTHONUNBUFFERED": "1"}
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, cwd=ROOT, env=env
    ) as process:
        assert process.stderr is not None
        assert b"compiling" in process.stderr.readline()
        process.send_signal(signal.SIGINT)
        printed, _ = process.communicate()

    assert (process.returncode, printed) == (130, b"")
    assert check(NUMBA_CACHE_DIR=str(lacking)).stdout == check().stdout


def test_whatever_stops_it_its_processes_are_gone(tmp_path, monkeypatch):
    """Nobody's machine goes on compiling once the command has ended."""
    start, started, seen = ready._started, [], []
    monkeypatch.setenv(kept.FOLDER, str(tmp_path))
    monkeypatch.setattr(kept, "folder", lambda: tmp_path)
    monkeypatch.setattr(ready, "_started", lambda names: started.append(start(names)) or started[-1])

    def tell(done: int, total: int) -> None:
        seen.append((done, total))
        if started:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        ready.make_ready(modules.SCANS, tell)
    assert [process.returncode is None for process in started] == [False]


@pytest.mark.slow
def test_two_at_a_time_do_not_disturb_each_other(tmp_path):
    """Both compile and both write; each gets right code, and so does who comes later."""
    env = {**os.environ, kept.FOLDER: str(tmp_path)}
    both = [
        subprocess.Popen(
            [sys.executable, "-c", MADE_READY], stdout=subprocess.PIPE, text=True, cwd=ROOT, env=env
        )
        for _ in range(2)
    ]
    answers = [process.communicate()[0].splitlines() for process in both]

    assert [process.returncode for process in both] == [0, 0]
    assert all(told[0].endswith("(5, 5)") and told[1] == "1 0" for told in answers)


def test_a_place_among_temporary_files_is_told(lacking, monkeypatch):
    """Where what is compiled goes, and why it does not go where the user would look for it."""
    (lacking / "elsewhere" / "version").mkdir(parents=True)
    monkeypatch.setattr(kept, "folder", lambda: lacking / "elsewhere" / "version")
    assert (
        compiling._how_often()
        == f"kept in {lacking / 'elsewhere'}, as {kept.place()} cannot be written or is full"
    )

    monkeypatch.setattr(kept, "_writable", lambda _: False)
    assert compiling._how_often() == "anew in every run: no folder takes them"


def test_a_mistake_in_the_file_is_told_before_anything_is_compiled(tmp_path):
    """Nobody waits for a compiler to learn of a slip of the pen."""
    job = tmp_path / "job.yaml"
    job.write_text(JOB.read_text("utf-8").replace("runners:", "runers:"), "utf-8")
    done = subprocess.run(
        [sys.executable, "-m", "manifoldgen", "check", str(job)], capture_output=True, text=True, cwd=ROOT,
        env={**os.environ, kept.FOLDER: str(tmp_path / "empty")}, check=False,
    )  # fmt: skip

    assert done.returncode == 2
    assert "runers" in done.stderr
    assert "compiling" not in done.stderr
    assert not (tmp_path / "empty").exists()


def test_a_cache_that_can_only_be_read_is_read(lacking, everything, tmp_path, monkeypatch):
    """One that an administrator has filled; one that lacks something is left."""
    monkeypatch.setattr(kept, "_writable", lambda folder: folder.parent == kept._temporary())
    monkeypatch.setenv("TMPDIR", str(tmp_path))
    monkeypatch.setattr("tempfile.tempdir", None)
    kept._temporary().mkdir(mode=0o700)
    monkeypatch.setenv(kept.FOLDER, str(everything.parent))
    assert kept.folder.__wrapped__() == everything

    monkeypatch.setenv(kept.FOLDER, str(lacking))
    assert kept.folder.__wrapped__().parent == kept._temporary()


def test_the_work_is_dealt_out_evenly(monkeypatch):
    """The longest first, each to the one that has least; a single processor gets all of it."""
    monkeypatch.setattr(kept, "missing", len)
    monkeypatch.setattr(Modules, "kernels", property(lambda self: self.names))
    lists = [Modules(2, ("a",)), Modules(5, ("b", "c")), Modules(4, ("d",)), Modules(3, ())]

    assert ready._dealt(lists, 2) == [("b", "c"), ("d", "a")]
    assert ready._dealt(lists, 1) == [("b", "c", "d", "a")]
    assert ready._dealt(lists, 8) == [("b", "c"), ("d",), ("a",)]


def test_a_search_needs_more_than_a_check():
    """Routines for scans and for the search are compiled only where there is something for them to do."""
    plain = ready.needed(scans=False, search=False)

    assert [set(ready.needed(scans=a, search=b)) - set(plain) for a, b in ((True, False), (False, True))] == [
        set(modules.SCANS),
        set(modules.SEARCH),
    ]
