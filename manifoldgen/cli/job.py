"""From a parameter file to its `Design`, the way every verb needs it: progress on stderr."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from manifoldgen.errors import ManifoldgenError

if TYPE_CHECKING:
    from manifoldgen.designs import Design
    from manifoldgen.manifold.model import Manifold
    from manifoldgen.routing.search import Progress


SEED = 1  # of every search, so that the same file gives the same manifold


def designed(
    file: Path,
    *,
    search: bool = True,
    seed: int = SEED,
    first: Callable[[Manifold], None] = lambda _: None,
) -> Design:
    """The job of a file worked out, progress told on stderr; the same for every verb.

    search : find the runners that are ``auto`` too; without it only ``close`` endings are worked out.
    first : asked about the job as it is laid out, before the search; may raise.

    Raises
    ------
    ManifoldgenError : the file is wrong; the sentence says where and what.
    KeyboardInterrupt : the search was stopped.
    """
    m = laid(file)
    first(m)
    made = worked_out(m, search=search, seed=seed)
    if made.stopped:
        raise KeyboardInterrupt
    return made


def inputs(file: Path) -> tuple[Path, ...]:
    """Every file that a job is read from, its own first.

    Raises
    ------
    ManifoldgenError : as `designed`.
    """
    from manifoldgen.parameters.load import files_of, load

    there(file)
    return files_of(load(file))


def there(file: Path) -> None:
    """Raise where there is no file to read, with the way out."""
    if not file.exists():
        raise ManifoldgenError(f"there is no file {file}; manifoldgen init NAME writes one that builds")


def laid(file: Path) -> Manifold:
    """Load and lay out; paths stay open.

    Raises
    ------
    ManifoldgenError : as `designed`.
    """
    from manifoldgen.designs.make import laid_out

    there(file)
    return laid_out(file)


def worked_out(m: Manifold, *, search: bool, seed: int, rounding: float | None = None) -> Design:
    """A job that is laid out, worked out; a search that was stopped keeps the best so far."""
    from manifoldgen.cli import log, terminal
    from manifoldgen.cli.compiling import compiled_for
    from manifoldgen.designs import design

    compiled_for(m, search=search)
    made = design(m, search=search, seed=seed, rounding=rounding, progress=routing_progress())
    log.told(made.faults)
    lengths = [r.path.length for r in made.manifold.runners if r.path is not None]
    if made.routed is not None and made.routed.bound and lengths:
        terminal.say(
            f"routing: using the layout with fewest check errors: {min(lengths):.1f} to {max(lengths):.1f} mm"
        )
    return made


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
