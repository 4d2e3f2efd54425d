"""Whether a tool gets at every stud, whether a ratchet does, and whether the nut comes off."""

from __future__ import annotations

from manifoldgen import units
from manifoldgen.access.fasteners import fastener
from manifoldgen.access.hands import Hands
from manifoldgen.access.results import StudAccess
from manifoldgen.checks.check import HandCheck
from manifoldgen.checks.finding import Finding, FindingKind
from manifoldgen.checks.places import of_studs
from manifoldgen.manifold.model import Manifold
from manifoldgen.wording import place, some

STUD_OUT_OF_REACH = FindingKind(
    name="stud-out-of-reach",
    means="No tool gets on this nut and turns it: sockets with and without extension, wobble and swivel, ring and "
    "open-ended spanners were all tried, with tool_margin mm to spare.",
    why="A nut that cannot be tightened with the tubes welded on leaks, and one that cannot be undone costs the "
    "manifold.\n\n"
    "      __ ratchet __\n"
    "        |  |   ( tube )   the socket needs this column free,\n"
    "        |##|              the handle its arc above it\n"
    "     ===|nut|====== flange",
    do="Move what is named by the millimetres given, along the vector given. A longer first straight lifts the bend "
    "above the socket; a roll of the first bend carries it past the stud.",
)
STUD_NO_RATCHET = FindingKind(
    name="stud-no-ratchet",
    severities=("warning",),
    means="The nut can be turned, but only with a spanner: no ratchet with a socket gets on it.",
    why="It is slow and skins knuckles; some want it, most do not.",
    do="Make room above the stud, or have that spanner ready. Nothing is wrong with the job.",
)
NUT_WILL_NOT_COME_OFF = FindingKind(
    name="nut-will-not-come-off",
    means="The nut with its washer runs into something before it is off the end of the stud.",
    why="Then the flange cannot be taken off, or not put on in the first place.",
    do="A shorter stud, a nut with less height, or the tube moved away from the stud's axis.",
)


def check(m: Manifold, hands: Hands) -> tuple[Finding, ...]:
    """`stud-out-of-reach`, `stud-no-ratchet` (warning), `nut-will-not-come-off`."""
    found: list[Finding] = []
    for stud in hands.studs:
        if not stud.comes_off:
            found.append(_stays_on(m, stud))
        if not stud.reachable:
            found.append(_out_of_reach(m, stud))
        elif not stud.ratchet:
            found.append(_no_ratchet(m, stud))
    return tuple(found)


CHECK = HandCheck(kinds=(STUD_OUT_OF_REACH, STUD_NO_RATCHET, NUT_WILL_NOT_COME_OFF), ask=check)


def _out_of_reach(m: Manifold, stud: StudAccess) -> Finding:
    best = f"; the {stud.tool} comes closest" if stud.tool else ""
    blocker = stud.blocked_by or "what stands round it"
    message = (
        f"{stud.id}: no tool reaches it with {m.limits.tool_margin:g} mm to spare{best}: "
        f"{some(stud.shortfall_mm)} mm short at {blocker}."
    )
    if _stands_on_it(m, stud):
        do = f"Put the stud {some(stud.shortfall_mm)} mm further out: a larger bolt circle, as {blocker} stands on this flange."
    else:
        do = f"Move {blocker} away by {some(stud.shortfall_mm)} mm"
        if stud.move is not None:
            do += f", along [{place(stud.move)}]"
        do += ", or move the stud."
    limit = m.limits.tool_margin
    return STUD_OUT_OF_REACH.finding(
        message=message,
        do=do,
        value=limit - stud.shortfall_mm,
        limit=limit,
        unit="mm",
        parts=(stud.id, stud.flange),
        points=(stud.at,),
        where=of_studs(m, stud.flange),
    )


def _stands_on_it(m: Manifold, stud: StudAccess) -> bool:
    """Whether what blocks a stud of the turbo or wastegate flange is the tube that ends on that very flange."""
    ends = {m.turbo.name: m.outlet.owner}
    if m.wastegate_flange is not None and m.branches:
        ends[m.wastegate_flange.name] = m.branches[0].run.owner
    return stud.blocker is not None and ends.get(stud.flange) == stud.blocker


def _no_ratchet(m: Manifold, stud: StudAccess) -> Finding:
    why, do = "no ratchet gets on it", "Make room above the stud if you want a ratchet there"
    size = _without_socket(m, stud.id)
    if size is not None:
        why = f"the catalogue has no socket of {units.across_flats(size)}"
        row = f"{{{size:g}: {{12.5: its largest diameter}}}}"
        do = f"Add yours to the shop file, tools: {{hand_socket_d1: {row}}}"
    return STUD_NO_RATCHET.finding(
        message=f"{stud.id}: {why}; it takes {units.article(stud.tool or '')} {stud.tool}, {stud.swing_deg:.0f}° swing.",
        do=f"{do}, or have that spanner on the bench.",
        parts=(stud.id, stud.flange),
        points=(stud.at,),
        where=of_studs(m, stud.flange),
    )


def _without_socket(m: Manifold, id_: str) -> float | None:
    """Across flats of a stud's nut or head, mm, where no drive has a socket for it; else None."""
    stud = next((s for s in m.studs if s.id == id_), None)
    size = fastener(stud, m.tables).across_flats if stud else 0.0
    largest = max(m.tables.largest_socket(drive) for drive in m.tables.table("tools", "hand_socket"))
    return size if size > largest else None


def _stays_on(m: Manifold, stud: StudAccess) -> Finding:
    blocker = stud.off_blocked_by or "what stands over it"
    return NUT_WILL_NOT_COME_OFF.finding(
        message=f"{stud.id}: nut and washer run into {blocker} on their way off the end, by {some(-stud.off_mm)} mm.",
        do=f"Move {blocker} away from the stud's axis by more than {some(-stud.off_mm)} mm, or take a shorter stud.",
        value=stud.off_mm,
        limit=0.0,
        unit="mm",
        parts=(stud.id, stud.flange),
        points=(stud.at,),
        where=of_studs(m, stud.flange),
    )
