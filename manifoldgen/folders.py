"""Where the program keeps what is its own on this machine: what can be worked out again, and logs."""

from __future__ import annotations

import os
import sys
from pathlib import Path

CACHE = "MANIFOLDGEN_CACHE"  # environment variable: another place for the cache


def cache() -> Path:
    """The cache's folder: `MANIFOLDGEN_CACHE`, else the user's cache folder of this system."""
    if given := os.environ.get(CACHE):
        return Path(given)
    if sys.platform == "win32":
        return Path(os.environ.get("LOCALAPPDATA") or _home() / "AppData" / "Local") / "manifoldgen" / "cache"
    if sys.platform == "darwin":
        return _home() / "Library" / "Caches" / "manifoldgen"
    return Path(os.environ.get("XDG_CACHE_HOME") or _home() / ".cache") / "manifoldgen"


def state() -> Path:
    """The folder for logs."""
    if sys.platform == "win32":
        return Path(os.environ.get("LOCALAPPDATA") or _home() / "AppData" / "Local") / "manifoldgen"
    return Path(os.environ.get("XDG_STATE_HOME") or _home() / ".local" / "state") / "manifoldgen"


def _home() -> Path:
    """The user's own folder; one for what does not last where there is none."""
    if os.environ.get("HOME") or sys.platform == "win32":
        return Path.home()
    import tempfile

    return Path(tempfile.gettempdir())
