"""Names of files that a copy of a parameter file leads to, seen from the copy's folder."""

from __future__ import annotations

import os
from pathlib import Path, PurePath


def rebased(name: str, base: Path, folder: Path) -> str:
    """A file's name as it is found from `folder` instead of `base`; absolute names stay.

    Written with / on every system; absolute where no relative way leads there (another drive).
    """
    if PurePath(name).is_absolute():
        return name
    here, there = Path(os.path.realpath(base)), Path(os.path.realpath(folder))
    if here == there:
        return name
    # the folder is followed through links, the file itself keeps its name
    whole = Path(os.path.realpath((here / name).parent)) / PurePath(name).name
    try:
        return Path(os.path.relpath(whole, there)).as_posix()
    except ValueError:
        return whole.as_posix()
