"""Every path a job leaves open, found: `close` endings first, then the runners that are ``auto``."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from manifoldgen.manifold.model import Manifold

if TYPE_CHECKING:
    from manifoldgen.routing.diagnose import Diagnosis
    from manifoldgen.routing.problem import Problem
    from manifoldgen.routing.search import Answer, Budget, Progress, Search

_ALIKE = 0.5  # mm: answers nearer in length are taken for one
_FINER = (2.5, 5, 10)  # parts of a step that is too coarse for rounding
_JUDGED = 4  # answers that are judged, and tried to be rounded


@dataclass(frozen=True)
class Routed:
    """What a search came to.

    manifold : with all paths; where nothing keeps every limit, with the nearest attempt, told in `Run.trouble`.
    verified : every limit is kept.  bound : no layout's runners are shorter than this, mm (None: nothing was auto).
    diagnosis : why there is no layout, where there is none.  stopped : the search was interrupted.
    finer : the steps that a layout can be rounded to where the ones asked for are too coarse.
    """

    manifold: Manifold
    verified: bool
    bound: float | None = None
    diagnosis: Diagnosis | None = None
    stopped: bool = False
    finer: float | None = None


def route(
    m: Manifold,
    *,
    seed: int = 1,
    budget: Budget | None = None,
    progress: Callable[[Progress], None] | None = None,
    rounding: float | None = None,
    judge: Callable[[Manifold], int] | None = None,
    stuck: Callable[[Manifold], int] | None = None,
) -> Manifold:
    """The manifold with the paths that can be found; see `find`."""
    return find(
        m, seed=seed, budget=budget, progress=progress, rounding=rounding, judge=judge, stuck=stuck
    ).manifold


def find(
    m: Manifold,
    *,
    seed: int = 1,
    budget: Budget | None = None,
    progress: Callable[[Progress], None] | None = None,
    rounding: float | None = None,
    judge: Callable[[Manifold], int] | None = None,
    stuck: Callable[[Manifold], int] | None = None,
) -> Routed:
    """Find the paths a job leaves open.

    Runs that end in ``close`` get their last bends; runs that are ``auto`` get their paths, and the collector its
    clock, way round and order, as far as they are free. The same seed gives the same answer.

    Parameters
    ----------
    seed : of all random numbers.
    budget : how much is tried, in counts.
    progress : called after every layout that was measured.
    rounding : mm (and degrees) that all numbers of the paths found are multiples of, but the closing five.
    judge : counts what is wrong with a finished manifold beyond the search's own limits (welds, say); of the best
        few answers the one with the least is taken.
    stuck : counts the welds of a manifold that no torch reaches: layouts without any are looked for.

    KeyboardInterrupt ends the search: the best so far is returned.
    """
    m = closed(m)
    if not any(run.todo == "auto" for run in m.runners) or len(m.collectors) != 1:
        return Routed(m, verified=not any(run.path is None for run in m.runners))
    from manifoldgen.routing.diagnose import diagnose
    from manifoldgen.routing.problem import problem
    from manifoldgen.routing.search import Budget, Search
    from manifoldgen.routing.threads import single

    stopped = False
    diagnosis: Diagnosis | None = None
    with single():
        p = problem(m)
        search = Search(p, seed, budget or Budget(), stuck)
        try:
            for told in search.run():
                if progress is not None:
                    progress(told)
        except KeyboardInterrupt:
            stopped = True
        best = search.best
        if (best is None or not best.good) and not stopped:
            diagnosis = diagnose(p, search.failed, search.blocked)
        answers = _different(p, search.good) if (judge or rounding) and not stopped else []
        if judge is not None and answers:
            best = min(answers, key=lambda a: judge(a.manifold))
            answers.sort(key=lambda a: a is not best)
        made = _rounded(p, answers, rounding) if rounding else None
        finer = None
        if rounding and answers and made is None:
            finer = next((s for k in _FINER if _rounded(p, answers, s := rounding / k)), None)
    good = best is not None and best.good
    whole = made or _result(m, search, best, diagnosis)
    return Routed(whole, good, search.bound, diagnosis, stopped, finer)


def _different(p: Problem, good: list[Answer]) -> list[Answer]:
    """The best few answers that take nothing away from hands, no two of one length."""
    from manifoldgen.routing.hands import lost

    found: list[Answer] = []
    for answer in sorted(good, key=lambda a: a.score):
        near = any(abs(answer.layout.length - a.layout.length) < _ALIKE for a in found)
        if not near and not lost(p.before, answer.manifold):
            found.append(answer)
        if len(found) == _JUDGED:
            break
    return found


def _rounded(p: Problem, answers: list[Answer], mm: float) -> Manifold | None:
    """The first answer that can be rounded; None where none can: then the exact one stands."""
    from manifoldgen.routing.rounding import rounded_layout

    for answer in answers:
        made = rounded_layout(p, answer.layout, mm)
        if made is not None:
            return made
    return None


def closed(m: Manifold) -> Manifold:
    """The manifold with its ``close`` endings found; runners that are ``auto`` stay open."""
    if not any(run.todo == "close" for run in m.runners):
        return m
    from manifoldgen.routing.closing import close_runs

    return close_runs(m)


def _result(m: Manifold, search: Search, best: Answer | None, diagnosis: Diagnosis | None) -> Manifold:
    """The best answer's manifold; an attempt that is no answer says so at the runners that are short."""
    if best is not None and best.good:
        return best.manifold
    sentence = diagnosis.sentence if diagnosis else "the search was stopped before it had found a layout"
    if best is None:
        runs = (replace(r, trouble=sentence) if r.todo == "auto" else r for r in m.runners)
        return replace(m, runners=tuple(runs))
    numbers = search.p.numbers
    runs = (replace(r, trouble=sentence) if r.number in numbers else r for r in best.manifold.runners)
    return replace(best.manifold, runners=tuple(runs))
