"""Whose results a folder holds: two files with one name never write over each other's.

    exports/sand-rail-four/manifest.json     names the job's file and the sha256 of what stood in it
    exports/.sand-rail-four.job              where that file is, seen from here

A name and a content do not tell two files apart for sure: a copy in another folder has the same name, an edit another
content. Where the file is does, and stands beside the results, not in them: they are the same bytes wherever they are
written. The same file replaces its results as often as it is built; a file whose results' own is no longer there was
moved or renamed, and does so too, which is told. A copy has to be given a name of its own, even before it is edited:
the files that it names (the shop's, drawings, scans) may be others where it lies.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

from manifoldgen.errors import OutputError
from manifoldgen.export import manifest
from manifoldgen.export.one_file import write_file
from manifoldgen.manifold.model import Manifold

FILELESS = "a job that came from no file"


def refuse_others(m: Manifold, out: Path, tell: Callable[[str], None]) -> None:
    """Nothing, where the results of `m` may replace what ``out/<name>/`` holds.

    Raises
    ------
    OutputError : they are another file's.
    """
    target = out / m.name
    made_by, origin = manifest.made_by(target), m.origin
    if made_by == manifest.UNKNOWN or (made_by is None and origin is None):
        return
    if made_by is None or origin is None:
        raise _refused(target, made_by.file if made_by else FILELESS, origin.file if origin else FILELESS)
    owner, job = _claimed(out, m.name), Path(origin.file)
    if owner is None:  # the results came here without the note
        if made_by.file != job.name and made_by.sha256 != origin.sha256:
            raise _refused(target, made_by.file, origin.file)
        tell(f"the results of {made_by.file} are taken for those of this file, and replaced")
    elif not owner.exists():
        tell(f"the results of {owner.name}, which is no longer there, are replaced")
    elif not _same(owner, job):
        raise _refused(target, str(owner), origin.file)


def _refused(target: Path, theirs: str, ours: str) -> OutputError:
    return OutputError(
        f"{target} holds the results of {theirs}, not of {ours}, and both have name: {target.name}; change the name in "
        "one of them, move that folder away, or give another --out"
    )


def claim(m: Manifold, out: Path) -> None:
    """Note beside the results which file they are of.

    Raises
    ------
    OutputError : the disk refused.
    """
    if m.origin is not None:
        write_file(_note(out, m.name), f"{_seen_from(out, Path(m.origin.file))}\n".encode())


def _note(out: Path, name: str) -> Path:
    return out / f".{name}.job"


def _claimed(out: Path, name: str) -> Path | None:
    """The file that the note names; None without one."""
    try:
        text = _note(out, name).read_text(encoding="utf-8").strip()
    except (OSError, ValueError):
        return None
    return Path(os.path.normpath(Path(os.path.realpath(out)) / text)) if text else None


def _seen_from(out: Path, file: Path) -> str:
    """Where a file is, seen from a folder; whole where no way leads there (another drive)."""
    whole = Path(os.path.realpath(file))
    try:
        return Path(os.path.relpath(whole, os.path.realpath(out))).as_posix()
    except ValueError:
        return whole.as_posix()


def _same(a: Path, b: Path) -> bool:
    try:
        return a.samefile(b)
    except OSError:
        return False
