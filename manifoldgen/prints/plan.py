"""Which pieces the test-fit model is printed in: the ports of each flange part and the splits of every tube.

head part 1 ┬ runner 1 ── … ──┐                     every ── is a split; the head parts carry short stubs, so
└ runner 2 ── … ──┤ collector ── outlet  that they print face down and go on last, all at once
head part 2 ┬ runner 3 ── … ──┤
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from manifoldgen.errors import SolidError
from manifoldgen.geometry import contour
from manifoldgen.geometry.path import Straight
from manifoldgen.geometry.vectors import Array
from manifoldgen.manifold.model import Flange, Manifold, Port, Run
from manifoldgen.manifold.mouth_fit import sound_mouth
from manifoldgen.prints import bed, limbs, plates, splits
from manifoldgen.prints.limbs import Limb
from manifoldgen.prints.splits import CLEAR, SHORTEST, SPIGOT, Split

STUB = (6.0, 30.0)  # mm of tube on a head part, least and most


@dataclass(frozen=True)
class Grown:
    """What stands on a limb and must stay in one piece with it: from, to, and the points it reaches."""

    start: float
    end: float
    points: Array


@dataclass(frozen=True)
class ModelPlan:
    """groups : the ports of each head part (none without flange).  limbs : by name.  splits : of each limb.

    ends : where each limb's print begins and ends.  mouths : stretch of the parent that carries the branch.
    stubs : limbs whose first split is a head part's stub.  inlets : those whose last is the collector's inlet.
    """

    groups: tuple[tuple[Port, ...], ...]
    limbs: Mapping[str, Limb]
    splits: Mapping[str, tuple[Split, ...]]
    ends: Mapping[str, tuple[float, float]]
    mouths: Mapping[str, tuple[float, float]]
    stubs: frozenset[str]
    inlets: frozenset[str]


def plan(m: Manifold) -> ModelPlan:
    """How the model is parted.

    Raises
    ------
    SolidError : something does not fit on the bed however it is parted, or a path is not known.
    GeometryError : a branch's mouth does not fit its parent.
    """
    made = _Plan(m)
    made.runners()
    if m.workshop.model.runner is None:
        made.trunk()
    return ModelPlan(
        made.groups,
        made.limbs,
        made.splits,
        made.ends,
        made.mouths,
        frozenset(made.stubs),
        frozenset(made.inlets),
    )


class _Plan:
    def __init__(self, m: Manifold) -> None:
        self.m, self.bed, self.model = m, m.workshop.bed, m.workshop.model
        self.groups: tuple[tuple[Port, ...], ...] = ()
        self.limbs: dict[str, Limb] = {}
        self.splits: dict[str, tuple[Split, ...]] = {}
        self.ends: dict[str, tuple[float, float]] = {}
        self.mouths: dict[str, tuple[float, float]] = {}
        self.stubs: set[str] = set()
        self.inlets: set[str] = set()
        self.tails: list[Array] = []

    # runners ------------------------------------------------------------------------------------------------

    def runners(self) -> None:
        m, only = self.m, self.model.runner
        wanted = [r for r in m.runners if only is None or r.number == only]
        if not wanted:
            numbers = ", ".join(str(r.number) for r in m.runners)
            raise SolidError(
                "test-fit model", f"there is no runner {only}; print.runner takes one of {numbers}"
            )
        if self.model.flange:
            self.groups = head_groups(m, only)
        for run in wanted:
            self.runner(run)

    def runner(self, run: Run) -> None:
        limb = limbs.runner(self.m, run)
        alone = self.model.runner is not None or limbs.collector_of(self.m, run) is None
        first = self.stub(limb) if self.model.flange else None
        last = None if alone else self.inlet(limb, first)
        start, end = first or 0.0, last or limb.end
        for parted in (False, True):
            grown = self.grown(run.name, limb, parted=parted)
            closed = [(g.start, g.end) for g in grown]
            between = splits.places(limb.path, "down", start, end, closed)
            found = splits.chain(start, end, between, self.fits(limb, grown))
            if found is not None:
                break
        else:
            raise self.too_large(run.name)
        inside = [s for s in (first, *found, last) if s is not None]
        self.limbs[run.name] = limb
        self.splits[run.name] = _named(run.name, str(run.number), inside, "down")
        self.ends[run.name] = (0.0, limb.end if alone else limb.path.length)
        if first is not None:
            self.stubs.add(run.name)
        if not alone:
            self.inlets.add(run.name)
            self.tails.append(splits.outline_points(limb.path, limb.radius, end, limb.end))

    def stub(self, limb: Limb) -> float | None:
        """Where the head part's stub ends: in the first straight, so that all stubs slide in together."""
        low = STUB[0] + (self.m.head.transition_length if self.m.head.transition == "tube" else 0.0)
        element = limb.path.elements[0] if limb.path.elements else None
        straight = element.length if isinstance(element, Straight) else 0.0
        most = min(straight - SPIGOT, STUB[1])
        if most >= low and most + SHORTEST <= limb.end:
            return most
        tried = splits.places(limb.path, "down", low, limb.end - SHORTEST)
        return min(tried, key=lambda p: (p.cost, p.s)).s if tried else None

    def inlet(self, limb: Limb, first: float | None) -> float | None:
        """Where the collector's inlet is parted from the runner: as near to the collector as a spigot allows."""
        low = (first or 0.0) + SHORTEST
        tried = splits.places(limb.path, "down", low, limb.end - SPIGOT)
        # beside a joint rather than a little further on: there the steel tube is parted too
        joints = np.cumsum([0.0, *(s.length for s in limb.path.segments)])

        def off(s: float) -> float:
            return 0.0 if np.abs(joints - s).min() < 1e-6 else 0.5

        return min(tried, key=lambda p: (p.cost, (limb.end - p.s) / 40.0 + off(p.s))).s if tried else None

    # trunk and branches -------------------------------------------------------------------------------------

    def trunk(self) -> None:
        limb = limbs.trunk(self.m)
        for parted in (False, True):
            found = self.trunk_splits(limb, self.grown(self.m.outlet.name, limb, parted=parted))
            if found is not None:
                break
        else:
            raise self.too_large("collector and outlet")
        self.limbs[limbs.TRUNK] = limb
        self.splits[limbs.TRUNK] = _named(limbs.TRUNK, "O", found, "up")
        self.ends[limbs.TRUNK] = (limb.start, limb.end)

    def trunk_splits(self, limb: Limb, grown: list[Grown]) -> tuple[float, ...] | None:
        """The trunk's splits with this growing on it; collector and turbo flange apart where that can be."""
        if self.tails:
            grown.append(Grown(limb.start, limb.start, np.concatenate(self.tails)))
        if self.model.flange:
            grown.append(Grown(limb.end, limb.end, plate_points(self.m.turbo)))
        low = limb.start + (self.m.workshop.wall + 2 * CLEAR + SPIGOT if self.m.collectors else 0.0)
        closed = [(g.start, g.end) for g in grown if g.end > g.start]
        between = splits.places(limb.path, "up", low, limb.end - STUB[0], closed)
        both = self.fits(limb, grown)

        def apart(a: float, b: float) -> bool:
            return not (a <= limb.start and b >= limb.end) and both(a, b)

        found = splits.chain(limb.start, limb.end, between, apart)
        return found if found is not None else splits.chain(limb.start, limb.end, between, both)

    def grown(self, name: str, limb: Limb, *, parted: bool = False) -> list[Grown]:
        """The branches on a limb, each parted from its own flange where the whole would not fit, or if `parted`."""
        found = []
        for number, b in enumerate(self.m.branches, start=1):
            parent = self.m.outlet.name if b.element is None else b.takeoff
            if b.run.path is None or parent != name:
                continue
            own = limbs.branch(self.m, b)
            there = sound_mouth(self.m, b)
            on_outlet = b.element is not None and name == self.m.outlet.name and self.m.collectors
            shift = self.m.collectors[0].length if on_outlet else 0.0  # the trunk begins at the joint plane
            low, high = there.first + shift, there.last + shift
            points = self.branch(
                own, there.reach, "W" if number == 1 else f"W{number}", limb, (low, high), parted=parted
            )
            found.append(Grown(low, high, points))
            self.mouths[b.run.name] = (low, high)
        return found

    def branch(
        self, own: Limb, reach: float, code: str, parent: Limb, at: tuple[float, float], *, parted: bool
    ) -> Array:
        """The branch's splits, and the points of what stays on its parent."""
        flange = self.m.wastegate_flange if self.model.flange else None
        tried = splits.places(own.path, "up", reach + CLEAR + SPIGOT, own.end - STUB[0])
        hold = splits.outline_points(parent.path, parent.radius, at[0] - SPIGOT, at[1] + SPIGOT)
        plate = plate_points(flange) if flange else None

        def stays(s: float | None) -> Array:
            tube = splits.outline_points(own.path, own.radius, 0.0, own.end if s is None else s)
            return tube if s is not None or plate is None else np.concatenate([tube, plate])

        chosen: float | None = None
        if parted or not bed.fits(np.concatenate([hold, stays(None)]), self.bed):
            order = sorted(tried, key=lambda p: (p.cost, p.s))
            chosen = next(
                (p.s for p in order if bed.fits(np.concatenate([hold, stays(p.s)]), self.bed)), None
            )
        self.limbs[own.name] = own
        self.splits[own.name] = _named(own.name, code, () if chosen is None else (chosen,), "up")
        self.ends[own.name] = (0.0, own.end)
        return stays(chosen)

    # fit ----------------------------------------------------------------------------------------------------

    def fits(self, limb: Limb, grown: Sequence[Grown]) -> Callable[[float, float], bool]:
        """Whether a stretch of a limb, with its spigot and all that stands on it, fits on the bed."""

        def fit(a: float, b: float) -> bool:
            parts = [
                splits.outline_points(limb.path, limb.radius, a, b),
                splits.outline_points(
                    limb.path, limb.bore_radius, max(a - SPIGOT, limb.start), min(b + SPIGOT, limb.end)
                ),
            ]
            parts += [g.points for g in grown if a <= g.start + 1e-6 and g.end <= b + 1e-6]
            downs = [limb.path.tangent(b), -limb.path.tangent(a)]
            return bed.fits(np.concatenate(parts), self.bed, downs)

        return fit

    def too_large(self, name: str) -> SolidError:
        have = " x ".join(f"{v:.0f}" for v in self.m.workshop.room)
        return SolidError(
            name, f"its print cannot be parted into pieces that fit into {have} mm; give a larger print.bed"
        )


