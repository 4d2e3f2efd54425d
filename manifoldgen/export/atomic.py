"""A result folder that is there whole or not at all.

Files are written into a hidden folder beside the target and flushed to disk; then the two folders change
places in one step where the system can do that (Linux, macOS). Elsewhere the old folder steps aside first,
and a run killed between the two steps is mended by the next. So a kill at any moment leaves the old result
or the new one, never a mixture.

    exports/sand-rail-four/                 the result
    exports/.sand-rail-four.new-4711-x7q2/  being written; cleared by the next run if its writer is gone
    exports/.sand-rail-four.old-4711-x7q2/  the old result stepping aside (only without a one-step swap)

On Windows a folder cannot be moved while a viewer holds one of its files open; the error says to close it.
"""

from __future__ import annotations

import ctypes
import os
import shutil
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from manifoldgen.errors import OutputError
from manifoldgen.export.manifest import MANIFEST, listed
from manifoldgen.export.one_file import refused

_AT_FDCWD = -100  # Linux: paths are relative to the working directory
_RENAME_EXCHANGE = 2  # Linux renameat2
_RENAME_SWAP = 2  # macOS renamex_np
_STALE_S = 24 * 3600.0  # where a process cannot be asked for, a folder this old has no writer


@contextmanager
def whole_folder(target: Path) -> Iterator[Path]:
    """Give an empty folder to write into; it becomes `target` when the block ends without an error.

    A result already at `target` is replaced; files in it that no manifest lists (the user's own) move
    along. A folder at `target` that is not such a result is refused before anything is written.

    Raises
    ------
    OutputError : the target is not ours to replace, or the disk refused; the old result is untouched.
    """
    new: Path | None = None
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        _recover(target)
        _refuse_foreign(target)
        new = _scratch(target, "new")
        yield new
        _keep_own_files(target, new)
        _flush(new)
        _put_in_place(new, target)
    except OutputError:
        raise
    except OSError as error:
        raise OutputError(refused(target, error)) from error
    finally:
        if new is not None:
            shutil.rmtree(new, ignore_errors=True)


def _scratch(target: Path, role: str) -> Path:
    """Make a hidden sibling with this process in its name, readable like any folder of the user's."""
    made = Path(tempfile.mkdtemp(prefix=f".{target.name}.{role}-{os.getpid()}-", dir=target.parent))
    umask = os.umask(0)
    os.umask(umask)
    made.chmod(0o777 & ~umask)
    return made


def _recover(target: Path) -> None:
    """Clear what killed runs left; bring back an old result that had stepped aside."""
    for old in sorted(target.parent.glob(f".{target.name}.old-*")):
        if _writer_gone(old):
            if not target.exists() and (old / MANIFEST).is_file():
                old.rename(target)
            else:
                shutil.rmtree(old, ignore_errors=True)
    for new in target.parent.glob(f".{target.name}.new-*"):
        if _writer_gone(new):
            shutil.rmtree(new, ignore_errors=True)


def _writer_gone(scratch: Path) -> bool:
    pid = scratch.name.rsplit("-", 2)[1]
    if os.name == "posix" and pid.isdigit():
        try:
            os.kill(int(pid), 0)
        except ProcessLookupError:
            return True
        except OSError:
            return False
        return int(pid) == os.getpid()  # an earlier run inside this very process
    return time.time() - scratch.stat().st_mtime > _STALE_S


def _refuse_foreign(target: Path) -> None:
    if target.is_symlink():
        raise OutputError(f"{target} is a link: give --out a real folder")
    if not target.exists():
        return
    if not target.is_dir():
        raise OutputError(f"{target} is a file: move it away or give another --out")
    if any(target.iterdir()) and listed(target) is None:
        raise OutputError(
            f"{target} exists and holds no {MANIFEST} of ours, so it is not replaced: "
            "move it away or give another --out"
        )


def _keep_own_files(target: Path, new: Path) -> None:
    """Copy along what the user put into the old result; what a manifest lists is ours and replaced."""
    ours = set(listed(target) or ()) | {MANIFEST}
    if not target.is_dir():
        return
    for path in sorted(target.rglob("*")):
        relative = path.relative_to(target)
        if relative.as_posix() in ours or (new / relative).exists() or path.is_dir():
            continue
        (new / relative).parent.mkdir(parents=True, exist_ok=True)
        shutil.copy2(path, new / relative, follow_symlinks=False)


def _flush(folder: Path) -> None:
    """Ask the disk to hold every file and folder before they get their names."""
    for path in sorted(folder.rglob("*")):
        if path.is_file() and not path.is_symlink():
            with path.open("rb+") as handle:
                os.fsync(handle.fileno())
    for path in (*sorted(p for p in folder.rglob("*") if p.is_dir()), folder):
        _flush_folder(path)


def _flush_folder(folder: Path) -> None:
    if os.name != "posix":
        return  # Windows opens no folders
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _put_in_place(new: Path, target: Path) -> None:
    if not target.exists():
        new.rename(target)
    elif not _swapped(new, target):
        _step_aside(new, target)
    _flush_folder(target.parent)


def _step_aside(new: Path, target: Path) -> None:
    """Replace without a one-step swap; `_recover` mends a kill between the two renames."""
    old = _scratch(target, "old")
    old.rmdir()
    target.rename(old)
    try:
        new.rename(target)
    except OSError:
        old.rename(target)
        raise
    shutil.rmtree(old, ignore_errors=True)


def _swapped(new: Path, target: Path) -> bool:
    """Exchange two folders in one step; False where the system or the file system cannot."""
    a, b = os.fsencode(new), os.fsencode(target)
    try:
        library = ctypes.CDLL(None)
        if sys.platform == "linux":
            return bool(library.renameat2(_AT_FDCWD, a, _AT_FDCWD, b, _RENAME_EXCHANGE) == 0)
        if sys.platform == "darwin":
            return bool(library.renamex_np(a, b, _RENAME_SWAP) == 0)
    except (OSError, AttributeError, TypeError):
        return False
    return False
