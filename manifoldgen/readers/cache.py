"""Where the arrays of foreign files are kept: one file a content, found again by any process here."""

from __future__ import annotations

import contextlib
import json
import os
import tempfile
import zipfile
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from manifoldgen import folders

Arrays = tuple[NDArray[np.float64], NDArray[np.int32]]


def load(key: str) -> tuple[Arrays, dict[str, Any]] | None:
    """Vertices, faces and what was told of them; None where nothing (or nothing whole) is kept."""
    try:
        with (folders.cache() / f"{key}.npz").open("rb") as file, np.load(file, allow_pickle=False) as kept:
            told = json.loads(str(kept["told"]))
            return (kept["vertices"], kept["faces"]), told
    except (OSError, ValueError, KeyError, EOFError, zipfile.BadZipFile):
        return None


def store(key: str, arrays: Arrays, told: dict[str, Any]) -> None:
    """Keep the arrays; written beside and moved in whole, so that a reader never meets half a file.

    A folder that cannot be written is no fault: the arrays then live in this process only.
    """
    with contextlib.suppress(OSError):
        folders.cache().mkdir(parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=folders.cache(), suffix=".part")
        try:
            with os.fdopen(handle, "wb") as file:
                np.savez(file, vertices=arrays[0], faces=arrays[1], told=np.array(json.dumps(told)))
            Path(name).replace(folders.cache() / f"{key}.npz")
        except OSError:
            Path(name).unlink(missing_ok=True)
            raise
