"""A log of an error that is ours: everything needed to find it, in the user's own folder for such things."""

from __future__ import annotations

import os
import platform
import sys
import tempfile
import traceback
from collections.abc import Sequence
from pathlib import Path


def sentence(error: BaseException, words: Sequence[str]) -> str:
    """Write the log of an unexpected error and return the one sentence for the screen.

    Parameters
    ----------
    words : the command line that led to it.
    """
    what = f"{type(error).__name__}: {error}".splitlines()[0]
    start = f"this is a fault of the program, not of your file ({what})"
    text = _text(error, words)
    for folder in (_state_folder(), Path(tempfile.gettempdir())):
        try:
            folder.mkdir(parents=True, exist_ok=True)
            handle, name = tempfile.mkstemp(prefix="manifoldgen-", suffix=".log", dir=folder)
            with os.fdopen(handle, "w", encoding="utf-8") as out:
                out.write(text)
        except OSError:
            continue
        return f"{start}; please report it with the log {name}"
    return f"{start}; no log could be written, --debug shows where it happened"


def _text(error: BaseException, words: Sequence[str]) -> str:
    from manifoldgen.export.manifest import versions

    trace = "".join(traceback.format_exception(error))
    made = "\n".join(f"{name} {number}" for name, number in versions().items())
    return f"command: manifoldgen {' '.join(words)}\nsystem: {platform.platform()}\n{made}\n\n{trace}"


def _state_folder() -> Path:
    if sys.platform == "win32":
        base = os.environ.get("LOCALAPPDATA") or Path.home() / "AppData" / "Local"
    else:
        base = os.environ.get("XDG_STATE_HOME") or Path.home() / ".local" / "state"
    return Path(base) / "manifoldgen"
