"""Whether a tool gets at every stud, whether a ratchet does, and whether the nut comes off."""

from __future__ import annotations

from manifoldgen import units
from manifoldgen.access.fasteners import fastener
from manifoldgen.access.hands import Hands
from manifoldgen.access.results import StudAccess
from manifoldgen.checks.finding import Finding
from manifoldgen.errors import Where
from manifoldgen.geometry.vectors import Vec
from manifoldgen.manifold.model import Manifold


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


def _flange_of(m: Manifold, id_: str) -> str:
    return next((s.flange for s in m.studs if s.id == id_), "flange")


def _out_of_reach(m: Manifold, stud: StudAccess) -> Finding:
    best = f"; the {stud.tool} comes closest" if stud.tool else ""
    blocker = stud.blocked_by or "what stands round it"
    message = (
        f"{stud.id}: no tool reaches it with {m.limits.tool_margin:g} mm to spare{best}: "
        f"{stud.shortfall_mm:.1f} mm short at {blocker}."
    )
    if _stands_on_it(m, stud, blocker):
        do = f"Put the stud {stud.shortfall_mm:.1f} mm further out: a larger bolt circle, as {blocker} stands on this flange."
    else:
        do = f"Move {blocker} away by {stud.shortfall_mm:.1f} mm"
        if stud.move is not None:
            do += f", along {_told(stud.move)}"
        do += ", or move the stud."
    limit = m.limits.tool_margin
    return Finding(
        "stud-out-of-reach",
        "error",
        message,
        do,
        limit - stud.shortfall_mm,
        limit,
        "mm",
        (stud.id, _flange_of(m, stud.id)),
        (stud.at,),
        _where(m, stud.id),
    )


def _stands_on_it(m: Manifold, stud: StudAccess, blocker: str) -> bool:
    """Whether what blocks a stud of the turbo or wastegate flange is the tube that ends on that very flange."""
    ends = {m.turbo.name: m.outlet.name}
    if m.wastegate_flange is not None and m.branches:
        ends[m.wastegate_flange.name] = m.branches[0].run.name
    tube = ends.get(_flange_of(m, stud.id))
    return tube is not None and blocker.startswith(tube)


def _no_ratchet(m: Manifold, stud: StudAccess) -> Finding:
    why, do = "no ratchet gets on it", "Make room above the stud if you want a ratchet there"
    size = _without_socket(m, stud.id)
    if size is not None:
        why = f"the catalogue has no socket of {units.across_flats(size)}"
        row = f"{{{size:g}: {{12.5: its largest diameter}}}}"
        do = f"Add yours to the shop file, tools: {{hand_socket_d1: {row}}}"
    return Finding(
        "stud-no-ratchet",
        "warning",
        f"{stud.id}: {why}; it goes with the {stud.tool}, {stud.swing_deg:.0f}° a stroke.",
        f"{do}, or have that spanner on the bench.",
        parts=(stud.id, _flange_of(m, stud.id)),
        points=(stud.at,),
        where=_where(m, stud.id),
    )


def _without_socket(m: Manifold, id_: str) -> float | None:
    """Across flats of a stud's nut or head, mm, where no drive has a socket for it; else None."""
    stud = next((s for s in m.studs if s.id == id_), None)
    size = fastener(stud, m.tables).across_flats if stud else 0.0
    largest = max(m.tables.largest_socket(drive) for drive in m.tables.table("tools", "hand_socket"))
    return size if size > largest else None


def _stays_on(m: Manifold, stud: StudAccess) -> Finding:
    blocker = stud.off_blocked_by or "what stands over it"
    return Finding(
        "nut-will-not-come-off",
        "error",
        f"{stud.id}: nut and washer run into {blocker} on their way off the end, by {-stud.off_mm:.1f} mm.",
        f"Move {blocker} away from the stud's axis by more than {-stud.off_mm:.1f} mm, or take a shorter stud.",
        stud.off_mm,
        0.0,
        "mm",
        (stud.id, _flange_of(m, stud.id)),
        (stud.at,),
        _where(m, stud.id),
    )


def _told(move: Vec) -> str:
    return "[" + ", ".join(f"{round(x, 1) + 0.0:.1f}" for x in move) + "]"


def _where(m: Manifold, id_: str) -> Where | None:
    key = {"S": "head_flange.studs", "T": "turbo.flange", "W": "wastegate.flange"}.get(id_[:1], "")
    return m.where.get(key)
