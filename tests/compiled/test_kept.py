"""Where compiled routines are kept: shared by clones, never beside the source, found again only if nothing changed."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from manifoldgen.compiled import kept, modules

FOLDER = "from manifoldgen.compiled import kept; print(kept.folder())"
# a kernel, used; then how often its code was found and how often it was compiled
COUNTED = "print(sum(used.stats.cache_hits.values()), sum(used.stats.cache_misses.values()))"
USED = f"""
from manifoldgen.compiled.mark import kernel
@kernel("f8(f8)")
def used(x):
    return x / 2
assert used(3.0) == 1.5
{COUNTED}
"""
OURS = f"""
import numpy as np
from manifoldgen.routing._path_kernels import asked as used
assert used(50.0, 100.0, np.array([5.0, 3.0, 10.0, 2.0, 10.0, 10.0])) == 5.0
{COUNTED}
"""


def told(code: str, clone: Path = modules.PACKAGE.parent, **environment: str) -> str:
    """What a fresh process says in a clone."""
    env = {**os.environ, "PYTHONPATH": str(clone), "PYTHONDONTWRITEBYTECODE": "1", **environment}
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, env=env, cwd=clone, check=True
    )
    return done.stdout.strip()


@pytest.fixture
def clone(tmp_path):
    """A second clone, without anything that was compiled."""
    where = tmp_path / "clone"
    shutil.copytree(modules.PACKAGE, where / "manifoldgen", ignore=shutil.ignore_patterns("__pycache__"))
    return where


@pytest.fixture
def users(tmp_path, monkeypatch):
    """The places a user has for a cache and for temporary files, nothing else being said."""
    monkeypatch.delenv(kept.FOLDER)
    monkeypatch.delenv("MANIFOLDGEN_CACHE", raising=False)
    places = {"XDG_CACHE_HOME": tmp_path / "cache", "LOCALAPPDATA": tmp_path / "cache", "HOME": tmp_path, "TMPDIR": tmp_path / "temporary"}  # fmt: skip
    places["TMPDIR"].mkdir()
    for name, place in places.items():
        monkeypatch.setenv(name, str(place))
    return tmp_path


def append(file: Path, text: str) -> None:
    """Write more at the end of a file."""
    file.write_text(file.read_text("utf-8") + text, "utf-8")


def files(folder: Path) -> set[Path]:
    """Every file below a folder."""
    return {path for path in folder.rglob("*") if path.is_file()}


def test_numbas_own_variable_names_the_place(tmp_path):
    """Who sends all compiled code to one place finds ours there too."""
    assert Path(told(FOLDER, NUMBA_CACHE_DIR=str(tmp_path / "here"))).parent == tmp_path / "here"


@pytest.mark.skipif(sys.platform != "linux", reason="the places are those of Linux")
def test_else_it_is_the_users_cache_folder(users):
    """Not the clone, and not the system's temporary files."""
    assert Path(told(FOLDER)).parent == users / "cache" / "manifoldgen" / "compiled"


def test_two_clones_share_what_one_has_compiled(clone, tmp_path):
    """The second clone compiles nothing."""
    assert told(FOLDER, clone) == told(FOLDER)

    assert told(OURS, NUMBA_CACHE_DIR=str(tmp_path / "here")) == "0 1"
    assert told(OURS, clone, NUMBA_CACHE_DIR=str(tmp_path / "here")) == "1 0"


def test_a_changed_routine_gets_a_new_folder(clone):
    """Even in a module that others only call; a change in what is not compiled leaves all as it is."""
    before = told(FOLDER, clone)
    append(clone / "manifoldgen" / "geometry" / "path.py", "\n# no matter\n")
    assert told(FOLDER, clone) == before

    append(clone / "manifoldgen" / "geometry" / "_kernels.py", "\nROD = 7.0\n")
    assert told(FOLDER, clone) != before


def test_other_settings_of_the_compiler_get_a_new_folder():
    """What was compiled without optimisation is not taken for what was compiled with it."""
    assert told(FOLDER, NUMBA_OPT="0") != told(FOLDER)


def test_nothing_is_written_beside_the_source(clone, tmp_path):
    """A checkout that cannot be written works like any other."""
    before = files(clone)
    for folder in (clone, *(path for path in clone.rglob("*") if path.is_dir())):
        folder.chmod(0o555)

    assert told(OURS, clone, NUMBA_CACHE_DIR=str(tmp_path / "here")) == "0 1"
    assert files(clone) == before


