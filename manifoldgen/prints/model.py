"""The test-fit model: the whole manifold at its true outside, in pieces that fit on the printer's bed.

Bolted to the real head it shows what no drawing does, before steel is bought. Every piece is built from its own
stretches of tube, flange and collector, so that no cut ever touches a neighbour.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field

from manifoldgen.geometry.vectors import Vec, array
from manifoldgen.manifold.collector import OVERRUN
from manifoldgen.manifold.model import Branch, Flange, Manifold, Port
from manifoldgen.prints import bodies, lattice, marks, plates, spigots
from manifoldgen.prints.finish import finished
from manifoldgen.prints.formed import formed_tube
from manifoldgen.prints.limbs import INTO_CONE, THINNEST, TRUNK, Limb
from manifoldgen.prints.part import PrintedPart
from manifoldgen.prints.plan import ModelPlan, plan
from manifoldgen.prints.skin import back_at
from manifoldgen.prints.splits import ROOT, SPIGOT, Split, stretches

Progress = Callable[[str], None]

COLD = "For a cold fit only: plastic softens at 60 °C."
TONGUE = "The lap's upper tongue needs support."
_INTO_PLATE = 3.0  # mm a tube runs into its flange
_MARK_ROOM = 10.0  # mm at each end that the split's own marks take


@dataclass
class _Body:
    """A piece while it is put together: (outer - inner + adds) - cuts."""

    name: str
    mark: str
    purpose: str
    outer: list[bodies.Body] = field(default_factory=list)
    inner: list[bodies.Body] = field(default_factory=list)
    adds: list[bodies.Body] = field(default_factory=list)
    cuts: list[bodies.Body] = field(default_factory=list)
    sits: list[str] = field(default_factory=list)
    spigots: list[str] = field(default_factory=list)
    sockets: list[str] = field(default_factory=list)
    cautions: list[str] = field(default_factory=list)

    def solid(self) -> bodies.Body:
        whole = bodies.minus(bodies.union(self.outer), *self.inner)
        return bodies.minus(bodies.union([whole, *self.adds]), *self.cuts)

    def goes_together(self) -> str:
        told = [*self.sits]
        for what, marks_ in (("spigot", self.spigots), ("socket", self.sockets)):
            if marks_:
                told.append(f"{what}{'s' if len(marks_) > 1 else ''} {', '.join(marks_)}")
        if self.spigots or self.sockets:
            told[-1] += ": push together until the arrows meet"
        return "; ".join(told) + "." if told else ""


def model_parts(m: Manifold, progress: Progress | None = None) -> tuple[PrintedPart, ...]:
    """The pieces of the test-fit model, as `m.workshop` asks for it, each in its print pose.

    progress : is told a line a piece.

    Raises
    ------
    SolidError, GeometryError : a path is missing, or something fits on the bed no way.
    """
    makers = _Model(m, plan(m)).makers()
    parts = []
    for k, make in enumerate(makers, start=1):
        body = make()
        parts.append(
            finished(
                m,
                body.solid(),
                name=body.name,
                kind="model",
                mark=body.mark,
                purpose=body.purpose,
                sits=body.goes_together(),
                cautions=(*body.cautions, COLD),
            )
        )
        if progress is not None:
            progress(f"test-fit model: piece {k} of {len(makers)}, {body.name}")
    return tuple(parts)


class _Model:
    def __init__(self, m: Manifold, made: ModelPlan) -> None:
        self.m, self.plan = m, made
        self.fit, self.wall = m.workshop.fit, m.workshop.wall
        self.full = m.workshop.model.fill == "solid"
        self.open = m.workshop.model.fill == "lattice"
        self.flanges = m.workshop.model.flange

    def makers(self) -> list[Callable[[], _Body]]:
        """What makes each piece, in the order they are listed: along the gas, then the branch."""
        made: list[Callable[[], _Body]] = [
            lambda k=k: self.head(k)  # type: ignore[misc]
            for k in range(len(self.plan.groups))
        ]
        for run in self.m.runners:
            if run.name in self.plan.limbs:
                made += self.runner(run.name, run.number)
        if TRUNK in self.plan.limbs:
            made += self.trunk()
        for b in self.m.branches:
            if self.plan.splits.get(b.run.name):
                made.append(lambda b=b: self.branch_end(b))  # type: ignore[misc]
        return made

    # pieces -------------------------------------------------------------------------------------------------

    def head(self, k: int) -> _Body:
        """One part of the head flange with its stubs."""
        head, groups = self.m.head, self.plan.groups
        several = len(groups) > 1
        mark = f"H-M{k + 1}" if several else "H-M"
        ports = ", ".join(str(p.number) for p in groups[k])
        body = _Body(
            f"model-head-{k + 1}" if several else "model-head",
            mark,
            f"head flange of the test-fit model, port {ports}",
        )
        plate, low, high = self.plate_part(k, body)
        body.outer.append(plate)
        for port in groups[k]:
            self.port(body, port)
        body.cuts += plates.holes(head, self.m.workshop.hole_extra)
        place = plates.mark_place(head, mark, low, high)
        if place is not None:
            body.cuts.append(marks.flat(mark, place))
        body.sits.insert(0, "bolts to the real head; goes on last, all stubs at once")
        self.thickened(body, head)
        return body

    def plate_part(self, k: int, body: _Body) -> tuple[bodies.Body, float, float]:
        """The plate of one part, and where it begins and ends along x."""
        head, groups = self.m.head, self.plan.groups
        x0, _, x1, _ = head.rim.bounds
        plate = plates.body(head)
        if self.m.workshop.model.runner is not None:
            x0, x1 = plates.between_neighbours(head, groups[0][0].opening)
            z0, z1 = plates.span(head)
            return bodies.common(plate, bodies.box((x0, -1e3, z0 - 1), (x1, 1e3, z1 + 1), head.frame)), x0, x1
        laps = plates.laps(head, [[p.opening for p in g] for g in groups], self.m.tables)
        for i, before in ((k - 1, False), (k, True)):
            if not 0 <= i < len(laps):
                continue
            lap = laps[i]
            plate = bodies.minus(plate, plates.beyond_lap(head, lap, self.fit, before=before))
            body.cuts += plates.lap_holes(head, lap)
            other = i + 2 if before else i + 1
            how = (
                f"{len(lap.screws)} {lap.screw.thread} screws, nuts in the pockets"
                if lap.screws
                else "glue it"
            )
            body.sits.append(f"lap to H-M{other}: {how}")
            if before:
                x1 = lap.x - lap.length / 2
            else:
                x0 = lap.x + lap.length / 2
                body.cautions.append(TONGUE)
        return plate, x0, x1

    def port(self, body: _Body, port: Port) -> None:
        """Stub and passage of one port."""
        head = self.m.head
        run = next((r for r in self.m.runners if r.number == port.number), None)
        limb = self.plan.limbs.get(run.name) if run else None
        bore = limb.bore_radius(0.0) if limb else head.tube.radius - self.wall
        if not self.full:
            body.inner.append(plates.passage(head, port.opening, port.direction, bore))
        if run is None or limb is None or run.name not in self.plan.stubs:
            return
        split = self.plan.splits[run.name][0]
        lean = math.acos(min(1.0, float(array(port.direction) @ array(head.frame.z))))
        sunk = limb.radius(0.0) * math.tan(lean) + _INTO_PLATE
        if head.transition == "tube":
            outer, inner = formed_tube(self.m, port.opening, limb)
            body.outer.append(outer)
            self.hollow(body, inner)
            start = head.transition_length
            body.outer.append(limb.skin(start - 0.2, split.s))
            self.hollow(body, limb.hollow(start, split.s + 1.0))
        else:
            face = head.frame.out((0.0, 0.0, head.thickness))
            foot = head.frame.out((0.0, 0.0, 0.5))
            body.outer.append(bodies.upto(limb.skin(-sunk, split.s), foot, -array(head.frame.z)))
            self.hollow(body, bodies.upto(limb.hollow(-sunk, split.s + 1.0), face, -array(head.frame.z)))
        self.fitting(body, limb, split, upstream=True)

    def runner(self, name: str, number: int) -> list[Callable[[], _Body]]:
        """The pieces of a runner between head part and collector."""
        limb, splits = self.plan.limbs[name], self.plan.splits[name]
        start, end = self.plan.ends[name]
        spans = list(stretches(start, end, [s.s for s in splits]))
        if name in self.plan.stubs:
            spans = spans[1:]
        if name in self.plan.inlets and splits:
            spans = spans[:-1]

        def piece(k: int, a: float, b: float) -> _Body:
            mark = f"R{number}-M{k}"
            body = _Body(
                f"model-r{number}-{k}", mark, f"{name} of the test-fit model, piece {k} of {len(spans)}"
            )
            self.stretch(body, limb, a, b, splits)
            self.label(body, limb, mark, a, b)
            return body

        return [lambda k=k, a=a, b=b: piece(k, a, b) for k, (a, b) in enumerate(spans, start=1)]  # type: ignore[misc]

    def trunk(self) -> list[Callable[[], _Body]]:
        """Collector and outlet, to the turbo flange."""
        limb, splits = self.plan.limbs[TRUNK], self.plan.splits[TRUNK]
        spans = list(stretches(*self.plan.ends[TRUNK], [s.s for s in splits]))
        hub = bool(self.m.collectors)

        def piece(k: int, a: float, b: float) -> _Body:
            first, last = k == 0 and hub, k == len(spans) - 1
            if first:
                body = _Body("model-collector", "C-M", "collector of the test-fit model")
            elif last and self.flanges:
                body = _Body("model-turbo", "T-M", "turbo end of the test-fit model")
            else:
                body = _Body(f"model-outlet-{k}", f"O-M{k}", "outlet of the test-fit model")
            self.stretch(
                body, limb, a, b, splits, hub=first, plate=self.m.turbo if last and self.flanges else None
            )
            self.label(body, limb, body.mark, a, b)
            return body

        return [lambda k=k, a=a, b=b: piece(k, a, b) for k, (a, b) in enumerate(spans)]  # type: ignore[misc]

    def branch_end(self, b: Branch) -> _Body:
        """What was parted from a branch: its end with the wastegate flange."""
        limb, splits = self.plan.limbs[b.run.name], self.plan.splits[b.run.name]
        body = _Body("model-wastegate", "W-M", "wastegate end of the test-fit model")
        flange = self.m.wastegate_flange if self.flanges else None
        self.stretch(body, limb, splits[-1].s, limb.end, splits, plate=flange)
        self.label(body, limb, body.mark, splits[-1].s, limb.end)
        return body

    # what pieces are made of --------------------------------------------------------------------------------

    def stretch(
        self,
        body: _Body,
        limb: Limb,
        a: float,
        b: float,
        splits: tuple[Split, ...],
        *,
        hub: bool = False,
        plate: Flange | None = None,
    ) -> None:
        """A stretch of a limb with the fittings at its splits, its branches, and what it begins or ends in."""
        body.outer.append(limb.skin(a, b + (_INTO_PLATE if plate else 0.0)))
        lid = limb.start + self.wall if hub else a - 1.0
        self.hollow(body, limb.hollow(lid, b if plate else b + 1.0))
        if hub:
            self.inlets(body)
        if plate:
            self.end_plate(body, plate, limb)
        closed = [(s.s - SPIGOT - ROOT, s.s + SPIGOT + ROOT) for s in splits]
        for branch in self.m.branches:
            at = self.plan.mouths.get(branch.run.name)
            own = branch.takeoff if branch.takeoff in self.plan.limbs else TRUNK
            if at is not None and own == limb.name and a < at[0] and at[1] < b:
                self.branched(body, branch)
                closed.append(at)
        for s in splits:
            if abs(s.s - a) < 1e-6:
                self.fitting(body, limb, s, upstream=False)
            elif abs(s.s - b) < 1e-6:
                self.fitting(body, limb, s, upstream=True)
        if self.open and not hub and plate is None and limb.name != TRUNK:
            half = marks.width(body.mark) / 2 + 2.0
            label = ((a + b) / 2 - half, (a + b) / 2 + half)
            found = lattice.windows(limb, a + ROOT, b - ROOT, closed, label)
            if found is not None:
                body.cuts.append(found)

    def inlets(self, body: _Body) -> None:
        """The collector's inlets, from the runners' last splits to the lid."""
        c = self.m.collectors[0]
        z = array(c.frame.z)
        flat = c.frame.out((0.0, 0.0, c.merge_depth + INTO_CONE))
        through = c.frame.out((0.0, 0.0, c.merge_depth + self.wall + OVERRUN))
        for run in self.m.runners:
            if run.name not in self.plan.inlets or run.number not in c.order:
                continue
            limb, splits = self.plan.limbs[run.name], self.plan.splits[run.name]
            a, end = (splits[-1].s if splits else 0.0), limb.path.length
            body.outer.append(bodies.upto(limb.skin(a, end), flat, z))
            self.hollow(body, bodies.upto(limb.hollow(a - 1.0, end), through, z))
            if splits:
                self.fitting(body, limb, splits[-1], upstream=False)

    def branched(self, body: _Body, branch: Branch) -> None:
        """A branch on its parent, to its split or its flange."""
        limb, splits = self.plan.limbs[branch.run.name], self.plan.splits[branch.run.name]
        flange = self.m.wastegate_flange if self.flanges and not splits else None
        end = splits[0].s if splits else limb.end
        body.outer.append(limb.skin(0.0, end + (_INTO_PLATE if flange else 0.0)))
        self.hollow(body, limb.hollow(0.0, end if flange else end + 1.0))
        if flange:
            self.end_plate(body, flange, limb)
        if splits:
            self.fitting(body, limb, splits[0], upstream=True)

    def end_plate(self, body: _Body, flange: Flange, limb: Limb) -> None:
        """The flange that a limb ends on."""
        body.outer.append(plates.body(flange))
        if not self.full:
            axis: Vec = limb.path.end.direction
            body.inner.append(plates.passage(flange, flange.openings[0], axis, limb.bore_radius(limb.end)))
        body.cuts += plates.holes(flange, self.m.workshop.hole_extra)
        self.thickened(body, flange)

    def fitting(self, body: _Body, limb: Limb, split: Split, *, upstream: bool) -> None:
        """One side of a split: the piece lies upstream of it, or downstream."""
        has_socket = (split.socket == "up") == upstream
        made = (spigots.female if has_socket else spigots.male)(limb, split, self.fit, solid=self.full)
        body.adds += made.adds
        body.cuts += made.cuts
        (body.sockets if has_socket else body.spigots).append(split.mark)

    def hollow(self, body: _Body, bore: bodies.Body) -> None:
        if not self.full:
            body.inner.append(bore)

    def label(self, body: _Body, limb: Limb, mark: str, a: float, b: float) -> None:
        """The piece's own mark, along the back line where it is long enough, else beside it."""
        middle = (a + b) / 2
        long = marks.width(mark)
        turn = 0.0 if b - a >= long + 2 * _MARK_ROOM else 120.0
        depth = marks.DEPTH
        if not self.full:
            depth = min(depth, self.wall - THINNEST)
        if depth < 0.3 or b - a < long + 2.0:
            return
        back = back_at(limb.path, middle)
        body.cuts.append(marks.wrapped(mark, limb.path, middle, back, limb.radius, turn=turn, depth=depth))

    def thickened(self, body: _Body, flange: Flange) -> None:
        low, high = plates.span(flange)
        if (more := high - low - flange.thickness) > 1e-6:
            body.cautions.append(
                f"The {flange.name} is printed {high - low:g} mm thick, {more:g} mm more than the steel one, on its tube"
                " side: studs show that much less thread."
            )
