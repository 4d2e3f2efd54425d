"""The work list of a job's file, kept in the user's cache so that the next question about it is answered at once.

It lies there and not beside the job, because nothing of it is the user's: it can always be worked out again, a job's
folder may be read-only or under version control, and looking at a list should leave no file behind. What is kept is
used only where program, job and every file the job names are the same, byte for byte; anything else in its place is
left alone and written over.

Loads nothing heavy: a list that is still true is read and answered in a fraction of a second.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from manifoldgen import folders
from manifoldgen.shop.work_step import OPERATIONS, Step

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

FORM = 1  # of what is kept; a new number forgets what older versions kept
_MOST_BYTES = 20_000_000
_OPS = (None, *OPERATIONS)


@dataclass(frozen=True)
class WorkList:
    """name : of the job.  schema_version : of report.json.  findings : as in report.json, the worst first.  steps : in order."""

    name: str
    schema_version: int
    findings: tuple[dict[str, Any], ...]
    steps: tuple[Step, ...]

    @property
    def errors(self) -> tuple[str, ...]:
        """What stands against cutting."""
        return tuple(str(f["message"]) for f in self.findings if f["severity"] == "error")


def listed(file: Path) -> WorkList:
    """The work list of a job: as it was kept where it is still true, else worked out, and kept.

    Raises
    ------
    ManifoldgenError : the file is wrong, or a path in it is still open.
    """
    from manifoldgen.cli import terminal

    kept, changed = _read(file)
    if kept is not None:
        return kept
    if changed:
        terminal.say(f"{', '.join(changed)} changed since the list was worked out: working it out again")
    from manifoldgen.cli import job

    before = _sums(job.inputs(file))
    made, whole = _worked_out(file)
    if whole and before == _sums(map(Path, before)):
        _keep(file, before, made)
    return made


def _worked_out(file: Path) -> tuple[WorkList, bool]:
    """The list, and whether it may be kept: not where another package's check failed, which is told each time."""
    from manifoldgen.checks.finding import worst_first
    from manifoldgen.cli import job
    from manifoldgen.errors import ManifoldgenError
    from manifoldgen.reports import SCHEMA_VERSION

    design = job.designed(file)
    if design.open_paths:
        told = ", ".join(design.open_paths)
        raise ManifoldgenError(
            f"there is no path yet for {told}, so there are no pieces to work on: manifoldgen route {file}"
        )
    findings = tuple(f.as_dict() for f in worst_first(design.findings))
    return WorkList(design.name, SCHEMA_VERSION, findings, design.shop.steps), not design.faults


def _read(file: Path) -> tuple[WorkList | None, tuple[str, ...]]:
    """What is kept if it is still true, else the names of the files that are not as they were."""
    try:
        place = _place(file)
        if place.stat().st_size > _MOST_BYTES:
            return None, ()
        content = json.loads(place.read_bytes())
        if (content["form"], content["job"]) != (FORM, _name(file)):
            return None, ()
        sums = {str(name): str(text) for name, text in content["files"].items()}
        changed = tuple(Path(n).name for n, text in sums.items() if _sum(Path(n)) != text)
        if changed or content["program"] != _program() or _name(file) not in sums:
            return None, changed
        if not isinstance(content["steps"], list) or not content["steps"]:
            return None, ()
        steps = tuple(_step(row) for row in content["steps"])
        findings = tuple(
            {**f, "message": str(f["message"]), "severity": str(f["severity"])} for f in content["findings"]
        )
        return WorkList(str(content["name"]), int(content["schema_version"]), findings, steps), ()
    except (OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError):
        return None, ()


def _keep(file: Path, sums: dict[str, str], made: WorkList) -> None:
    """Write it whole; a cache that cannot be written is no fault, the list is then worked out each time."""
    from manifoldgen.errors import OutputError
    from manifoldgen.export.one_file import write_file

    content = {
        "form": FORM, "program": _program(), "job": _name(file), "files": sums, "name": made.name,
        "schema_version": made.schema_version, "findings": made.findings,
        "steps": [[s.id, s.station, s.what, s.minutes, s.needs, s.about, s.size, s.stage, s.op] for s in made.steps],
    }  # fmt: skip
    with contextlib.suppress(OSError, OutputError):
        place = _place(file)
        place.parent.mkdir(parents=True, exist_ok=True)
        write_file(place, json.dumps(content, ensure_ascii=False).encode("utf-8"))


def _step(row: list[Any]) -> Step:
    """A step as it was kept.  Raises ValueError or TypeError for what is none."""
    name, station, what, minutes, needs, about, size, stage, op = row
    words = (name, station, what, about, size, *needs)
    if not all(isinstance(word, str) for word in words) or not isinstance(stage, int) or op not in _OPS:
        raise TypeError("not a step")
    return Step(name, station, what, float(minutes), tuple(needs), about, size, stage, op)


def _place(file: Path) -> Path:
    """Where the list of a job is kept."""
    return folders.cache() / f"work-list-{hashlib.sha256(_name(file).encode()).hexdigest()[:24]}.json"


def _name(file: Path) -> str:
    return os.path.abspath(file)  # noqa: PTH100  as the user names it: a link stays a link


def _sums(files: Iterable[Path]) -> dict[str, str]:
    """By a file's full name the hash of its content."""
    return {_name(file): _sum(file) for file in files}


def _sum(file: Path) -> str:
    """The hash of a file's content; empty where it cannot be read."""
    try:
        with file.open("rb") as opened:
            return hashlib.file_digest(opened, "sha256").hexdigest()
    except OSError:
        return ""


def _program() -> str:
    """The program as it is installed: Python, every source file, and which packages stand beside it."""
    from manifoldgen import __version__

    found = hashlib.sha256(f"{__version__} {sys.version}".encode())
    for name, size, time in sorted(_sources(str(Path(__file__).parents[1]))):
        found.update(f"{name} {size} {time}\n".encode())
    for place in sys.path:
        if place.endswith(("site-packages", "dist-packages")):
            with contextlib.suppress(OSError):
                found.update(f"{place} {os.stat(place).st_mtime_ns}\n".encode())  # noqa: PTH116  strings all through
    return found.hexdigest()


def _sources(folder: str) -> Iterator[tuple[str, int, int]]:
    with os.scandir(folder) as entries:
        for entry in entries:
            if entry.is_dir():
                if entry.name != "__pycache__":
                    yield from _sources(entry.path)
            elif entry.name.endswith((".py", ".yaml")):
                known = entry.stat()
                yield entry.path, known.st_size, known.st_mtime_ns
