"""Files named by the user: ordinary files only, found relative to the file that names them."""

from __future__ import annotations

import os
import stat
from pathlib import Path


class Unreadable(ValueError):  # noqa: N818 - a problem's sentence
    """The file cannot be used; str() is one sentence."""


def ordinary(path: Path) -> Path:
    """`path` itself if it is an ordinary file; Unreadable says what it is instead."""
    try:
        mode = path.stat().st_mode
    except FileNotFoundError:
        raise Unreadable(f"there is no file '{path}'") from None
    except (OSError, ValueError) as error:
        reason = (
            error.strerror if isinstance(error, OSError) and error.strerror else "the name is not possible"
        )
        raise Unreadable(f"'{str(path)[:200]!s}' cannot be read: {reason}") from None
    if stat.S_ISDIR(mode):
        raise Unreadable(f"'{path}' is a folder: name a file")
    if not stat.S_ISREG(mode):
        raise Unreadable(f"'{path}' is a device or a pipe: name an ordinary file")
    return path


def read_bytes(path: Path, most: int) -> bytes:
    """The bytes of an ordinary file of at most `most` bytes."""
    ordinary(path)
    try:
        with path.open("rb") as file:
            size = os.fstat(file.fileno()).st_size
            if size > most:
                raise Unreadable(f"'{path}' is too large ({size} bytes, at most {most})")
            return file.read(most + 1)
    except OSError as error:
        raise Unreadable(f"'{path}' cannot be read: {error.strerror}") from None
