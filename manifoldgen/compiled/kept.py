"""Where compiled routines are kept: a folder for every version of what shapes them, shared by all clones.

Its name holds the package's version and a digest of all sources of compiled routines, of Python, numba and the
processor; so a routine is never taken for one that was compiled from other text, in whichever module that stands.
"""

from __future__ import annotations

import hashlib
import os
import platform
import shutil
import stat
import sys
import tempfile
import time
from collections.abc import Sequence
from contextlib import suppress
from functools import cache
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

from manifoldgen import folders
from manifoldgen.compiled.modules import ALL, CHECK, source

FOLDER = "NUMBA_CACHE_DIR"  # numba's own environment variable: another place for everything compiled
_OURS = "manifoldgen-"  # every version's folder begins so
_UNUSED = 30 * 24 * 3600  # s: folders of other versions that were not used for so long are cleared away
_ROOM = 32 << 20  # bytes free, or it is no place: all routines and what lies there while they are written
_PROCESSOR = ("model name", "flags", "features", "cpu implementer", "cpu part")


def place() -> Path:
    """The folder that holds one folder a version: `NUMBA_CACHE_DIR`, else one in the user's cache folder."""
    given = os.environ.get(FOLDER)
    return Path(given) if given else folders.cache() / "compiled"


@cache
def folder() -> Path | None:
    """Find the folder of this version, made where it is missing; it stays the same for the life of the process.

    Where `place` cannot be written or is full, and does not hold what `check` needs, it is one of the user's own among
    temporary files; None where that takes nothing either.
    """
    name = f"{_OURS}{_version('manifoldgen')}-{_digest()}"
    for where in (place(), _temporary()):
        kept = where / name
        if _writable(kept) or all(_holds(kept, kernel) for some in CHECK for kernel in some.kernels):
            if where == _temporary() and not _ours_alone(where):
                continue
            _clear(where, name)
            return kept
    return None


def lasting() -> bool:
    """Whether what is compiled now will be kept; a folder that only holds some is read and not added to."""
    kept = folder()
    return kept is not None and _writable(kept)


def missing(kernels: Sequence[str]) -> int:
    """How many of these kernels are not kept yet."""
    kept = folder()
    return len(kernels) if kept is None else sum(not _holds(kept, name) for name in kernels)


def _holds(kept: Path, name: str) -> bool:
    """Whether a folder holds a kernel, whole."""
    return (kept / f"{name}.1.nbc").exists()


def _digest() -> str:
    """Of all that shapes a compiled routine."""
    found = hashlib.sha256()
    for name in (*ALL, "compiled.mark"):
        found.update(source(name).read_bytes())
    told = sorted(f"{k}={v}" for k, v in os.environ.items() if k.startswith("NUMBA_") and k != FOLDER)
    libraries = [_version(name) for name in ("numba", "llvmlite", "numpy")]
    made_with = (sys.version, libraries, platform.machine(), _processor(), told)
    found.update(repr(made_with).encode())
    return found.hexdigest()[:16]


def _version(package: str) -> str:
    try:
        return version(package)
    except PackageNotFoundError:  # a clone that is not installed
        return "0"


def _processor() -> str:
    """What the processor is called and can do, as far as the system tells."""
    with suppress(OSError):
        first = Path("/proc/cpuinfo").read_text(encoding="utf-8", errors="replace").split("\n\n")[0]
        return "\n".join(line for line in first.splitlines() if line.lower().startswith(_PROCESSOR))
    return platform.processor()


def _temporary() -> Path:
    user = str(os.getuid()) if hasattr(os, "getuid") else "user"
    return Path(tempfile.gettempdir()) / f"manifoldgen-compiled-{user}"


def _writable(kept: Path) -> bool:
    """Whether files can be put there, and have room; the folder is made if it is missing."""
    try:
        kept.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        kept.mkdir(exist_ok=True)
        tempfile.TemporaryFile(dir=kept).close()
        return shutil.disk_usage(kept).free >= _ROOM
    except OSError:
        return False


def _ours_alone(where: Path) -> bool:
    """Whether nobody else can put files there: what is kept is run without looking at it."""
    if not hasattr(os, "getuid"):
        return True
    seen = where.stat()
    return seen.st_uid == os.getuid() and not seen.st_mode & (stat.S_IWGRP | stat.S_IWOTH)


def _clear(where: Path, name: str) -> None:
    """Mark this version's folder as used, and remove those of others that have not been for long."""
    with suppress(OSError):
        os.utime(where / name)
        for other in where.glob(f"{_OURS}*"):
            if other.name != name and time.time() - other.stat().st_mtime > _UNUSED:
                shutil.rmtree(other, ignore_errors=True)
