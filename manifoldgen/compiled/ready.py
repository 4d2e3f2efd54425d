"""Compiled routines made ready before they are needed: side by side in processes of their own, and counted."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from collections.abc import Callable, Sequence
from contextlib import suppress
from importlib import import_module

from manifoldgen.compiled import kept
from manifoldgen.compiled.modules import CHECK, PACKAGE, SCANS, SEARCH, Modules

Tell = Callable[[int, int], None]  # how many kernels are ready, of how many

_LOOK = 0.2  # s between two looks at what is ready


def needed(*, scans: bool, search: bool) -> tuple[Modules, ...]:
    """What a job needs.

    scans : a scan stands beside the engine, or the engine moves.  search : paths are searched for.
    """
    return (*CHECK, *(SCANS if scans else ()), *(SEARCH if search else ()))


def make_ready(lists: Sequence[Modules], tell: Tell) -> None:
    """Have every kernel of some modules compiled; nothing is done or told where all are kept already.

    tell : called every now and then while they are compiled.

    Two processes share the work where there are two processors, more where there are more. What they do not bring
    about, and all of it where nothing can be kept, is compiled here.
    """
    if os.environ.get("NUMBA_DISABLE_JIT") or not any(kept.missing(some.kernels) for some in lists):
        return
    here: list[Modules] = []  # compiled in this process
    total = sum(len(some.kernels) for some in lists)

    def look() -> None:
        left = sum(kept.missing(some.kernels) for some in lists if some not in here)
        tell(total - left, total)

    look()
    if kept.lasting():
        _side_by_side(lists, look)
    for some in lists:
        if kept.missing(some.kernels):
            for name in some.names:
                import_module(f"manifoldgen.{name}")
            here.append(some)
            look()


def _side_by_side(lists: Sequence[Modules], look: Callable[[], None]) -> None:
    """Compile what is missing in other processes; whatever happens here, they are gone at the end."""
    running: list[subprocess.Popen[bytes]] = []
    try:
        with suppress(OSError):  # no more processes to be had
            for names in _dealt(lists, _processors()):
                running.append(_started(names))  # one by one: those started are known if another cannot be
        while any(process.poll() is None for process in running):
            time.sleep(_LOOK)
            look()
    finally:
        for process in running:
            process.kill()
            process.wait()


def _processors() -> int:
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def _dealt(lists: Sequence[Modules], hands: int) -> list[tuple[str, ...]]:
    """What is missing of the lists, the longest first, each to the hand that has least so far."""
    dealt: list[list[Modules]] = [[] for _ in range(hands)]
    for some in sorted((x for x in lists if kept.missing(x.kernels)), key=lambda x: -x.seconds):
        min(dealt, key=lambda hand: sum(x.seconds for x in hand)).append(some)
    return [tuple(name for some in hand for name in some.names) for hand in dealt if hand]


def _started(names: Sequence[str]) -> subprocess.Popen[bytes]:
    """A process that compiles the kernels of some modules, in their order."""
    path = [str(PACKAGE.parent), *filter(None, [os.environ.get("PYTHONPATH")])]
    return subprocess.Popen(  # noqa: S603 - our own module
        [sys.executable, "-m", "manifoldgen.compiled", *names],
        env={**os.environ, "PYTHONPATH": os.pathsep.join(path)},
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )
