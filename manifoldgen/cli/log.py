"""A log of an error that is ours or another package's, with all that is needed to find it, in the user's own folder."""

from __future__ import annotations

import os
import platform
import tempfile
import traceback
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from manifoldgen import folders
from manifoldgen.cli import terminal

if TYPE_CHECKING:
    from manifoldgen.extensions import Fault


def sentence(error: BaseException, words: Sequence[str]) -> str:
    """Write the log of an unexpected error and return the one sentence for the screen.

    Parameters
    ----------
    words : the command line that led to it.
    """
    what = f"{type(error).__name__}: {error}".splitlines()[0]
    start = f"internal error, not a mistake in your file ({what})"
    name = _written(f"command: manifoldgen {' '.join(words)}", error)
    if name is None:
        return f"{start}; no log could be written, --debug shows where it happened"
    return f"{start}; please report it with the log {name}"


def told(faults: Sequence[Fault]) -> None:
    """Write the traceback of each fault of another package into a log, and say on stderr where."""
    for fault in faults:
        name = _written(f"extension: {fault.extension}", fault.error)
        terminal.say(f"{fault.told}; {f'the log is {name}' if name else 'no log could be written'}")


def _written(title: str, error: BaseException) -> str | None:
    """The log's name, None where no folder takes it."""
    text = _text(title, error)
    for folder in (folders.state(), Path(tempfile.gettempdir())):
        try:
            folder.mkdir(parents=True, exist_ok=True)
            handle, name = tempfile.mkstemp(prefix="manifoldgen-", suffix=".log", dir=folder)
            with os.fdopen(handle, "w", encoding="utf-8") as out:
                out.write(text)
        except OSError:
            continue
        return name
    return None


def _text(title: str, error: BaseException) -> str:
    from manifoldgen.export.manifest import versions

    trace = "".join(traceback.format_exception(error))
    made = "\n".join(f"{name} {number}" for name, number in versions().items())
    return f"{title}\nsystem: {platform.platform()}\n{made}\n\n{trace}"
