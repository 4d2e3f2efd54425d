"""The steps from the first tack to the first run: tacked whole and tried on, then welded stage by stage."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby

from manifoldgen.access.hands import Hands
from manifoldgen.manifold.model import Joint, Manifold
from manifoldgen.shop import purging
from manifoldgen.shop.purging import Purging, argon_in, capped, vented
from manifoldgen.shop.rates import rate
from manifoldgen.shop.steps_prints import Printing
from manifoldgen.shop.steps_start import code
from manifoldgen.shop.steps_tacks import INNER, Tacking, from_the_flange, joined
from manifoldgen.shop.tables import ShopTables
from manifoldgen.shop.weldplan import PlannedWeld, WeldPlan
from manifoldgen.shop.work_step import Step


@dataclass(frozen=True)
class _Held:
    """Joints made together: one purged volume of one stage."""

    stage: int
    joints: tuple[str, ...]
    pieces: frozenset[str]
    purge: Purging | None


def weld_steps(shop: ShopTables, printing: Printing) -> Iterator[Step]:
    """Tack in place, fit to the engine, mark; then every stage in turn: apart, together, tack, purge, weld, dress."""
    m, plan = shop.manifold, shop.welding
    held = _held(m, shop.hands, plan)
    tacks = Tacking(shop, printing)
    yield from tacks.in_place()
    last: dict[str, str] = {}  # by joint: the step after which it is done
    cut: set[str] = set()
    after: tuple[str, ...] = (tacks.marked,)
    on_plate = False
    for number, found in groupby(held, key=lambda g: g.stage):
        groups = list(found)
        own = {w.id for g in groups for w in _to_tack(plan, _order(plan, g))}
        lids = [j for j in own if j not in tacks.tacked and plan.weld(j).kind in {"lid", "plate"}]
        for j in sorted(lids, key=lambda j: plan.weld(j).rank):
            yield from tacks.late(
                j, (*after, *_gates(m, next(g for g in groups if j in g.joints), last)), number, last
            )
        again = [j.id for j in from_the_flange(m) if j.id in cut & own]
        cut -= own
        head = any(m.head.name in j.between for j in m.joints if j.id in own)
        if again or (head and not on_plate):
            put = _together(m, number, again, (*after, *_so_far(last)), plate=head and not on_plate)
            on_plate = on_plate or head
            after = (put.id,)
            yield put
        loose = _in_the_way(m, groups, own, {j for j in tacks.tacked if j not in last and j not in cut})
        if loose:
            off = _apart(m, number, loose, (*after, *_so_far(last)))
            cut |= set(loose)
            after = (off.id,)
            yield off
        for group in groups:
            yield from _group(m, plan, tacks, group, after=after, last=last)


def _group(
    m: Manifold, plan: WeldPlan, tacks: Tacking, group: _Held, *, after: tuple[str, ...], last: dict[str, str]
) -> Iterator[Step]:
    """What is left to tack of one purged volume, its purge, welds and dressing."""
    order = _order(plan, group)
    before = (*after, *_gates(m, group, last))
    to_tack = _to_tack(plan, order)
    for w in to_tack:
        if w.id not in tacks.tacked:
            yield from tacks.late(w.id, before, group.stage, last)
    held = (*(tacks.tacked[w.id] for w in to_tack), *before)
    if group.purge is not None and any(w.purged for w in order):
        yield _purge(m, group.purge, tuple(dict.fromkeys(held)))
        held = (f"purge-{group.purge.joints[0]}",)
    for w in order:
        own = (tacks.tacked[w.id],) if w.id in tacks.tacked else ()
        yield _weld(w, tuple(dict.fromkeys((*own, *held))), group.stage)
        last[w.id] = f"weld-{w.id}"
    for step in _dress(m, order, group.stage):
        last.update(dict.fromkeys(_dressed({j.id: j for j in m.joints}, step.about, order), step.id))
        yield step


def last_steps(shop: ShopTables) -> Iterator[Step]:
    """Clean, skim, test, fit, first run."""
    m = shop.manifold
    welded = tuple(f"weld-{w.id}" for w in shop.welding.ordered)
    what = "let it cool on the plate, then take it off; brush and clean all seams, inside too, with paste only by its data sheet"
    yield Step("clean-up", "assembly", what, rate(m, "clean_up"), welded, danger="pickle")
    skimmed = []
    for flange in m.flanges:
        if flange.vband:
            continue
        what = f"skim the face of the {flange.name} flat (straight edge and feeler: under 0.1 mm)"
        yield Step(f"skim-{code(flange)}", "mill", what, rate(m, "skim_face"), ("clean-up",), flange.name)
        skimmed.append(f"skim-{code(flange)}")
    what = "leak test: openings capped, air at no more than 0.2 bar (20 kPa), soapy water on every seam"
    yield Step(
        "leak-test",
        "assembly",
        what,
        rate(m, "leak_test"),
        tuple(skimmed) or ("clean-up",),
        danger="leak test",
    )
    what = "bolt up on the engine with gaskets, turbo on, every nut, clearances by feeler once more"
    yield Step("bolt-up", "engine", what, rate(m, "bolt_up"), ("leak-test",), danger="lift")
    what = "first run outdoors, extinguisher ready, nobody beside it; look for leaks (carbon monoxide), tighten when cold"
    yield Step("first-run", "engine", what, rate(m, "first_run"), ("bolt-up",), danger="first run")


def _held(m: Manifold, hands: Hands | None, plan: WeldPlan) -> tuple[_Held, ...]:
    welding = hands.welding if hands else None
    if welding is None:
        inner = tuple(w.id for w in plan.ordered if w.kind in INNER)  # before the lid shuts them
        rest = tuple(w.id for w in plan.ordered if w.kind not in INNER)
        pieces = frozenset(p.id for p in m.pieces)
        return tuple(_Held(0, joints, pieces, None) for joints in (inner, rest) if joints)
    by_joints = {p.joints: p for p in plan.purges}
    return tuple(
        _Held(s.stage, s.joints, frozenset(purging.inside(m, welding, s)[0]), by_joints.get(s.joints))
        for s in welding.stages
    )


def _gates(m: Manifold, group: _Held, last: dict[str, str]) -> tuple[str, ...]:
    """What of the earlier stages has to be finished: every joint on the pieces that hang together now."""
    touching = [j.id for j in m.joints if j.id in last and set(joined(m, j)) & group.pieces]
    return tuple(dict.fromkeys(last[j] for j in touching))


def _so_far(last: dict[str, str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(last.values()))


def _order(plan: WeldPlan, group: _Held) -> list[PlannedWeld]:
    return sorted((plan.weld(j) for j in group.joints), key=lambda w: w.rank)


def _in_the_way(m: Manifold, groups: Sequence[_Held], own: set[str], tacked: set[str]) -> list[str]:
    """Tacked joints that hang other things on what is welded alone now."""
    if groups[0].stage == 0:
        return []
    found = []
    for joint in m.joints:
        if joint.id not in tacked or joint.id in own:
            continue
        ends = set(joined(m, joint))
        for g in groups:
            things = set(g.pieces).union(*(joined(m, j) for j in m.joints if j.id in g.joints))
            if ends & things and ends - things:
                found.append(joint.id)
                break
    return found


def _apart(m: Manifold, stage: int, loose: Sequence[str], needs: tuple[str, ...]) -> Step:
    what = (
        f"take apart for stage {stage}: cut the tacks of {', '.join(loose)}, grind them off, clean the ends"
    )
    return Step(
        f"take-apart-{stage}", "assembly", what, len(loose) * rate(m, "take_apart"), _once(needs), stage=stage
    )


def _together(m: Manifold, stage: int, again: Sequence[str], needs: tuple[str, ...], *, plate: bool) -> Step:
    """Tacked again by the marks, on the plate where the head flange is among it."""
    minutes = len(again) * rate(m, "put_together") + (rate(m, "back_on_plate") if plate else 0.0)
    words = f"fit {', '.join(again)} by the marks and tack again" if again else ""
    if plate:
        bolt = "bolt the head flange to the plate again, the turbo flange to a post of steel"
        what = "; ".join(w for w in (bolt, words, "check both by the sheet") if w)
        return Step("back-on-plate", "assembly", what, minutes, _once(needs), m.head.name, stage=stage)
    return Step(
        f"together-{stage}", "assembly", f"put together again: {words}", minutes, _once(needs), stage=stage
    )


def _once(needs: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(needs))


def _to_tack(plan: WeldPlan, order: Sequence[PlannedWeld]) -> tuple[PlannedWeld, ...]:
    """What is tacked for a group: its own joints; the outer crotches where they hold the inner seams."""
    homes = {w.owner for w in order if not w.tacks.at}
    crotches = [w for w in plan.ordered if w.kind == "crotch" and w.owner in homes]
    return tuple(dict.fromkeys((*crotches, *(w for w in order if w.tacks.at))))


def _purge(m: Manifold, p: Purging, needs: tuple[str, ...]) -> Step:
    caps = f"cap {capped(p)}; " if p.cap else ""
    what = (
        f"purge for {', '.join(p.joints)}: {caps}argon in at {argon_in(p)}, {vented(p)}; "
        f"{p.litres:.2f} l, at least {p.minutes:.1f} min at {p.flow:g} l/min, until a meter reads {p.target:g} ppm, then {p.hold:g} l/min"
    )
    return Step(
        f"purge-{p.joints[0]}",
        "torch",
        what,
        rate(m, "purge_setup") + p.minutes,
        needs,
        p.joints[0],
        stage=p.stage,
        danger="purge",
    )


def _weld(w: PlannedWeld, needs: tuple[str, ...], stage: int) -> Step:
    how = f", {w.tier}" if w.tier and w.tier != "easy" else ""
    held = "" if w.tacks.at else f", {w.tacks.words}"
    what = f"weld {w.id} ({w.words}, {w.length:.0f} mm{how}), no. {w.rank}{held}"
    if w.stuck:
        what += f"; not all of it is reached{': ' + w.way_out if w.way_out else ''}"
    return Step(f"weld-{w.id}", "torch", what, w.minutes, needs, w.id, stage=stage)


def _dress(m: Manifold, order: list[PlannedWeld], stage: int) -> Iterator[Step]:
    inner = [w.id for w in order if w.kind in INNER]
    if inner:
        what = "dress the ridge of the inner seams from the collector end, look for cracks and pinholes (dye)"
        yield Step(
            f"dress-{inner[-1]}", "assembly", what, rate(m, "dress_joint"), tuple(f"weld-{j}" for j in inner),
            inner[-1], stage=stage, danger="penetrant",
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
                danger="grind",
            )


def _dressed(joints: dict[str, Joint], about: str, order: list[PlannedWeld]) -> tuple[str, ...]:
    """The joints that a dressing step is for."""
    if joints[about].kind == "saddle":
        return (about,)
    return tuple(w.id for w in order if w.kind in INNER)
