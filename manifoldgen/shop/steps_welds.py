"""The steps from the first tack to the first run, stage by stage as the torch reaches."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from manifoldgen.access.hands import Hands
from manifoldgen.manifold.model import Joint, Manifold
from manifoldgen.shop import purging
from manifoldgen.shop.cuts import cut_list
from manifoldgen.shop.purging import Purging, openings
from manifoldgen.shop.rates import rate
from manifoldgen.shop.step import Step
from manifoldgen.shop.steps_parts import finished
from manifoldgen.shop.weldplan import PlannedWeld, WeldPlan

PLATE = "set-up-plate"


@dataclass(frozen=True)
class _Held:
    """Joints made together: one purged volume of one stage."""

    stage: int
    joints: tuple[str, ...]
    pieces: frozenset[str]
    purge: Purging | None


def weld_steps(m: Manifold, hands: Hands | None, plan: WeldPlan) -> Iterator[Step]:
    """Tack, purge, weld and dress, every purged volume of every stage in turn."""
    parts = finished(m)
    trimmed = {r.joints[0 if r.inlet else 1]: r.piece for r in cut_list(m) if r.trim}
    joints = {j.id: j for j in m.joints}
    last: dict[str, str] = {}  # by joint: the step after which it is done
    tacked: dict[str, str] = {}
    plated = False
    for group in _held(m, hands, plan):
        order = sorted((plan.weld(j) for j in group.joints), key=lambda w: w.rank)
        before = _gates(m, group, last)
        if not plated and any(m.head.name in joints[w.id].between for w in order):
            plated = True
            what = "bolt the head flange to a thick plate, stand the turbo flange on its post, check both by the sheet"
            ready = tuple(s for f in m.flanges for s in parts[f.name])
            yield Step(PLATE, "assembly", what, rate(m, "set_up_plate"), ready, m.head.name)
        on_plate = (PLATE,) if plated else ()
        for w in _to_tack(plan, order):
            if w.id in tacked:
                continue
            needs = (
                *(s for name in _joined(m, joints[w.id]) for s in parts.get(name, ())),
                *on_plate,
                *before,
            )
            first = f"trim {trimmed[w.id]} to fit, " if w.id in trimmed else ""
            yield _tack(m, w, tuple(dict.fromkeys(needs)), group.stage, first)
            tacked[w.id] = f"tack-{w.id}"
        held = tuple(tacked[w.id] for w in _to_tack(plan, order))
        if group.purge is not None and any(w.purged for w in order):
            yield _purge(m, group.purge, held)
            held = (f"purge-{group.purge.joints[0]}",)
        for w in order:
            own = (tacked[w.id],) if w.id in tacked else ()
            yield _weld(w, tuple(dict.fromkeys((*own, *held))), group.stage)
            last[w.id] = f"weld-{w.id}"
        for step in _dress(m, order, group.stage):
            last.update(dict.fromkeys(_dressed(joints, step.about, order), step.id))
            yield step


def last_steps(m: Manifold, plan: WeldPlan) -> Iterator[Step]:
    """Dress, skim, test, fit, first run."""
    welded = tuple(f"weld-{w.id}" for w in plan.ordered)
    yield Step("clean-up", "assembly", "let it cool on the plate, then brush and clean all seams, inside too",
               rate(m, "clean_up"), welded)  # fmt: skip
    skimmed = []
    for flange in m.flanges:
        if flange.vband:
            continue
        code = flange.name.replace(" ", "-")
        what = f"skim the face of the {flange.name} flat (straight edge and feeler: under 0.1 mm)"
        yield Step(f"skim-{code}", "mill", what, rate(m, "skim_face"), ("clean-up",), flange.name)
        skimmed.append(f"skim-{code}")
    what = "leak test: openings capped, a few kPa of air, soapy water on every seam"
    yield Step("leak-test", "assembly", what, rate(m, "leak_test"), tuple(skimmed) or ("clean-up",))
    what = (
        "trial fit on the engine: every nut with the tool of the stud table, turbo on, clearances by feeler"
    )
    yield Step("trial-fit", "engine", what, rate(m, "trial_fit"), ("leak-test",))
    what = "first run outdoors, extinguisher ready, nobody beside it; look for leaks (carbon monoxide), tighten when cold"
    yield Step("first-run", "engine", what, rate(m, "first_run"), ("trial-fit",))


def _held(m: Manifold, hands: Hands | None, plan: WeldPlan) -> tuple[_Held, ...]:
    welding = hands.welding if hands else None
    if welding is None:
        return (_Held(0, tuple(w.id for w in plan.ordered), frozenset(p.id for p in m.pieces), None),)
    by_joints = {p.joints: p for p in plan.purges}
    return tuple(
        _Held(s.stage, s.joints, frozenset(purging.inside(m, welding, s)[0]), by_joints.get(s.joints))
        for s in welding.stages
    )


def _gates(m: Manifold, group: _Held, last: dict[str, str]) -> tuple[str, ...]:
    """What of the earlier stages has to be finished: every joint on the pieces that hang together now."""
    touching = [j.id for j in m.joints if j.id in last and set(_joined(m, j)) & group.pieces]
    return tuple(dict.fromkeys(last[j] for j in touching))


def _to_tack(plan: WeldPlan, order: Sequence[PlannedWeld]) -> tuple[PlannedWeld, ...]:
    """What is tacked for a group: its own joints; the outer crotches where they hold the inner seams."""
    codes = {w.id.split(".")[0] for w in order if not w.tacks.at}
    crotches = [w for w in plan.ordered if w.kind == "crotch" and w.id.split(".")[0] in codes]
    return tuple(dict.fromkeys((*crotches, *(w for w in order if w.tacks.at))))


def _joined(m: Manifold, joint: Joint) -> tuple[str, ...]:
    """What a joint joins; star, lid and seams of a merge collector belong to all its inlets."""
    if joint.kind in {"star", "lid"} and any(c.kind == "merge" for c in m.collectors):
        held = {p.id: p.inlet for p in m.pieces if p.inlet}
        home = next((c for c in m.collectors if held.get(joint.between[0]) in c.order), None)
        if home is not None:
            inlets = tuple(i for i, cylinder in held.items() if cylinder in home.order)
            return (*inlets, *(n for n in joint.between if n not in inlets))
    return joint.between


def _tack(m: Manifold, w: PlannedWeld, needs: tuple[str, ...], stage: int, first: str) -> Step:
    what = f"{first}fit {w.id}, {w.joins[0]} to {w.joins[1]} ({w.words}), and tack it: {w.tacks.words}"
    return Step(
        f"tack-{w.id}", "torch", what, rate(m, "fit_joint") + rate(m, "tack_joint"), needs, w.id, stage=stage
    )


def _purge(m: Manifold, p: Purging, needs: tuple[str, ...]) -> Step:
    caps = f"cap {openings(p.cap)}; " if p.cap else ""
    what = (
        f"purge for {', '.join(p.joints[:6])}{' …' if len(p.joints) > 6 else ''}: {caps}gas in at "
        f"{openings((p.gas_in,) if p.gas_in else ())}, vent at {openings((p.vent,) if p.vent else ())}; "
        f"{p.litres:.2f} l, {p.minutes:.1f} min at {p.flow:g} l/min, then {p.hold:g}"
    )
    return Step(
        f"purge-{p.joints[0]}",
        "torch",
        what,
        rate(m, "purge_setup") + p.minutes,
        needs,
        p.joints[0],
        stage=p.stage,
    )


def _weld(w: PlannedWeld, needs: tuple[str, ...], stage: int) -> Step:
    how = f", {w.tier}" if w.tier and w.tier != "easy" else ""
    what = f"weld {w.id} ({w.words}, {w.length:.0f} mm{how}), no. {w.rank}"
    if w.stuck:
        what += f"; not all of it is reached{': ' + w.way_out if w.way_out else ''}"
    return Step(f"weld-{w.id}", "torch", what, w.minutes, needs, w.id, stage=stage)


def _dress(m: Manifold, order: list[PlannedWeld], stage: int) -> Iterator[Step]:
    inner = [w.id for w in order if w.kind in {"inner seam", "star"}]
    if inner:
        what = "dress the ridge of the inner seams from the merge end, look for cracks and pinholes (dye)"
        yield Step(
            f"dress-{inner[-1]}", "assembly", what, rate(m, "dress_joint"), tuple(f"weld-{j}" for j in inner),
            inner[-1], stage=stage,
        )  # fmt: skip
    for w in order:
        if w.kind == "saddle":
            what = f"grind the root of {w.id} flush from inside while both ends are open"
            yield Step(
                f"dress-{w.id}",
                "assembly",
                what,
                rate(m, "dress_joint"),
                (f"weld-{w.id}",),
                w.id,
                stage=stage,
            )


def _dressed(joints: dict[str, Joint], about: str, order: list[PlannedWeld]) -> tuple[str, ...]:
    """The joints that a dressing step is for."""
    if joints[about].kind == "saddle":
        return (about,)
    return tuple(w.id for w in order if w.kind in {"inner seam", "star"})
