"""Runs cut into pieces: one a bend, one a straight, the last straight of a runner with its inlet.

`J<r>.<k+1>` is where element k of a runner ends, welded or not; everything else follows from the cuts
(`pieces.cuts`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from manifoldgen.geometry.path import Straight
from manifoldgen.manifold.model import Branch, Collector, Joint, Manifold, Piece, Run
from manifoldgen.pieces import hub
from manifoldgen.pieces.cuts import Cut, cuts_of, laid, pieces_between, rings_at
from manifoldgen.pieces.part import SLIVER, part_of
from manifoldgen.pieces.stock import bar


def split(m: Manifold) -> Manifold:
    """The manifold with its pieces and joints; runs whose path is still to be found are left out."""
    pieces: list[Piece] = []
    joints: list[Joint] = []
    for run in m.runners:
        if run.path is not None:
            _add(_runner(m, run), pieces, joints)
    inlets = {p.inlet: p.id for p in pieces if p.inlet}
    for collector in m.collectors:
        if all(c in inlets for c in collector.order):
            code = hub.prefix(len(m.collectors), collector.name)
            joints += hub.joints(collector, code, inlets)
            outward = "JO.1" if m.outlet.path and m.outlet.path.elements else "JT.1"
            rim = f"J{code}.L" if collector.kind == "merge" else f"J{code}.C"
            pieces.append(
                Piece(f"{code}-P1", "collector", None, collector.section, joints=(rim, f"J{code}.C"))
            )
            pieces.append(
                Piece(f"{code}-P2", "collector", None, collector.outlet, joints=(f"J{code}.C", outward))
            )
    if m.outlet.path is not None:
        _add(_outlet(m), pieces, joints)
    for number, branch in enumerate(m.branches, start=1):
        if branch.run.path is not None:
            _add(_branch(m, branch, "W" if number == 1 else f"W{number}", pieces), pieces, joints)
    return replace(m, pieces=tuple(pieces), joints=tuple(joints))


def _runner(m: Manifold, run: Run) -> tuple[list[Piece], list[Joint]]:
    path = laid(run)
    code = f"R{run.number}"
    count = len(path.elements)
    names = [f"J{run.number}.{k + 1}" for k in range(count + 1)]
    collector = next((c for c in m.collectors if run.number in c.order), None)
    stub = collector.stub if collector else None
    last = path.elements[-1] if path.elements else None
    whole = isinstance(last, Straight) and (stub is None or stub > 0)
    extra = []
    if isinstance(last, Straight) and stub is not None and SLIVER < stub < last.length - SLIVER:
        extra.append((count - 1, path.length - stub))
    cuts = cuts_of(run, names, m.stock, extra)
    pieces = pieces_between(m, run, cuts, code)
    if collector is None:
        return pieces, rings_at(run, cuts, pieces, m.head.name, "open end")
    if collector.kind == "bundle":
        plate = f"{hub.prefix(len(m.collectors), collector.name)}-P1"
        rings = rings_at(run, cuts, pieces, m.head.name, plate)
        rings[-1] = replace(rings[-1], kind="lid")
        return [*pieces[:-1], replace(pieces[-1], inlet=run.number)], rings
    if not (whole and isinstance(last, Straight) and last.length > SLIVER):
        inlet = Piece(
            f"{code}-P{len(pieces) + 1}", run.name, part_of(path, path.length, path.length), run.section
        )
        pieces.append(replace(inlet, joints=(cuts[-1].id,)))
        welded = cuts
    else:
        welded = cuts[:-1]  # nothing is welded on the ring plane
    crotches = _crotches(collector, run.number, hub.prefix(len(m.collectors), collector.name))
    tube = pieces[-1]
    leg = hub.leg_length(collector)
    stock = tube.stock
    if tube.path is not None and not tube.path.bends:  # one tube from its weld to the flat cut
        item = bar(m.stock, run.kind, run.section, tube.path.length + leg)
        stock = item.name if item else None
    pieces[-1] = replace(tube, inlet=run.number, leg=leg, stock=stock, joints=(tube.joints[0], *crotches))
    rings = rings_at(run, welded, pieces, m.head.name, pieces[-1].id)
    return pieces, rings


def _crotches(collector: Collector, cylinder: int, code: str) -> tuple[str, str]:
    """The crotches on both sides of an inlet."""
    k, names = collector.order.index(cylinder), hub.letters(collector)
    return f"J{code}.{names[k - 1]}", f"J{code}.{names[k]}"


def _outlet(m: Manifold) -> tuple[list[Piece], list[Joint]]:
    run = m.outlet
    path = laid(run)
    names = [*(f"JO.{k + 1}" for k in range(len(path.elements))), "JT.1"]
    cuts = cuts_of(run, names, m.stock, ())
    pieces = pieces_between(m, run, cuts, "O")
    if not pieces:  # the cone stands on the flange
        cuts = [Cut(0.0, "JT.1")]
    cone = f"{hub.prefix(len(m.collectors), m.collectors[0].name)}-P2" if m.collectors else "collector"
    return pieces, rings_at(run, cuts, pieces, cone, m.turbo.name)


def _branch(
    m: Manifold, branch: Branch, code: str, others: Sequence[Piece]
) -> tuple[list[Piece], list[Joint]]:
    """A branch from its saddle, JW.1, to its flange, the last JW."""
    run = branch.run
    path = laid(run)
    names = [f"J{code}.{k + 1}" for k in range(len(path.elements) + 1)]
    cuts = cuts_of(run, names, m.stock, ())
    pieces = pieces_between(m, run, cuts, code)
    after = m.wastegate_flange.name if m.wastegate_flange else "open end"
    rings = rings_at(run, cuts, pieces, _parent(branch, others), after)
    return pieces, [replace(rings[0], kind="saddle"), *rings[1:]]


def _parent(branch: Branch, pieces: Sequence[Piece]) -> str:
    """The piece a branch leaves."""
    if branch.element is None:
        return next((p.id for p in reversed(pieces) if p.part == "collector"), branch.off)
    held = [p.id for p in pieces if p.part == branch.off and branch.element in p.elements]
    return held[0] if held else branch.off


def _add(made: tuple[list[Piece], list[Joint]], pieces: list[Piece], joints: list[Joint]) -> None:
    pieces += made[0]
    joints += made[1]
