"""Every path a job leaves open, found: `close` endings now; `auto` paths stay open and are told."""

from __future__ import annotations

from manifoldgen.manifold.model import Manifold


def route(m: Manifold) -> Manifold:
    """The manifold with the paths that can be found.

    Runs that end in ``close`` get their last bends; runs that are ``auto`` stay open (`Run.todo`), which the
    check ``path-auto`` reports.
    """
    if not any(run.todo == "close" for run in m.runners):
        return m
    from manifoldgen.routing.closing import close_runs

    return close_runs(m)
