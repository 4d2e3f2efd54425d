"""One file that is there whole or not at all."""

from __future__ import annotations

import os
import sys
import tempfile
from pathlib import Path

from manifoldgen.errors import OutputError


def write_file(target: Path, data: bytes) -> None:
    """Write one file whole: beside its place first, then renamed over it.

    Raises
    ------
    OutputError : the disk refused; what stood there is untouched.
    """
    handle, name = -1, ""
    try:
        handle, name = tempfile.mkstemp(prefix=f".{target.name}.", dir=target.parent)
        with os.fdopen(handle, "wb") as out:
            out.write(data)
            out.flush()
            os.fsync(out.fileno())
        umask = os.umask(0)
        os.umask(umask)
        Path(name).chmod(0o666 & ~umask)
        os.replace(name, target)  # noqa: PTH105  Path.replace, but both sides are plain names here
    except OSError as error:
        if name:
            Path(name).unlink(missing_ok=True)
        raise OutputError(refused(target, error)) from error


def refused(target: Path, error: OSError) -> str:
    """Why a result could not be written, in one sentence."""
    reason = error.strerror or str(error)
    if sys.platform == "win32" and isinstance(error, PermissionError):
        reason += "; close every program that shows one of its files"
    return f"could not write {target}: {reason}; what was there before is untouched"