def head_groups(m: Manifold, only: int | None = None) -> tuple[tuple[Port, ...], ...]:
    """The ports of each part of the head flange, along x: the fewest parts that fit on the bed."""
    ports = sorted(m.ports, key=lambda p: p.opening.at[0])
    if only is not None:
        return (tuple(p for p in ports if p.number == only),)
    for count in range(1, len(ports) + 1):
        groups = tuple(tuple(ports[i] for i in part) for part in np.array_split(np.arange(len(ports)), count))
        laps = plates.laps(m.head, [[p.opening for p in g] for g in groups], m.tables)
        edges = [-np.inf, *(lap.x for lap in laps), np.inf]
        overlap = max((lap.length for lap in laps), default=0.0) / 2
        if all(
            bed.fits(plate_points(m.head, a - overlap, b + overlap, SPIGOT + STUB[0]), m.workshop.bed)
            for a, b in pairwise(edges)
        ):
            return groups
    raise SolidError(
        m.head.name,
        f"even one port of it does not fit on a bed of {m.workshop.bed[0]:g} x {m.workshop.bed[1]:g} mm; give a larger"
        " print.bed, or print.flange: false",
    )


def plate_points(flange: Flange, low: float = -np.inf, high: float = np.inf, more: float = 0.0) -> Array:
    """Points of a flange's plate between x = `low` and `high` in its plane, `more` mm higher on its tube side."""
    flat = np.asarray(contour.points(flange.rim, 0.5))
    flat = np.column_stack([np.clip(flat[:, 0], low, high), flat[:, 1]])
    z0, z1 = plates.span(flange)
    z0, z1 = (z0, z1 + more) if flange.tube_side == "end" else (z0 - more, z1)
    points: Array = flange.frame.out(
        np.concatenate([np.column_stack([flat, np.full(len(flat), z)]) for z in (z0, z1)])
    )
    return points


def _named(limb: str, code: str, places: Sequence[float], socket: splits.Side) -> tuple[Split, ...]:
    return tuple(Split(limb, s, f"{code}{chr(ord('A') + k)}", socket) for k, s in enumerate(places))
