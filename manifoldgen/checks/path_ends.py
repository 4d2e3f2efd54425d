"""Whether every path exists and ends on its inlet."""

from __future__ import annotations

from manifoldgen.checks.finding import Finding
from manifoldgen.geometry.vectors import Vec
from manifoldgen.manifold.model import Manifold, Run

AUTO = {
    "auto": "has no path yet: it is to be found.",
    "close": "is written up to its `close`: the last bends are to be found.",
}


def check_auto(m: Manifold) -> tuple[Finding, ...]:
    """`path-auto`: a path that is still to be found."""
    return tuple(
        Finding(
            "path-auto",
            "note",
            f"{run.name} {AUTO[run.todo or 'auto']}",
            "`manifoldgen route` finds it; or write the path.",
            parts=(run.name,),
            where=run.where,
        )
        for run in m.runs
        if run.path is None and run.trouble is None
    )


def check_miss(m: Manifold) -> tuple[Finding, ...]:
    """`path-misses-inlet`: an end off its inlet by more than `limits.fit_up`, or a `close` that failed."""
    return tuple(f for run in m.runs if (f := _miss(run, m.limits.fit_up)) is not None)


def _miss(run: Run, limit: float) -> Finding | None:
    at: tuple[Vec, ...] = (run.target.at,) if run.target else ()
    if run.trouble is not None:
        return Finding(
            "path-misses-inlet",
            "error",
            f"{run.name} cannot be closed: {run.trouble.rstrip('.')}.",
            "Change the bends before the `close`, or leave the path `auto`."
            if run.path is None
            else "End it with `close`.",
            parts=(run.name,),
            points=at,
            where=run.where,
        )
    if run.path is None or (run.miss_mm <= limit and run.miss_deg <= limit):
        return None
    sideways = run.miss_mm > limit
    value, unit = (run.miss_mm, "mm") if sideways else (run.miss_deg, "deg")
    # from the first digit that tells: a miss of 0.06 is not "0.1"
    message = f"{run.name} ends {run.miss_mm:.2f} mm and {run.miss_deg:.2f}° off its inlet, allowed {limit:g} of each."
    do = "End it with `close`"
    if run.measured:
        do = "It is measured: move the collector to it, or make the last piece to fit"
    points = (run.path.end.at, *at)
    return Finding(
        "path-misses-inlet", "error", message, f"{do}.", value, limit, unit, (run.name,), points, run.where
    )
