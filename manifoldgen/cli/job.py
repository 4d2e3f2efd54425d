"""From a parameter file to a `Manifold` with pieces, as far as it goes, the way every verb needs it."""

from __future__ import annotations

import os
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from manifoldgen.errors import ManifoldgenError

if TYPE_CHECKING:
    from manifoldgen.access.hands import Hands
    from manifoldgen.checks.finding import Finding
    from manifoldgen.manifold.model import Manifold
    from manifoldgen.routing.route import Routed
    from manifoldgen.routing.search import Progress


SEED = 1  # of every search, so that the same file gives the same manifold


@dataclass(frozen=True)
class Job:
    """A parameter file read and laid out, with what the checks found."""

    manifold: Manifold
    findings: tuple[Finding, ...]
    hands: Hands | None = None

    @property
    def open_paths(self) -> tuple[str, ...]:
        """Names of the runs whose path is not known yet."""
        return tuple(run.name for run in self.manifold.runs if run.path is None)


def laid(file: Path) -> Manifold:
    """Load and lay out; paths stay open.

    Raises
    ------
    ManifoldgenError : the file is wrong; the sentence says where and what.
    """
    from manifoldgen.manifold.assemble import assemble
    from manifoldgen.parameters import load

    if not file.exists():
        raise ManifoldgenError(f"there is no file {file}; manifoldgen init NAME writes one that builds")
    return assemble(load(file))


def read(file: Path, *, search: bool = True, seed: int = SEED) -> Manifold:
    """Load, lay out, find the paths that are left open, split into pieces.

    search : find the runners that are ``auto`` too; without it only ``close`` endings are worked out.

    Raises
    ------
    ManifoldgenError : as `laid`.
    KeyboardInterrupt : the search was stopped.
    """
    from manifoldgen.pieces import split
    from manifoldgen.routing.route import closed

    m = laid(file)
    if not search:
        return split(closed(m))
    routed = searched(m, seed)
    if routed.stopped:
        raise KeyboardInterrupt
    return split(routed.manifold)


def searched(m: Manifold, seed: int, rounding: float | None = None) -> Routed:
    """What the search finds for a laid out job, its progress told on stderr: the same for every verb."""
    from manifoldgen.checks.judged import find
    from manifoldgen.cli import terminal

    routed = find(m, seed=seed, rounding=rounding, progress=routing_progress())
    lengths = [r.path.length for r in routed.manifold.runners if r.path is not None]
    if routed.bound and lengths:
        terminal.say(
            f"routing: taken is the answer that the checks have least against: {min(lengths):.1f} to {max(lengths):.1f} mm"
        )
    return routed


def routing_progress() -> Callable[[Progress], None]:
    """A listener that tells the search's best on stderr, a line each time it gets better."""
    from manifoldgen.cli import terminal

    best: list[tuple[bool, float]] = []

    def tell(progress: Progress) -> None:
        if progress.length is None or progress.spread is None:
            return
        if best and best[-1] <= (not progress.verified, progress.length):
            return
        best.append((not progress.verified, progress.length))
        above = (
            ""
            if progress.above is None
            else f", {max(0, round(100 * progress.above))} % above the shortest possible"
        )
        state = "clear" if progress.verified else "not clear yet"
        terminal.say(
            f"routing: {progress.length:.1f} mm, spread {100 * progress.spread:.2f} %{above}, {state}"
        )

    return tell


def examined(file: Path, *, search: bool = True, seed: int = SEED) -> Job:
    """Read the file and run every check; `search` and `seed` as in `read`."""
    from manifoldgen.checks.settled import settled

    say_if_first()
    m, made = settled(read(file, search=search, seed=seed))
    return Job(m, made.findings, made.hands)


def say_if_first() -> None:
    """Say on stderr that a first run takes its time."""
    from manifoldgen.cli import terminal

    if not _compiled():
        terminal.say("first run on this machine: the measuring routines are compiled, a minute or two")


def _compiled() -> bool:
    """Whether an earlier run has left compiled kernels beside their source (or somewhere of the user's own)."""
    return "NUMBA_CACHE_DIR" in os.environ or any(
        (Path(__file__).parents[1] / "access").glob("__pycache__/*.nbi")
    )