def test_a_place_that_cannot_be_written_is_left_for_temporary_files(users):
    """The fall-back is the user's own: what lies there is run without looking at it."""
    (users / "cache").write_text("no folder")  # the superuser writes into every folder, but not into a file

    folder = Path(told(FOLDER))
    assert folder.parent.parent == users / "temporary"
    assert folder.parent.stat().st_mode & 0o077 == 0
    assert told(USED) == "0 1"
    assert told(USED) == "1 0"


def test_a_temporary_folder_that_others_can_write_is_not_used(users):
    """Somebody else's code would be run."""
    (users / "cache").write_text("no folder")
    theirs = Path(told(FOLDER)).parent
    shutil.rmtree(theirs)
    theirs.mkdir()
    theirs.chmod(0o777)

    assert told(FOLDER) == "None"


def test_without_any_place_it_is_compiled_for_the_run(users):
    """Slow, but right."""
    (users / "cache").write_text("no folder")
    Path(told("from manifoldgen.compiled import kept; print(kept._temporary())")).write_text("no folder")

    assert told(FOLDER) == "None"
    assert told(USED) == "0 1"
    assert not [file for file in files(users) if file.suffix in {".nbi", ".nbc"}]


@pytest.mark.parametrize("name", ["used.1.nbc", "used.nbi"])
@pytest.mark.parametrize("left", [0, 30])
def test_a_damaged_file_is_compiled_anew(tmp_path, name, left):
    """Code or index, cut short by a fault of the disk: no error of the job, and mended."""
    told(USED, NUMBA_CACHE_DIR=str(tmp_path))
    (file,) = tmp_path.rglob(f".{name}")
    file.write_bytes(file.read_bytes()[:left])

    assert told(USED, NUMBA_CACHE_DIR=str(tmp_path)) == "0 1"
    assert told(USED, NUMBA_CACHE_DIR=str(tmp_path)) == "1 0"


def test_code_that_is_indexed_but_not_there_is_compiled(tmp_path):
    """What a process leaves that was stopped between the two files."""
    told(USED, NUMBA_CACHE_DIR=str(tmp_path))
    (file,) = tmp_path.rglob(".used.1.nbc")
    file.unlink()

    assert told(USED, NUMBA_CACHE_DIR=str(tmp_path)) == "0 1"
    assert told(USED, NUMBA_CACHE_DIR=str(tmp_path)) == "1 0"


def test_code_for_other_types_under_the_same_name_is_not_taken(tmp_path):
    """Two processes that add forms of one part to its index at a time may give both the same file."""
    half = "from manifoldgen.compiled.mark import part\ndef half(x): return x / 2\nprint(part(half)({}))"
    assert [told(half.format(x), NUMBA_CACHE_DIR=str(tmp_path)) for x in ("3", "3.5")] == ["1.5", "1.75"]
    whole, broken = sorted(tmp_path.rglob(".half.*.nbc"))
    shutil.copyfile(whole, broken)

    assert [told(half.format(x), NUMBA_CACHE_DIR=str(tmp_path)) for x in ("3", "3.5")] == ["1.5", "1.75"]


def test_a_full_place_is_left_for_temporary_files(tmp_path, monkeypatch):
    """Nothing is written where there is no room for all of it."""
    usage = shutil.disk_usage(tmp_path)
    monkeypatch.setenv(kept.FOLDER, str(tmp_path / "here"))
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))

    def left(free: int) -> Path | None:
        monkeypatch.setattr(
            shutil,
            "disk_usage",
            lambda path: usage._replace(free=free if "here" in Path(path).parts else 10**9),
        )
        return kept.folder.__wrapped__()

    places = [folder and folder.parent for folder in (left(kept._ROOM), left(kept._ROOM - 1))]
    assert places == [tmp_path / "here", kept._temporary()]


def test_folders_of_other_versions_go_when_long_unused(tmp_path):
    """Those in use stay, and what is not ours stays."""
    ours, old, other = (
        tmp_path / name for name in ("manifoldgen-0.0.1-new", "manifoldgen-0.0.1-old", "somebody")
    )
    for folder in (ours, old, other):
        folder.mkdir()
    for folder in (old, other):
        os.utime(folder, (1e9, 1e9))

    made = Path(told(FOLDER, NUMBA_CACHE_DIR=str(tmp_path)))
    assert {path.name for path in tmp_path.iterdir()} == {made.name, ours.name, other.name}
