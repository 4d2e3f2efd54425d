"""One thread for the small matrices of the solver: more only spin, and would make results depend on the machine."""

from __future__ import annotations

import ctypes
import importlib.util
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path
from typing import Any

_NAMES = ("scipy_openblas_{}_num_threads64_", "scipy_openblas_{}_num_threads", "openblas_{}_num_threads")


@contextmanager
def single(packages: tuple[str, ...] = ("numpy", "scipy")) -> Iterator[None]:
    """Inside, the linear algebra that these packages bring runs on one thread."""
    before = [(setter, getter()) for getter, setter in _libraries(packages)]
    for setter, _ in before:
        setter(1)
    try:
        yield
    finally:
        for setter, count in before:
            setter(count)


@cache
def _libraries(packages: tuple[str, ...]) -> tuple[tuple[Any, Any], ...]:
    """(get, set) of every library of linear algebra beside the packages; none where they use another."""
    found: list[tuple[Any, Any]] = []
    for package in packages:
        spec = importlib.util.find_spec(package)
        home = Path(spec.origin).parent if spec and spec.origin else None
        folders = [home, home.parent / f"{package}.libs", home / ".dylibs"] if home else []
        for file in sorted(f for folder in folders for f in folder.glob("*openblas*")):
            try:
                library = ctypes.CDLL(str(file))
            except OSError:
                continue
            for name in _NAMES:
                if hasattr(library, name.format("set")) and hasattr(library, name.format("get")):
                    found.append((getattr(library, name.format("get")), getattr(library, name.format("set"))))
                    break
    return tuple(found)
