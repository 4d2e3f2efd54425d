"""Whether every weld can be made, and which need the job taken apart."""

from __future__ import annotations

from itertools import groupby

from manifoldgen.access.hands import Hands
from manifoldgen.access.results_welds import WeldAccess
from manifoldgen.checks.check import HandCheck
from manifoldgen.checks.finding import Finding, FindingKind
from manifoldgen.geometry.vectors import Vec
from manifoldgen.manifold.model import Manifold

WELD_STUCK = FindingKind(
    name="weld-stuck",
    severities=("error", "warning"),
    means="Some of this weld cannot be reached by the torch in any sequence of welding.",
    why="What is not fused from outside leaks or cracks there. Where a way out is known it is stated, and this is a "
    "warning.",
    do="Follow the way out given: the joint moved along its straight, a longer stub at the inlet, or the inlet welded "
    "to its runner before the collector is closed.",
)
WELD_APART = FindingKind(
    name="weld-apart",
    severities=("warning",),
    means="These welds cannot be finished with everything in place; they come in an earlier stage.",
    why="Once fully tacked, the torch cannot reach them. The stages say what is on the bench when.",
    do="Follow the work list: tack in place all that can be, trial fit on the engine, mark across every joint, take "
    "apart, weld stage by stage, put together again on the plate and weld the last stage there.",
)


def check(m: Manifold, hands: Hands) -> tuple[Finding, ...]:
    """`weld-stuck` (a warning where a way out is stated), `weld-apart` (warning, one a stage)."""
    if hands.welding is None:
        return ()
    stuck = [_stuck(m, w) for w in hands.welding.welds if w.stuck]
    apart = sorted((w for w in hands.welding.welds if w.apart and not w.stuck), key=lambda w: w.stage)
    return (*stuck, *(_apart(m, n, list(ws)) for n, ws in groupby(apart, key=lambda w: w.stage)))


CHECK = HandCheck(kinds=(WELD_STUCK, WELD_APART), ask=check)


def _stuck(m: Manifold, weld: WeldAccess) -> Finding:
    blocked = ", ".join(weld.blocked_by[:3]) or "its own pieces"
    return WELD_STUCK.finding(
        severity="warning" if weld.way_out else "error",
        message=f"{weld.id} cannot be fully welded in any sequence; {100 * weld.stage_reach:.0f} % at best, "
        f"{weld.longest_blocked:.0f} {'°' if weld.unit == 'deg' else weld.unit} behind {blocked}.",
        do=weld.way_out
        or "Open the gap there, move the joint along its straight, or give the inlet a longer stub.",
        value=100 * weld.stage_reach,
        limit=100.0,
        unit="%",
        parts=(weld.id,),
        points=_at(m, weld.id),
    )


def _apart(m: Manifold, stage: int, welds: list[WeldAccess]) -> Finding:
    ids = [w.id for w in welds]
    what = "weld is" if len(ids) == 1 else "welds are"
    return WELD_APART.finding(
        message=f"{len(ids)} {what} out of reach once all is in place: {', '.join(ids)}.",
        do=f"After the trial fit take it apart and weld them in stage {stage}, before the next parts go on again.",
        value=float(len(ids)),
        parts=tuple(ids),
        points=tuple(p for i in ids for p in _at(m, i)),
    )


def _at(m: Manifold, joint: str) -> tuple[Vec, ...]:
    return tuple(j.at for j in m.joints if j.id == joint)
