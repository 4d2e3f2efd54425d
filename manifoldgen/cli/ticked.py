"""The small text file beside a job that holds what is done: one step's id a line, `#` starts a note.

    sand_rail_four.yaml
    sand_rail_four.done.txt      cut-R2-P1    # 30.5 mm

The note keeps the numbers a step was done to, so that a later change of the job is noticed. Whatever else the
user writes into the file stays as it is.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from manifoldgen.errors import ManifoldgenError
from manifoldgen.shop.work_step import Step

ENDING = ".done.txt"
MOST_BYTES = 1_000_000
_HEAD = (
    "# what is done: the id of one step a line, # starts a note; `manifoldgen worklist` reads and writes it\n"
)


@dataclass(frozen=True)
class Ticked:
    """The file's lines, as they stand."""

    lines: tuple[str, ...] = ()

    @property
    def notes(self) -> dict[str, str]:
        """By id in the order of the file: the note behind it."""
        split = (line.partition("#") for line in self.lines)
        return {entry.strip(): note.strip() for entry, _, note in split if entry.strip()}

    def with_done(self, steps: Iterable[Step]) -> Ticked:
        """The same with these steps done; one that stands there already gets today's numbers."""
        fresh = {s.id: s for s in steps}
        notes = self.notes
        old = {i for i, s in fresh.items() if numbers(notes.get(i, "")) and notes[i] != s.size}
        kept = self.without(old).lines
        return Ticked((*kept, *(_line(s) for i, s in fresh.items() if i in old or i not in notes)))

    def without(self, ids: Iterable[str]) -> Ticked:
        """The same with these ids taken out."""
        gone = set(ids)
        return Ticked(tuple(line for line in self.lines if _entry(line) not in gone))

    @property
    def text(self) -> str:
        """The file's text."""
        return "".join(f"{line}\n" for line in self.lines) if self.lines else ""


def file_of(job: Path) -> Path:
    """Where the ticks of a job are kept."""
    return job.with_name(job.stem + ENDING)


def read(path: Path) -> Ticked:
    """The ticks in a file; none where there is no file.

    Raises
    ------
    ManifoldgenError : it cannot be read as text.
    """
    if not path.exists():
        return Ticked()
    try:
        if not path.is_file() or path.stat().st_size > MOST_BYTES:
            raise ManifoldgenError(
                f"{path} is not a small text file with the steps that are done: move it away"
            )
        return Ticked(tuple(path.read_text("utf-8-sig").splitlines()))
    except UnicodeDecodeError:
        raise ManifoldgenError(f"{path} is not UTF-8 text: save it as UTF-8, or move it away") from None
    except OSError as error:
        raise ManifoldgenError(f"{path} cannot be read: {error.strerror or error}") from None


def write(path: Path, ticked: Ticked) -> None:
    """Write the ticks whole or not at all.

    Raises
    ------
    OutputError : the disk refused; the old file is untouched.
    """
    from manifoldgen.export.one_file import write_file

    text = ticked.text
    write_file(path, (text if text.startswith("#") else _HEAD + text).encode("utf-8"))


def meant(asked: Sequence[str], steps: Sequence[Step], also: Iterable[str] = ()) -> tuple[str, ...]:
    """Ids of the steps that are asked for: a step's own id, or all steps of a piece, joint or flange.

    also : further ids that may be named (ticks of steps that are no longer there).

    Raises
    ------
    ManifoldgenError : an id that is neither, with the nearest.
    """
    found: list[str] = []
    for word in asked:
        ids = [s.id for s in steps if word in {s.id, s.about}] or [i for i in also if i == word]
        if not ids:
            raise ManifoldgenError(_unknown(word, steps))
        found += ids
    return tuple(dict.fromkeys(found))


def _unknown(word: str, steps: Sequence[Step]) -> str:
    from difflib import get_close_matches

    known = list(dict.fromkeys(name for s in steps for name in (s.id, s.about) if name))
    by_low = {name.lower(): name for name in known}
    close = get_close_matches(word.lower(), by_low, 1, 0.5)
    hint = f"did you mean {by_low[close[0]]}?" if close else "manifoldgen worklist FILE lists the ids"
    return f"there is no step, piece or joint '{word[:60]}'; {hint}"


def numbers(note: str) -> bool:
    """Whether a note holds the numbers a step was done to, not words of the user's own."""
    return re.match(r"-?\d+\.\d", note) is not None


def _entry(line: str) -> str:
    return line.partition("#")[0].strip()


def _line(step: Step) -> str:
    return f"{step.id}  # {step.size}" if step.size else step.id
