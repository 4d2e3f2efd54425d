"""From a parameter file to a `Manifold` with pieces, as far as it goes, the way every verb needs it."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from manifoldgen.errors import ManifoldgenError

if TYPE_CHECKING:
    from manifoldgen.checks.finding import Finding
    from manifoldgen.manifold.model import Manifold


@dataclass(frozen=True)
class Job:
    """A parameter file read and laid out, with what the checks found."""

    manifold: Manifold
    findings: tuple[Finding, ...]

    @property
    def open_paths(self) -> tuple[str, ...]:
        """Names of the runs whose path is not known yet."""
        return tuple(run.name for run in self.manifold.runs if run.path is None)


def read(file: Path) -> Manifold:
    """Load, lay out, find the paths that are left open, split into pieces.

    Raises
    ------
    ManifoldgenError : the file is wrong; the sentence says where and what.
    """
    from manifoldgen.manifold.assemble import assemble
    from manifoldgen.parameters import load
    from manifoldgen.pieces import split
    from manifoldgen.routing.route import route

    if not file.exists():
        raise ManifoldgenError(f"there is no file {file}; manifoldgen init NAME writes one that builds")
    return split(route(assemble(load(file))))


def examined(file: Path) -> Job:
    """Read the file and run every check."""
    from manifoldgen.checks import run_all

    m = read(file)
    return Job(m, tuple(run_all(m)))
