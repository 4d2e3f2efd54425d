"""The steps of tacking: in place from the head flange up, tried on the engine, marked; the rest stage by stage."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from manifoldgen.manifold.model import Joint, Manifold, Owner
from manifoldgen.shop.rates import rate
from manifoldgen.shop.steps_parts import finished
from manifoldgen.shop.work_step import Step

if TYPE_CHECKING:
    from manifoldgen.shop.plan import ShopPlan

PLATE, TRIAL, MARKED = "set-up-plate", "trial-fit", "mark-joints"
_REST = 4
INNER = frozenset({"inner seam", "star"})
_HOLDING = frozenset({"crotch", "lid", "plate"})  # what holds a collector's inlets together


class Tacking:
    """What is tacked so far: by joint the step that did it."""

    def __init__(self, shop: ShopPlan) -> None:
        self.m, self.plan = shop.manifold, shop.welding
        m, hands = shop.manifold, shop.hands
        self.parts = finished(m)
        self.joints = {j.id: j for j in m.joints}
        self.trimmed = {r.joints[0 if r.inlet else 1]: r.piece for r in shop.cuts if r.trim}
        self.tacked: dict[str, str] = {}
        self.trued: dict[Owner, str] = {}
        self._strapped = False
        self.fits: dict[Owner, str] = {}  # by collector
        welding = hands.welding if hands else None
        self.out_of_reach = {w.id for w in welding.welds if not w.tack} if welding else set()

    def in_place(self) -> Iterator[Step]:
        """Everything that can be tacked on the plate, then the trial fit and the marks across the joints."""
        m = self.m
        what = "bolt the head flange to a thick plate, stand the turbo flange on its post, check both by the sheet"
        ready = tuple(s for f in m.flanges for s in self.parts[f.name])
        yield Step(PLATE, "assembly", what, rate(m, "set_up_plate"), ready, m.head.name)
        yield from self._fit_inlets()
        order = from_the_flange(m)
        before = {j.between[1]: j.id for j in order if _place(j) == 0}  # the joint at a runner piece's start
        done: list[str] = []
        strapped = False
        for joint in order:
            below = before.get(joint.between[0]) if _place(joint) == 0 else None
            up = tuple(s for s in (self.tacked.get(below or ""),) if s)
            if joint.id in self.trimmed:
                yield self._trim(joint, up)
                done.append(f"trim-{self.trimmed[joint.id]}")
            if _place(joint) == _REST and not strapped:
                strapped = True
                for step in self._strap(done):
                    self._strapped = True
                    yield step
                    done.append(step.id)
            if self._later(joint):
                continue
            yield from self._true(joint, {}, 0)
            yield self._tack(joint.id, (PLATE, *up), 0)
            done.append(self.tacked[joint.id])
        loose = [j.id for j in m.joints if j.id not in self.tacked and j.kind not in INNER]
        held = f"; strapped, not tacked: {', '.join(loose)}" if loose else ""
        what = (
            "trial fit on the engine, tacked only: off the plate by the flange, never by a tube; every nut with "
            f"the tool of the stud table, turbo on, clearances by feeler{held}"
        )
        needs = tuple(dict.fromkeys((PLATE, *self.fits.values(), *done, *self._ready(loose))))
        yield Step(TRIAL, "engine", what, rate(m, "trial_fit"), needs)
        what = "mark across every joint: a scribed line and its id on both sides; what is only strapped then comes off"
        yield Step(MARKED, "bench", what, len(m.joints) * rate(m, "mark_joint"), (TRIAL,))

    def late(self, joint: str, needs: tuple[str, ...], stage: int, last: dict[str, str]) -> Iterator[Step]:
        """A joint that could not be tacked in place."""
        yield from self._true(self.joints[joint], last, stage)
        yield self._tack(joint, needs, stage)

    def _strap(self, done: list[str]) -> Iterator[Step]:
        """Lid and cone held dry where the outlet hangs on them, while inner seams still wait."""
        waiting = [j for j in self.m.joints if j.kind in {"lid", "cone"} and self._later(j)]
        if waiting:
            names = ", ".join(dict.fromkeys(j.between[1] for j in waiting))
            what = f"set {names} on the inlets dry and strap them, not tacked: the inner seams are welded before them"
            needs = tuple(dict.fromkeys((*done, *self._ready([j.id for j in waiting]))))
            minutes = len(waiting) * rate(self.m, "fit_joint")
            yield Step("strap-collector", "assembly", what, minutes, needs)

    def _later(self, joint: Joint) -> bool:
        """Out of reach in place, held by others, or shutting inner seams that are not welded yet."""
        if joint.id in self.out_of_reach or not self.plan.weld(joint.id).tacks.at:
            return True
        shuts = joint.kind in {"lid", "cone"}
        return shuts and any(j.kind in INNER and j.owner == joint.owner for j in self.m.joints)

    def _fit_inlets(self) -> Iterator[Step]:
        homes = dict.fromkeys(j.owner for j in self.m.joints if j.kind in _HOLDING)
        for home in homes:
            mine = [j for j in self.m.joints if j.owner == home]
            inlets = tuple(dict.fromkeys(n for j in mine for n in self._inlets(j)))
            if not inlets:
                continue
            self.fits[home] = "fit-inlets" if len(homes) == 1 else f"fit-inlets-{home.name}"
            merged = any(j.kind == "crotch" for j in mine)
            held, end = (
                ("a ring or print", "how round the outlet end is")
                if merged
                else ("their plate", "that every end is flush")
            )
            what = (
                f"trial fit of the inlets {', '.join(inlets)} in {held}, stood on its place over the plate; "
                f"measure the ring and {end}"
            )
            needs_plate = self._ready([j.id for j in mine if j.kind == "plate"])
            needs = tuple(dict.fromkeys((PLATE, *needs_plate, *(s for i in inlets for s in self.parts[i]))))
            yield Step(self.fits[home], "assembly", what, rate(self.m, "fit_inlets"), needs)

    def _inlets(self, joint: Joint) -> tuple[str, ...]:
        names = {p.id for p in self.m.pieces if p.inlet}
        return tuple(n for n in joined(self.m, joint) if n in names) if joint.kind in _HOLDING else ()

    def _trim(self, joint: Joint, up: tuple[str, ...]) -> Step:
        piece = self.trimmed[joint.id]
        what = (
            f"trim {piece} on the plate to fit between {joint.between[0]} and its place: mark, trim, deburr"
        )
        needs = (PLATE, *self.fits.values(), *up, *self._ready([joint.id]))
        return Step(
            f"trim-{piece}", "assembly", what, rate(self.m, "trim_piece"), tuple(dict.fromkeys(needs)), piece
        )

    def _true(self, joint: Joint, last: dict[str, str], stage: int) -> Iterator[Step]:
        """The merge's flat cut, once, before its lid."""
        home = joint.owner
        if joint.kind != "lid" or home in self.trued:
            return
        seams = [j.id for j in self.m.joints if j.owner == home and j.kind in INNER | {"crotch"}]
        needs = tuple(dict.fromkeys(s for j in seams for s in (last.get(j), self.tacked.get(j)) if s))
        self.trued[home] = "true-flat-cut" if len(self.fits) < 2 else f"true-flat-cut-{home.name}"
        what = "true the flat cut of the inlets: file or belt it flat across all of them, deburr, clean"
        yield Step(self.trued[home], "belt", what, rate(self.m, "true_flat_cut"), needs, stage=stage)

    def _tack(self, joint: str, needs: tuple[str, ...], stage: int) -> Step:
        m, w, j = self.m, self.plan.weld(joint), self.joints[joint]
        what = f"fit {w.id}, {w.joins[0]} to {w.joins[1]} ({w.words}), and tack it: {w.tacks.words}"
        also = [f"trim-{self.trimmed[joint]}"] if joint in self.trimmed else []
        home = j.owner
        also += [self.fits[home]] if j.kind in _HOLDING and home in self.fits else []
        also += ["strap-collector"] if _place(j) == _REST and self._strapped else []
        also += [self.trued[home]] if j.kind in {"lid", "cone"} and home in self.trued else []
        if j.kind == "cone":
            also += [
                self.tacked[k.id]
                for k in m.joints
                if k.kind in {"lid", "plate"} and k.owner == home and k.id in self.tacked
            ]
        if j.kind == "crotch":  # the runners' joints hold the inlets in their ring
            feet = [k.id for k in m.joints if k.id in self.trimmed and k.between[1] in j.between]
            also += sorted(self.tacked[i] for i in feet if i in self.tacked)
        self.tacked[joint] = f"tack-{joint}"
        minutes = rate(m, "fit_joint") + rate(m, "tack_joint")
        every = tuple(dict.fromkeys((*self._ready([joint]), *also, *needs)))
        return Step(self.tacked[joint], "torch", what, minutes, every, joint, stage=stage)

    def _ready(self, joints: list[str]) -> tuple[str, ...]:
        """The steps after which what these joints join can be fitted."""
        return tuple(s for j in joints for n in joined(self.m, self.joints[j]) for s in self.parts.get(n, ()))


def joined(m: Manifold, joint: Joint) -> tuple[str, ...]:
    """What a joint joins; star, lid and seams of a merge collector belong to all its inlets."""
    home = m.collector_of(joint.owner) if joint.kind in {"star", "lid"} else None
    if home is None:
        return joint.between
    inlets = tuple(p.id for p in m.inlets_of(home))
    return (*inlets, *(n for n in joint.between if n not in inlets))


def from_the_flange(m: Manifold) -> list[Joint]:
    """Joints as they are put together: every runner from the head flange up, the collector, what follows it."""
    return sorted(m.joints, key=_place)


def _place(joint: Joint) -> int:
    """Runners from the flange up into their plate, the inlets to each other, lid, cone, and what follows them."""
    if joint.owner.kind == "runner" or joint.kind == "plate":
        return 0
    return {"crotch": 1, "lid": 2, "cone": 3}.get(joint.kind, _REST)
