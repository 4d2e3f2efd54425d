"""The steps of tacking: in place from the head flange up, tried on the engine, marked; the rest stage by stage.

At the trial fit every joint is tacked, or held as it can be: a collector's transition plate and cone by small tacks
that are cut again, because the inner seams are welded before them; what no torch reaches in place by straps.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from manifoldgen.manifold.model import Joint, Manifold, Owner
from manifoldgen.shop.rates import rate
from manifoldgen.shop.steps_parts import finished
from manifoldgen.shop.steps_prints import Printing
from manifoldgen.shop.steps_start import STOCK, proven
from manifoldgen.shop.tables import ShopTables
from manifoldgen.shop.work_step import Station, Step

PLATE, TRIAL, MARKED, FREED = "set-up-plate", "trial-fit", "mark-joints", "free-joints"
_REST = 4
INNER = frozenset({"inner seam", "star"})
_HOLDING = frozenset({"crotch", "lid", "plate"})  # what holds a collector's inlets together
_SHUTTING = frozenset({"lid", "cone"})  # what shuts a merge collector's inner seams
_UNDER = {"lid": {"crotch"}, "cone": {"crotch", "lid", "plate"}}  # what a joint of a collector is set on


class Tacking:
    """What is tacked so far: by joint the step that did it."""

    def __init__(self, shop: ShopTables, printing: Printing) -> None:
        self.m, self.plan, self.printing = shop.manifold, shop.welding, printing
        m, hands = shop.manifold, shop.hands
        self.parts = finished(m)
        self.joints = {j.id: j for j in m.joints}
        self.trimmed = {r.joints[0 if r.inlet else 1]: r for r in shop.cuts if r.trim}
        self.tacked: dict[str, str] = {}
        self.trued: dict[Owner, str] = {}
        self.fits: dict[Owner, str] = {}  # by collector
        # by part: the step from which it stands in its place on the plate
        self.stands = {m.head.name: PLATE, m.turbo.name: PLATE}
        self.held: list[str] = []  # for the trial fit only
        welding = hands.welding if hands else None
        self.out_of_reach = {w.id for w in welding.welds if not w.tack} if welding else set()

    def in_place(self) -> Iterator[Step]:
        """Everything tacked or held on the plate, then the trial fit, the marks, and off what was only held."""
        yield from self._set_up()
        yield from self._fit_inlets()
        yield from self.printing.step("joint cradles", (STOCK,))
        done: list[str] = []
        for joint in sorted(from_the_flange(self.m), key=self._on_engine):
            if joint.kind in INNER:
                continue  # the outer valleys hold them
            up = tuple(dict.fromkeys(self.stands[n] for n in joined(self.m, joint) if n in self.stands))
            if joint.id in self.trimmed:
                yield self._trim(joint, (*up, *done) if self._on_engine(joint) else up)
                done.append(f"trim-{self.trimmed[joint.id].piece}")
            if self._later(joint):
                self.held.append(joint.id)
                made = self._hold(joint, (PLATE, *up))
            else:
                yield from self._true(joint, {}, 0)
                made = self._tack(joint.id, (PLATE, *up), 0)
            yield made
            done.append(made.id)
            for name in joined(self.m, joint):
                self.stands.setdefault(name, made.id)
        yield from self._trial(done)

    def late(self, joint: str, needs: tuple[str, ...], stage: int, last: Mapping[str, str]) -> Iterator[Step]:
        """A joint that could not be tacked in place, or was held for the trial only."""
        yield from self._true(self.joints[joint], last, stage)
        yield self._tack(joint, needs, stage)

    def _set_up(self) -> Iterator[Step]:
        m, stand = self.m, self.printing.serving("bench stand", self.m.turbo.name)
        yield from self.printing.step("bench stand", proven(m, self.printing))
        on = "on the printed stand, its straps to the head flange" if stand else "on a post or an angle plate"
        what = f"bolt the head flange to a thick plate, hold the turbo flange in its place {on}; check both by the sheet"
        ready = tuple(s for f in (m.head, m.turbo) for s in self.parts[f.name])
        yield Step(
            PLATE,
            "assembly",
            what,
            rate(m, "set_up_plate"),
            (*ready, *self.printing.needs("bench stand")),
            m.head.name,
        )

    @property
    def marked(self) -> str:
        """The step after which the joints may be welded."""
        return FREED if self.held else MARKED

    def _trial(self, done: list[str]) -> Iterator[Step]:
        """The trial fit with what holds each joint, the marks, and what was held set free."""
        m, held = self.m, self.held
        small = [j for j in held if j not in self.out_of_reach]
        strapped = [j for j in held if j in self.out_of_reach]
        told = "every joint tacked" if not held else "every other joint tacked"
        ways = ((small, "small tacks"), (strapped, "straps"))
        only = "".join(f"{', '.join(joints)} held by {by}; " for joints, by in ways if joints)
        what = (
            f"trial fit on the cold engine, before any weld: {only}{told}. Lift by the flange, never by a tube; turbo on, its "
            "weight carried from outside; every nut with the tool of the stud table, clearances by feeler"
        )
        needs = tuple(dict.fromkeys((PLATE, *self.fits.values(), *done)))
        yield Step(TRIAL, "engine", what, rate(m, "trial_fit"), needs, danger="lift")
        what = "mark across every joint: a scribed line, its id on both sides"
        yield Step(MARKED, "bench", what, len(m.joints) * rate(m, "mark_joint"), (TRIAL,))
        if held:
            off = [f"cut the small tacks of {', '.join(small)} and grind them off"] if small else []
            off += [f"take the straps off {', '.join(strapped)}"] if strapped else []
            what = f"{'; '.join(off)}; what hung on them comes off, clean the ends"
            yield Step(FREED, "assembly", what, len(held) * rate(m, "take_apart"), (MARKED,))

    def _later(self, joint: Joint) -> bool:
        """Out of reach in place, or shutting inner seams that are not welded yet."""
        if joint.id in self.out_of_reach:
            return True
        shuts = joint.kind in _SHUTTING
        return shuts and any(j.kind in INNER and j.owner == joint.owner for j in self.m.joints)

    def _hold(self, joint: Joint, needs: tuple[str, ...]) -> Step:
        """A joint held for the trial fit only."""
        m, w = self.m, self.plan.weld(joint.id)
        strapped = joint.id in self.out_of_reach
        minutes = rate(m, "fit_joint") + (0.0 if strapped else rate(m, "tack_joint"))
        how = (
            "hold it with straps: no torch reaches it in place, it is tacked later"
            if strapped
            else "hold it with three small tacks, to be cut again: the inner seams are welded before it"
        )
        what = f"for the trial fit, set {w.joins[1]} on {w.joins[0]} at {w.id} ({w.words}) and {how}"
        every = tuple(dict.fromkeys((*self._ready(joint.id), *self._before(joint), *needs)))
        return Step(f"hold-{joint.id}", "assembly" if strapped else "torch", what, minutes, every, joint.id)

    def _fit_inlets(self) -> Iterator[Step]:
        homes = dict.fromkeys(j.owner for j in self.m.joints if j.kind in _HOLDING)
        for home in homes:
            mine = [j for j in self.m.joints if j.owner == home]
            inlets = tuple(dict.fromkeys(n for j in mine for n in self._inlets(j)))
            if not inlets:
                continue
            self.fits[home] = "fit-inlets" if len(homes) == 1 else f"fit-inlets-{home.name}"
            merged = any(j.kind == "crotch" for j in mine)
            how = (
                "hold them together with hose clamps, stood in their place over the bench plate; measure the inlet circle and "
                "how round the outlet end is"
                if merged
                else "hold them in their plate, stood in its place over the bench plate; measure the inlet circle and that every "
                "end is flush"
            )
            plate = tuple(s for j in mine if j.kind == "plate" for s in self._ready(j.id))
            needs = (PLATE, *plate, *(s for i in inlets for s in self.parts[i]))
            what = f"trial fit of the inlets {', '.join(inlets)}: {how}"
            yield Step(
                self.fits[home], "assembly", what, rate(self.m, "fit_inlets"), tuple(dict.fromkeys(needs))
            )

    def _inlets(self, joint: Joint) -> tuple[str, ...]:
        names = {p.id for p in self.m.pieces if p.inlet}
        return tuple(n for n in joined(self.m, joint) if n in names) if joint.kind in _HOLDING else ()

    def _on_engine(self, joint: Joint) -> bool:
        """Whether it is the outlet's joint with a surveyed turbo: on the plate the flange is where the survey has it."""
        return joint.id in self.trimmed and joint.owner.kind == "outlet"

    def _trim(self, joint: Joint, up: tuple[str, ...]) -> Step:
        row = self.trimmed[joint.id]
        station: Station = "engine" if row.survey else "assembly"
        between = f"to fit between {joint.between[0]} and its place"
        what = f"trim {row.piece} on the plate {between}: mark, trim, true, deburr, clean inside and outside"
        if row.survey:
            least, most = row.comes_off
            turbo = "the turbo flange bolted to the turbo itself"
            where = f"on the engine, {turbo}, trim {row.piece} {between}"
            if self._on_engine(joint):
                where = f"lift all by the head flange onto the engine, {turbo}: trim {row.piece} to meet it"
            what = f"{where} ({least:.1f} to {most:.1f} mm come off), true, deburr, clean inside and outside"
        needs = tuple(dict.fromkeys((PLATE, *self.fits.values(), *up, *self._ready(joint.id))))
        return Step(f"trim-{row.piece}", station, what, rate(self.m, "trim_piece"), needs, row.piece)

    def _true(self, joint: Joint, last: Mapping[str, str], stage: int) -> Iterator[Step]:
        """The merge's flat cut, once, before its transition plate."""
        home = joint.owner
        if joint.kind != "lid" or home in self.trued:
            return
        seams = [j.id for j in self.m.joints if j.owner == home and j.kind in INNER | {"crotch"}]
        needs = tuple(dict.fromkeys(s for j in seams for s in (last.get(j), self.tacked.get(j)) if s))
        self.trued[home] = "true-flat-cut" if len(self.fits) < 2 else f"true-flat-cut-{home.name}"
        what = "true the flat cut of the inlets: file or sand it flat across all of them, deburr, clean"
        yield Step(self.trued[home], "belt sander", what, rate(self.m, "true_flat_cut"), needs, stage=stage)

    def _tack(self, joint: str, needs: tuple[str, ...], stage: int) -> Step:
        m, w, j = self.m, self.plan.weld(joint), self.joints[joint]
        cradle = self.printing.serving("joint cradles", joint)
        held = f", in {cradle[0]}" if cradle else ""
        where = "there, fit" if self._on_engine(j) and not stage else "fit"
        what = f"{where} {w.id}, {w.joins[0]} to {w.joins[1]} ({w.words}){held}, and tack it: {w.tacks.words}"
        printed = self.printing.needs("joint cradles") if cradle else ()
        self.tacked[joint] = f"tack-{joint}"
        minutes = rate(m, "fit_joint") + rate(m, "tack_joint")
        every = tuple(dict.fromkeys((*self._ready(joint), *printed, *self._before(j), *needs)))
        return Step(self.tacked[joint], "torch", what, minutes, every, joint, stage=stage)

    def _before(self, j: Joint) -> tuple[str, ...]:
        """Trimmed, tried and trued as the joint asks for, and a cone only on a plate that holds."""
        home = j.owner
        found = [f"trim-{self.trimmed[j.id].piece}"] if j.id in self.trimmed else []
        found += [self.fits[home]] if j.kind in _HOLDING and home in self.fits else []
        found += [self.trued[home]] if j.kind in _SHUTTING and home in self.trued else []
        mine = [k.id for k in self.m.joints if k.kind in _UNDER.get(j.kind, ()) and k.owner == home]
        return (*found, *(self.tacked[k] for k in mine if k in self.tacked))

    def _ready(self, joint: str) -> tuple[str, ...]:
        """The steps after which what a joint joins can be fitted."""
        return tuple(s for n in joined(self.m, self.joints[joint]) for s in self.parts.get(n, ()))


def joined(m: Manifold, joint: Joint) -> tuple[str, ...]:
    """What a joint joins; centre point, transition plate and seams of a merge collector belong to all its inlets."""
    home = m.collector_of(joint.owner) if joint.kind in {"star", "lid"} else None
    if home is None:
        return joint.between
    inlets = tuple(p.id for p in m.inlets_of(home))
    return (*inlets, *(n for n in joint.between if n not in inlets))


def from_the_flange(m: Manifold) -> list[Joint]:
    """Joints as they are put together: every runner from the head flange up, the collector, what follows it."""
    return sorted(m.joints, key=_place)


def _place(joint: Joint) -> int:
    """Runners from the flange up into their plate, the inlets to each other, transition plate, cone, and what follows them."""
    if joint.owner.kind == "runner" or joint.kind == "plate":
        return 0
    return {"crotch": 1, "lid": 2, "cone": 3}.get(joint.kind, _REST)
