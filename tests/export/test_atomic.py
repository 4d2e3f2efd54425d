"""A result folder is there whole or not at all, whatever moment a run is stopped at."""

from __future__ import annotations

import json
import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from manifoldgen.errors import OutputError
from manifoldgen.export import atomic, manifest
from manifoldgen.export.atomic import whole_folder
from manifoldgen.export.one_file import write_file

SEED = 20261125
# writes generation after generation of one result, each of 12 files that must agree
WRITER = """
import sys
from pathlib import Path
from manifoldgen.export import manifest
from manifoldgen.export.atomic import whole_folder
target, first = Path(sys.argv[1]), int(sys.argv[2])
for generation in range(first, first + 1000):
    with whole_folder(target) as folder:
        (folder / "shop").mkdir()
        for k in range(12):
            name = f"shop/{k}.bin" if k % 2 else f"{k}.bin"
            (folder / name).write_bytes(b"%d" % generation * 5000)
        manifest.write(folder, "job")
    print(generation, flush=True)
"""


def written(folder: Path, content: str) -> None:
    """Make a small complete result."""
    with whole_folder(folder) as scratch:
        (scratch / "model.txt").write_text(content)
        manifest.write(scratch, "job")


def names(folder: Path) -> list[str]:
    """What lies directly in a folder, hidden ones too."""
    return sorted(path.name for path in folder.iterdir())


def test_result_appears_whole(tmp_path):
    """Nothing is at the target until everything is."""
    target = tmp_path / "out" / "job"
    with whole_folder(target) as scratch:
        (scratch / "model.txt").write_text("new")
        manifest.write(scratch, "job")
        assert not target.exists()

    assert (target / "model.txt").read_text() == "new"
    assert manifest.problems(target) == ()
    assert names(target.parent) == ["job"]


def test_a_failure_leaves_the_old_result(tmp_path):
    """An error half way through a build must not cost the result of yesterday."""
    target = tmp_path / "job"
    written(target, "old")

    def fails_half_way() -> None:
        with whole_folder(target) as scratch:
            (scratch / "model.txt").write_text("half")
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        fails_half_way()

    assert (target / "model.txt").read_text() == "old"
    assert names(tmp_path) == ["job"]


@pytest.mark.parametrize("one_step", [True, False], ids=["swap", "step aside"])
def test_a_new_result_replaces_the_old_one(tmp_path, monkeypatch, one_step):
    """Both ways of changing places work, and files of the old result do not linger."""
    if not one_step:
        monkeypatch.setattr(atomic, "_swapped", lambda new, target: False)
    target = tmp_path / "job"
    with whole_folder(target) as scratch:
        (scratch / "gone.txt").write_text("old")
        manifest.write(scratch, "job")
    written(target, "new")

    assert names(target) == ["manifest.json", "model.txt"]
    assert names(tmp_path) == ["job"]


@pytest.mark.skipif(sys.platform not in ("linux", "darwin"), reason="other systems have no one-step swap")
def test_there_is_no_moment_without_a_result(tmp_path, monkeypatch):
    """Where the system can exchange two folders in one step, the old result is never moved away first."""

    def never(new, target):
        raise AssertionError("the old result stepped aside")

    monkeypatch.setattr(atomic, "_step_aside", never)
    target = tmp_path / "job"
    written(target, "old")
    written(target, "new")

    assert (target / "model.txt").read_text() == "new"


def test_the_users_own_files_move_along(tmp_path):
    """Notes and photos that someone put beside the results are not ours to delete."""
    target = tmp_path / "job"
    written(target, "old")
    (target / "notes").mkdir()
    (target / "notes" / "bench.txt").write_text("flange warped 0.4")
    written(target, "new")

    assert (target / "notes" / "bench.txt").read_text() == "flange warped 0.4"
    assert (target / "model.txt").read_text() == "new"


def test_a_folder_that_is_no_result_is_refused(tmp_path):
    """`--out ~` with a job named like a folder of the user's must not replace that folder."""
    target = tmp_path / "documents"
    target.mkdir()
    (target / "letter.txt").write_text("dear")

    with pytest.raises(OutputError, match=r"holds no manifest\.json of ours"), whole_folder(target):
        pass
    assert (target / "letter.txt").read_text() == "dear"


