"""A collector's seams in the order they are welded, and how far the inner ones can be reached.

The inner seams run from the centre point towards the scallops' bottoms between tubes that have closed above them:
they are reached from the outlet end only, so they come before transition plate and cone. Order: judgement from
practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from manifoldgen.access.hands import Hands
from manifoldgen.manifold.model import Collector, Joint, Manifold
from manifoldgen.manifold.seams import seam_radius, star_depth, touch_depth

_STEPS = 400


@dataclass(frozen=True)
class InnerSeam:
    """One inner seam.

    length : from centre point to scallop, mm on the tubes' outside.  depth : of its far end below the flat cut, mm.
    reach : share of its places a torch gets to in its stage; None where that was not measured.
    """

    joint: str
    length: float
    depth: float
    reach: float | None

    @property
    def reachable(self) -> float | None:
        """Length a torch gets to, mm."""
        return None if self.reach is None else self.reach * self.length


@dataclass(frozen=True)
class SeamStep:
    """One step.  joints : ids welded in it, in pairs opposite each other."""

    text: str
    joints: tuple[str, ...]


def inner_seams(m: Manifold, c: Collector, hands: Hands | None) -> tuple[InnerSeam, ...]:
    """The inner seams of one merge collector; none where two inlets only touch on the axis."""
    if c.kind == "bundle" or len(c.order) < 3:
        return ()
    touch, star = touch_depth(c), star_depth(c)
    share = np.linspace(1e-6, 1.0, _STEPS)
    depth = touch + (star - touch) * share**2  # even steps where the seam turns round
    radius = np.array([seam_radius(c, float(z))[1] for z in depth])
    length = float(np.hypot(np.diff(radius), np.diff(depth)).sum())
    reached = (
        {w.id: max(w.reach, w.stage_reach) for w in hands.welding.welds} if hands and hands.welding else {}
    )
    return tuple(
        InnerSeam(j.id, length, c.merge_depth - touch, reached.get(j.id))
        for j in _of(m, c, "inner seam")
    )  # fmt: skip


def seam_steps(m: Manifold, c: Collector, hands: Hands | None = None) -> tuple[SeamStep, ...]:
    """What is welded when, with the joints' ids.

    hands : what the torch reaches; runner joints that it reaches only before the inlets come together are first.
    """
    lid, cone = _ids(m, c, "lid"), _ids(m, c, "cone")
    saddle = tuple(j.id for j in m.joints if j.kind == "saddle")
    runners = _runner_joints(m, c)
    early = _early(m, c, runners, hands)
    rest = tuple(j for j in runners if j not in early)
    first = (
        [SeamStep("Runner joints that no torch reaches once the inlets stand together", early)]
        if early
        else []
    )
    if c.kind == "bundle":
        plate = _ids(m, c, "plate")
        steps = [
            SeamStep(
                "Stand the inlets in the plate, measure the inlet circle, check that they are flush; tack each",
                (),
            ),
            SeamStep("Weld each inlet to the plate, opposite ones in turn", _opposite(plate)),
            SeamStep("True the plate's edge; cone on, weld outside", cone),
        ]
    else:
        crotch, inner, star = (_ids(m, c, kind) for kind in ("crotch", "inner seam", "star"))
        steps = [
            SeamStep("Trial fit of all inlets in hose clamps or the print; tack the outer valleys (crotches), opposite pairs; "
                     "measure the inlet circle and the roundness of the outlet end", _opposite(crotch)),
        ]  # fmt: skip
        if inner:
            steps += [
                SeamStep("Inner seams from the outlet end: short runs, opposite ones in turn, meeting at the centre point; "
                         "purge: cap all inlets, argon into one, foil with a torch window over the outlet end",
                         (*_opposite(inner), *star)),
                SeamStep("Dress the ridge; look at it and penetrant-test from the outlet end", ()),
            ]  # fmt: skip
        steps += [
            SeamStep("Outer valleys (crotches), opposite ones in turn", _opposite(crotch)),
            SeamStep("True the flat cut; transition plate on, weld the lobes", lid),
            SeamStep("Cone on, weld outside", cone),
        ]
    if saddle:
        steps.append(
            SeamStep("Branch while its parent is open at both ends, before the turbo flange", saddle)
        )
    if rest:
        steps.append(SeamStep("Only then the runners to the inlets", rest))
    return (*first, *steps)


def _early(m: Manifold, c: Collector, runners: tuple[str, ...], hands: Hands | None) -> tuple[str, ...]:
    """Runner joints whose stage comes before that of the collector's own seams."""
    if hands is None or hands.welding is None:
        return ()
    stage = {w.id: w.stage for w in hands.welding.welds}
    kinds = {"inner seam", "star", "crotch", "lid", "plate"}
    own = [stage[j.id] for j in m.joints if j.kind in kinds and j.owner == c.owner and j.id in stage]
    return tuple(j for j in runners if own and stage.get(j, 0) < min(own))


def _runner_joints(m: Manifold, c: Collector) -> tuple[str, ...]:
    """The last weld of every runner: where its inlet's piece begins."""
    held = {p.inlet: p for p in m.pieces if p.inlet in c.order}
    return tuple(held[k].joints[0] for k in c.order if k in held)


def _of(m: Manifold, c: Collector, kind: str) -> list[Joint]:
    return [j for j in m.joints if j.kind == kind and j.owner == c.owner]


def _ids(m: Manifold, c: Collector, kind: str) -> tuple[str, ...]:
    return tuple(j.id for j in _of(m, c, kind))


def _opposite(ids: tuple[str, ...]) -> tuple[str, ...]:
    """Ids round the inlet circle in an order that jumps across it each time."""
    n, half = len(ids), len(ids) // 2
    if n % 2:
        return tuple(ids[k * half % n] for k in range(n)) if half else ids
    return tuple(ids[k + step] for k in range(half) for step in (0, half))
