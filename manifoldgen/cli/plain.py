"""The plain calls of `manifoldgen worklist FILE`, read by hand: the parser of the verbs takes longer to load than the answer.

Whatever is not plain (help, a mistake) is left to the parser.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

VERB = "worklist"


@dataclass(frozen=True)
class PlainCall:
    """A call: the job's file, the ids that are done and not done after all, text or JSON."""

    file: Path
    done: tuple[str, ...] = ()
    undo: tuple[str, ...] = ()
    as_json: bool = False


def plain(words: Sequence[str]) -> PlainCall | None:
    """The call that the words after the program's name are; None for everything that the parser has to judge."""
    if not words or words[0] != VERB:
        return None
    files: list[str] = []
    options: dict[str, list[str]] = {"--done": [], "--undo": [], "--format": []}
    rest = iter(words[1:])
    for word in rest:
        name, given, value = word.partition("=")
        if name in options:
            value = value if given else next(rest, "-")
            if value.startswith("-"):
                return None
            options[name].append(value)
        elif word.startswith("-"):
            return None
        else:
            files.append(word)
    kinds = options["--format"] or ["text"]
    if len(files) != 1 or not set(kinds) <= {"text", "json"}:
        return None
    return PlainCall(Path(files[0]), tuple(options["--done"]), tuple(options["--undo"]), kinds[-1] == "json")