def test_a_full_disk_is_one_sentence(tmp_path, monkeypatch):
    """A disk that refuses is told with its reason, and the old result stays."""
    target = tmp_path / "job"
    written(target, "old")

    told = "No space left on device; what was there before is untouched"
    with pytest.raises(OutputError, match=told), whole_folder(target):
        raise OSError(28, os.strerror(28))
    assert (target / "model.txt").read_text() == "old"


def test_a_kill_between_the_two_renames_is_mended(tmp_path):
    """Where no one-step swap exists, the next run brings the old result back before anything else."""
    target = tmp_path / "job"
    written(target, "old")
    gone = subprocess.run(
        [sys.executable, "-c", "import os; print(os.getpid())"], capture_output=True, check=True
    )
    target.rename(tmp_path / f".job.old-{int(gone.stdout)}-abcd")
    (tmp_path / f".job.new-{int(gone.stdout)}-abcd").mkdir()

    with pytest.raises(ZeroDivisionError), whole_folder(target):
        raise ZeroDivisionError
    assert (target / "model.txt").read_text() == "old"
    assert names(tmp_path) == ["job"]


def test_another_runs_folder_is_left_alone(tmp_path):
    """Two builds at once must not clear each other's half-written folders."""
    alive = tmp_path / f".job.new-{os.getppid()}-abcd"
    alive.mkdir()
    written(tmp_path / "job", "mine")

    assert alive.is_dir()


@pytest.mark.slow
@pytest.mark.skipif(os.name != "posix", reason="SIGKILL is a POSIX signal")
def test_a_kill_at_any_moment_leaves_a_whole_result(tmp_path):
    """SIGKILL at 25 random moments: the manifest verifies every time, and scratch folders are cleared."""
    chance = random.Random(SEED)  # noqa: S311  moments, not secrets
    print("seed", SEED)
    target = tmp_path / "job"
    for turn in range(25):
        command = [sys.executable, "-c", WRITER, str(target), str(turn * 1000)]
        writer = subprocess.Popen(command, stdout=subprocess.PIPE)
        writer.stdout.readline()  # the first result of this writer is there
        time.sleep(chance.uniform(0.0, 0.05))
        writer.send_signal(signal.SIGKILL)
        writer.wait()
        writer.stdout.close()

        assert manifest.problems(target) == ()
        assert len({path.read_bytes()[:8] for path in target.rglob("*.bin")}) == 1
    written(target, "last")
    assert names(tmp_path) == ["job"]


def test_one_file_is_replaced_whole(tmp_path):
    """A picture is there with its old content or its new one, and readable like any other file."""
    target = tmp_path / "picture.png"
    write_file(target, b"old")
    write_file(target, b"new")

    assert target.read_bytes() == b"new"
    assert names(tmp_path) == ["picture.png"]
    with pytest.raises(OutputError, match="No such file or directory"):
        write_file(tmp_path / "nowhere" / "picture.png", b"x")


def test_manifest_sees_a_changed_and_a_missing_file(tmp_path):
    """A manifest that verifies whatever the files hold would be worth nothing."""
    target = tmp_path / "job"
    written(target, "old")
    (target / "model.txt").write_text("oLd")
    assert manifest.problems(target) == ("model.txt differs from its sha256 in manifest.json",)

    (target / "model.txt").unlink()
    assert manifest.problems(target) == ("model.txt is listed in manifest.json but missing",)


def test_manifest_names_versions_and_no_machine(tmp_path):
    """What made the files is named; no date and no machine, or two builds would differ."""
    written(tmp_path / "job", "x")
    content = json.loads((tmp_path / "job" / "manifest.json").read_text())

    assert set(content) == {"schema_version", "name", "seed", "job", "versions", "files"}
    assert {"manifoldgen", "python", "cadquery-ocp"} <= set(content["versions"])
    # sha256 of the single byte "x": FIPS 180-4, as printed by coreutils' sha256sum
    assert content["files"]["model.txt"]["sha256"].startswith("2d711642b726b04401627ca9fbac32f5")
