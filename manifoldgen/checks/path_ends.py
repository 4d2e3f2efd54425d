"""Whether every path exists and ends on its inlet."""

from __future__ import annotations

from manifoldgen.checks.check import Check
from manifoldgen.checks.finding import Finding, FindingKind
from manifoldgen.geometry.vectors import Vec
from manifoldgen.manifold.model import Manifold, Run
from manifoldgen.wording import compared, some

PATH_MISSES_INLET = FindingKind(
    name="path-misses-inlet",
    means="A runner does not end on its collector inlet, in place or in direction, or its `close` found no way.",
    why="Up to limits.end_tolerance the end is corrected onto the inlet; more than that would be a kink and a gap at the weld.",
    do="End the runner with `close`, or correct its last straights and bends. If its ends are right, the collector is "
    "not where you think: check the turbo position, collector.path and clock.",
)
PATH_AUTO = FindingKind(
    name="path-auto",
    severities=("note",),
    means="A path is still to be found: it is `auto`, or ends with a `close` that has not been worked out.",
    why="What is not there cannot be measured: gaps, lengths and pieces of this tube are not checked yet.",
    do="`manifoldgen route` finds it, and `manifoldgen build` before anything is made; or write the path out.",
)
AUTO = {
    "auto": "has no path yet: it is to be found.",
    "close": "is written up to its `close`: the last bends are to be found.",
}


def check(m: Manifold) -> tuple[Finding, ...]:
    """`path-misses-inlet` and `path-auto`."""
    return (*check_miss(m), *check_auto(m))


CHECK = Check(kinds=(PATH_MISSES_INLET, PATH_AUTO), ask=check)


def check_auto(m: Manifold) -> tuple[Finding, ...]:
    """`path-auto`: a path that is still to be found."""
    return tuple(
        PATH_AUTO.finding(
            message=f"{run.name} {AUTO[run.todo or 'auto']}",
            do="`manifoldgen route` finds it; or write the path.",
            parts=(run.name,),
            where=run.where,
        )
        for run in m.runs
        if run.path is None and run.trouble is None
    )


def check_miss(m: Manifold) -> tuple[Finding, ...]:
    """`path-misses-inlet`: an end off its inlet by more than `limits.end_tolerance`, or a `close` that failed."""
    return tuple(f for run in m.runs if (f := _miss(run, m.limits.end_tolerance)) is not None)


def _miss(run: Run, limit: float) -> Finding | None:
    at: tuple[Vec, ...] = (run.target.at,) if run.target else ()
    if run.trouble is not None:
        return PATH_MISSES_INLET.finding(
            message=f"{run.name} cannot be closed: {run.trouble.rstrip('.')}.",
            do="Change the bends before the `close`, or leave the path `auto`."
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
    mm, deg = (compared(v, limit).value if v > limit else some(v) for v in (run.miss_mm, run.miss_deg))
    message = f"{run.name} ends {mm} mm and {deg}° off its inlet, allowed {limit:g} of each."
    do = "End it with `close`"
    if run.measured:
        do = "It is measured: move the collector to it, or make the last piece to fit"
    return PATH_MISSES_INLET.finding(
        message=message,
        do=f"{do}.",
        value=value,
        limit=limit,
        unit=unit,
        parts=(run.name,),
        points=(run.path.end.at, *at),
        where=run.where,
    )
