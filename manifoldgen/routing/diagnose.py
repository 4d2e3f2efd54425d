"""No answer is an answer: which limit binds, by how much, and what would make it work.

Every cure is tried: the turbo is moved, or the limit is lowered, and the layout is verified anew.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from manifoldgen.geometry.vectors import Vec, array, vec
from manifoldgen.manifold.model import Manifold
from manifoldgen.routing.problem import Problem, problem
from manifoldgen.routing.refine import SLACKS, Layout, refine
from manifoldgen.routing.tidy import straights
from manifoldgen.routing.turbo import moved
from manifoldgen.routing.verify import EXACT, PASSES, Margin, laid, passes, verified
from manifoldgen.wording import signed, some

WORDS = {
    "bends": "the room for straights and bends",
    "runner gap": "the gap between the runners",
    "obstacle": "the way past the obstacles",
    "tool": "the room for tools and for sliding off",
    "own parts": "the gap to collector, outlet, branch and flanges",
    "self gap": "the gap of a runner to itself",
    "length": "the room for equal lengths",
}
LIMIT = {"runner gap": "gap", "tool": "tool_margin", "own parts": "gap_other", "self gap": "self_gap"}
_LOOKED = 3  # near misses that are looked at
_ROUND = 0.5  # mm: moves and limits are given in such steps
_MORE = (1.0, 1.1, 1.3)  # a cure that does not quite do is taken a little larger


@dataclass(frozen=True)
class Cure:
    """One change after which a layout was verified.

    move : of the turbo, mm, or None.  limit, value : name and value of a lowered limit.
    """

    move: Vec | None = None
    limit: str = ""
    value: float = 0.0

    @property
    def words(self) -> str:
        """What to do."""
        if self.move is not None:
            axes = [f"{signed(mm)} mm in {axis}" for axis, mm in zip("xyz", self.move, strict=True) if mm]
            return f"move the turbo {', '.join(axes)}"
        return f"set {self.limit} to {self.value:g} mm"


@dataclass(frozen=True)
class Diagnosis:
    """Why there is no layout.

    binding : the group of limits that is shortest.  short : mm missing there at the nearest attempt.
    worst : the margins that are short at that attempt.  cures : verified changes, the smallest move first.
    """

    binding: str
    short: float
    worst: tuple[Margin, ...] = ()
    cures: tuple[Cure, ...] = ()
    blocked: tuple[str, ...] = ()

    @property
    def sentence(self) -> str:
        """All of it in one sentence."""
        if self.blocked:
            return (
                f"no path with four or fewer bends from {', '.join(self.blocked)} to an inlet; "
                "move the turbo away from the flange, or list stock with a smaller CLR"
            )
        text = f"no layout meets all limits: {WORDS[self.binding]} is {some(self.short)} mm short"
        if self.worst:
            text += f" ({self.worst[0].who})"
        if self.cures:
            return f"{text}; tried and found to work: {', or '.join(c.words for c in self.cures)}"
        return f"{text}; move the turbo further away or give it more room"


def diagnose(p: Problem, failed: list[Layout], blocked: tuple[str, ...] = ()) -> Diagnosis:
    """What binds the nearest of the layouts that failed, and what was found to help.

    failed : nearest misses, best first.  blocked : names of runners that had no candidate at all.
    """
    if not failed:
        return Diagnosis("bends", math.inf, blocked=blocked)
    # the solver's own optimum spreads what is missing; with one slack a group it falls where it is cheapest
    attempts = [refine(p, layout, rounds=120) for layout in failed[:_LOOKED]]
    attempts.sort(key=lambda a: round(float(a.slack.sum()), 6))
    nearest = attempts[0]
    m = laid(p, nearest)
    short = tuple(g for g in verified(p, m) if g.mm < PASSES) if m is not None else ()
    group = (
        SLACKS[int(np.argmax(nearest.slack))]
        if nearest.slack.max() > -EXACT
        else (short[0].group if short else "bends")
    )
    missing = max((-g.mm for g in short if g.group == group), default=float(nearest.slack.max()))
    cures = [*_moves(p, attempts), *_limits(p, nearest, group, missing)]
    return Diagnosis(group, missing, short, tuple(cures))


def _works(m: Manifold, layout: Layout) -> bool:
    """Whether a layout can be verified on a changed manifold."""
    p = problem(m)
    for rounds, margin in ((80, 0.15), (60, 0.5)):
        layout = refine(p, replace(layout, shift=np.zeros(3)), rounds=rounds, margin=margin)
        found = laid(p, layout)
        if found is not None and passes(verified(p, found)):
            return True
    return False


def _moves(p: Problem, attempts: list[Layout]) -> Iterator[Cure]:
    """The smallest move of the turbo that was found to help."""
    tried: list[tuple[float, Vec, Layout]] = []
    for layout in attempts:
        found = refine(p, layout, rounds=150, shifting=True, margin=0.3)
        if found.slack.sum() < 0.5 * len(SLACKS) and np.abs(found.shift).max() > 0:
            tried.append((float(np.linalg.norm(found.shift)), vec(found.shift), found))
    for _, shift, layout in sorted(tried, key=lambda t: round(t[0], 3)):
        for more in _MORE:
            steps = array(shift) * more / _ROUND
            whole = vec(np.where(np.abs(steps) < 0.5, 0.0, np.sign(steps) * np.ceil(np.abs(steps))) * _ROUND)
            if any(whole) and _works(moved(p.m, whole), layout):
                yield Cure(move=whole)
                return


def _straight(p: Problem, layout: Layout) -> str | None:
    """The limit of the end straights that is short, where one is."""
    found = straights(p, layout)
    at_flange = min(s[0] - p.first for s in found)
    at_inlet = min(s[-1] - p.last for s in found)
    if min(at_flange, at_inlet) > EXACT:
        return None
    return "flange_straight" if at_flange <= at_inlet else "inlet_straight"


def _limits(p: Problem, layout: Layout, group: str, missing: float) -> Iterator[Cure]:
    """A lower value of the limit that binds, where there is one to lower."""
    name = LIMIT.get(group) or _straight(p, layout)
    if name is None or group == "obstacle":
        return
    asked = float(getattr(p.m.limits, name))
    for more in _MORE:
        value = math.floor((asked - missing * more - 0.1) / _ROUND) * _ROUND
        if value < 0:
            return
        limits = replace(p.m.limits, **{name: value})
        if name == "gap":
            limits = replace(
                limits,
                gap_at_flange=min(limits.gap_at_flange, value),
                gap_at_merge=min(limits.gap_at_merge, value),
            )
        if _works(replace(p.m, limits=limits), layout):
            yield Cure(limit=f"limits.{name}", value=value)
            return
