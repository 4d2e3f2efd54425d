"""All welds of a manifold: who reaches them, in which order they are made, and the way out where one is stuck."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from functools import cache, cached_property

import numpy as np
from numpy.typing import NDArray

from manifoldgen.access import wayout
from manifoldgen.access.order import Link, WeldStages, plan, together
from manifoldgen.access.purge import volumes
from manifoldgen.access.reach import BENCH_PLATE, Bench, JointReach, bench_of, reaches, shapes_of
from manifoldgen.access.results_welds import Stage, WeldAccess, Welding
from manifoldgen.access.scene import Scene
from manifoldgen.access.torch import TIERS, torches
from manifoldgen.manifold.model import Joint, Manifold, Owner


def welding(m: Manifold, whole: Scene | None = None, *, bench: bool = False) -> Welding:
    """What can be said about every weld of a split manifold and about their order.

    whole : the scene, if it is there already.  bench : welded on a plate wider than the head flange.
    """
    return Welder(m, whole, bench=bench).result()


def stuck(m: Manifold) -> tuple[str, ...]:
    """Ids of the joints of a split manifold that no order of welding reaches in full; ways out are not looked for."""
    return Welder(m).planned(lambda _name, _present: False).stuck


class Welder:
    """One manifold on the bench with the first torch of the catalogue (or the shop's own)."""

    def __init__(self, m: Manifold, whole: Scene | None = None, *, bench: bool = False) -> None:
        self.m = m
        self.on: Bench = bench_of(m, whole, bench=bench)
        self.torches = torches(m.tables)
        self.reach = reaches(m, self.torches[0], self.on)
        self.links = tuple(Link(j.id, self.reach[j.id].hosts) for j in m.joints)
        self.plate = self.on.bits((BENCH_PLATE,))
        self.head = self.on.bits((m.head.name,))
        self._ways: dict[tuple[str, int], str | None] = {}

    def present(self, groups: int) -> int:
        """The set with the bench plate where the head flange is in it."""
        return groups | self.plate if groups & self.head else groups

    @cached_property
    def plan(self) -> WeldStages:
        """The order, with every stuck joint named."""
        return self.planned(lambda name, groups: self.way_out(name, groups) is not None)

    def planned(self, rescue: Callable[[str, int], bool]) -> WeldStages:
        """The order where `rescue` tells which stuck joints have a way out."""

        @cache
        def free(name: str, groups: int) -> float:
            return float(self.reach[name].free(self.present(groups)).mean())

        return plan(
            self.links,
            lambda name, groups: free(name, groups) == 1.0,
            share=free,
            before=inner_first(self.m),
            rather_before=saddle_first(self.m),
            rescue=rescue,
        )

    def way_out(self, name: str, groups: int) -> str | None:
        """What lets a stuck joint be welded with these groups present."""
        if (name, groups) not in self._ways:
            joint = next(j for j in self.m.joints if j.id == name)
            found = wayout.find(self.m, self.on, self.torches, joint, self.present(groups))
            self._ways[name, groups] = found
        return self._ways[name, groups]

    def result(self) -> Welding:
        """Welds in the order of the joints, stages in the order of welding."""
        at = {name: i for i, names in enumerate(self.plan.stages) for name in names}
        made = tuple(self._weld(j, at[j.id]) for j in self.m.joints)
        return Welding(made, self.stages(), max(len(self.plan.stages) - 1, 0))

    def fitted(self, name: str) -> int:
        """The set that hangs together while a joint is welded in its stage."""
        index = next(i for i, names in enumerate(self.plan.stages) if name in names)
        held = set(self.plan.closed[index])
        link = next(k for k in self.links if k.id == name)
        return together([k for k in self.links if k.id in held])(link)

    def _weld(self, joint: Joint, stage: int) -> WeldAccess:
        reach = self.reach[joint.id]
        whole = self.present(self.on.everything & ~self.plate)
        then = self.present(self.fitted(joint.id))
        free, staged = reach.free(whole), reach.free(then)
        tier = reach.tier(whole)
        tier = reach.tier(then) if tier is None else tier
        blocked, unit = longest_blocked(reach, free)
        worst = reach.worst()
        stuck = joint.id in self.plan.stuck
        return WeldAccess(
            id=joint.id,
            kind=joint.kind,
            reach=float(free.mean()),
            stage_reach=float(staged.mean()),
            tier=None if tier is None else TIERS[tier],
            longest_blocked=blocked,
            unit=unit,
            blocked_by=tuple(
                self.on.words[i] if i >= 0 else "the pieces it joins" for i, _ in reach.blockers(whole).most_common()
            ),
            stage=stage + 1,
            apart=not bool(free.all()),
            tack=tackable(self.m, free, closed=reach.sides[0].weld.closed),
            torch=reach.torch.name,
            stuck=stuck,
            way_out=self.way_out(joint.id, self.fitted(joint.id)) if stuck else None,
            assumed=reach.torch.assumed,
            shapes=shapes_of(reach, worst[0], worst[1]) if worst else (),
            hosts=reach.sides[0].weld.hosts,
            blocked_at=blocked_stretches(reach, free),
        )  # fmt: skip

    def stages(self) -> tuple[Stage, ...]:
        """One entry for each stage and purged volume."""
        made = []
        for number, (names, closed) in enumerate(
            zip(self.plan.stages, self.plan.closed, strict=True), start=1
        ):
            hangs = together([k for k in self.links if k.id in set(closed)])
            for volume in volumes(self.m, closed):
                mine = [k for k in self.links if k.id in names and self._in(k, volume.pieces)]
                if not mine:
                    continue
                groups = hangs(mine[0])
                made.append(
                    Stage(
                        number, tuple(k.id for k in mine), fitted_words(self.m, self.on, groups), volume.purge
                    )
                )
        return tuple(made)

    def _in(self, link: Link, pieces: frozenset[str]) -> bool:
        """Whether a joint lies on a volume (by the first of its pieces that is no flange)."""
        hosts = self.on.named(link.hosts)
        first = next((name for name in hosts if name in {p.id for p in self.m.pieces}), None)
        return first in pieces


def inner_first(m: Manifold) -> dict[str, tuple[str, ...]]:
    """Inner seams and centre point have to be welded before transition plate and cone shut the collector end."""

    def late(owner: Owner) -> tuple[str, ...]:
        return tuple(j.id for j in m.joints if j.kind in {"lid", "cone"} and j.owner == owner)

    return {j.id: late(j.owner) for j in m.joints if j.kind in {"inner seam", "star"}}


def saddle_first(m: Manifold) -> dict[str, tuple[str, ...]]:
    """A saddle is better welded while its parent is open at both ends: the root is dressed from inside."""
    made = {}
    for joint in m.joints:
        if joint.kind == "saddle":
            parent = joint.between[0]
            made[joint.id] = tuple(
                j.id for j in m.joints if parent in j.between and j.kind in {"butt", "flange", "cone"}
            )
    return made


def longest_blocked(reach: JointReach, free: NDArray[np.bool_]) -> tuple[float, str]:
    """The longest stretch that is not reached: degrees of a ring, mm of a seam."""
    weld = reach.sides[0].weld
    run = blocked_run(free, closed=weld.closed)
    if weld.closed:
        return 360.0 * run / len(free), "deg"
    return weld.length * run / len(free), "mm"


def blocked_stretches(reach: JointReach, free: NDArray[np.bool_]) -> tuple[tuple[float, float], ...]:
    """Every stretch that is not reached, from and to: degrees of a ring, mm of a seam.

    A place stands for half a step on either side of it, on a seam for its own share of the length.
    """
    weld = reach.sides[0].weld
    n = len(free)
    step, shift = (360.0 / n, -0.5) if weld.closed else (weld.length / n, 0.0)
    if not free.any():
        return ((0.0, step * n),)
    first = int(np.argmax(free)) if weld.closed else 0  # a ring is walked from a free place on
    order = [(first + k) % n for k in range(n)] if weld.closed else list(range(n))
    made: list[tuple[float, float]] = []
    run: list[int] = []
    for place in [*order, -1]:
        if place >= 0 and not free[place]:
            run.append(place)
        elif run:
            made.append(((run[0] + shift) * step, (run[0] + len(run) + shift) * step))
            run = []
    return tuple(sorted(made))


def blocked_run(free: Sequence[bool] | NDArray[np.bool_], *, closed: bool) -> int:
    """Number of places in the longest run that is not free; round the end where the weld is closed."""
    flags = [bool(f) for f in free]
    best = run = 0
    for flag in flags * 2 if closed else flags:
        run = 0 if flag else run + 1
        best = max(best, run)
    return min(best, len(flags))


def tackable(m: Manifold, free: NDArray[np.bool_], *, closed: bool) -> bool:
    """Whether there is room for tacks enough and none too far from the next; common practice, no source."""
    row = m.tables.row("tig", "practice", "tack")
    apart = math.floor(float(row["max_gap_deg"]) / 360.0 * len(free) + 1e-9)
    if len(free) < 2 * int(row["min_count"]):
        return bool(free.any())
    return int(free.sum()) >= int(row["min_count"]) and blocked_run(free, closed=closed) + 1 <= apart


def fitted_words(m: Manifold, on: Bench, groups: int) -> tuple[str, ...]:
    """What is in a set, whole parts by their name, single pieces by their id."""
    there = set(on.named(groups))
    said: list[str] = []
    for part in dict.fromkeys(p.part for p in m.pieces):
        ids = [p.id for p in m.pieces if p.part == part]
        held = [i for i in ids if i in there]
        said += [part] if held == ids else held
    return (*(f.name for f in m.flanges if f.name in there), *said)
