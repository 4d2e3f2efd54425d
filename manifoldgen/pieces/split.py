"""Runs cut into pieces of stock, with the fewest welds, then the least cost, then the least waste.

    runs ─ chain ─ choices ─ optimum ─▶ pieces, joints and the cutting plan

`J<r>.<k+1>` is where element k of a runner ends, welded or not; a weld inside an element adds a letter.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from dataclasses import replace

from manifoldgen.manifold.allowances import Allowances, Means
from manifoldgen.manifold.model import Branch, Collector, Joint, Manifold, Piece, Run
from manifoldgen.pieces import hub
from manifoldgen.pieces.added import added
from manifoldgen.pieces.chain import Chain, chain_of
from manifoldgen.pieces.choices import choices
from manifoldgen.pieces.cuts import Cut, Span, laid, named, pieces_of, rings_at
from manifoldgen.pieces.optimum import best
from manifoldgen.pieces.plan import Source, Sources, plan_of, spans_of

NEAR = 5.0  # mm: a weld that close to an avoided one is no way round it

Made = tuple[list[Piece], list[Joint]]


def split(m: Manifold, avoid: Collection[Joint] = ()) -> Manifold:
    """The manifold with its pieces, joints and cutting plan; runs whose path is still to be found are left out.

    avoid : welds that the torch does not reach: none is made within 5 mm of them where another way of
        cutting has none there.
    """
    allowed = Allowances.of(m.tables)
    means = Means(m.stock, allowed)
    runs = [r for r in m.runs if r.path is not None]
    chains = [chain_of(m, r, laid(r), allowed) for r in runs]

    def avoided(chain: Chain, s: float) -> bool:
        return bool(avoid) and any(math.dist(j.at, chain.path.point(s)) < NEAR for j in avoid)

    jobs = [choices(c, means, lambda s, c=c: avoided(c, s)) for c in chains]  # type: ignore[misc]
    chosen = best(jobs, means, avoided)
    sources = Sources.of(chosen)
    spans = {c.run.name: spans_of(n, c, chosen, sources) for n, c in enumerate(chains)}
    pieces, joints = _all(m, {name: [span for span, _ in found] for name, found in spans.items()})
    by_part = {name: [p for p in pieces if p.part == name and p.path is not None] for name in spans}
    ids: dict[Source, str] = {}
    for name, found in spans.items():
        ids |= {source: p.id for (_, source), p in zip(found, by_part[name], strict=True)}
    uncut = {p for s, p in ids.items() if (item := sources.item(s)) is not None and item.whole}
    grown = added(m, pieces, joints, uncut)
    lengths = {p.id: p.path.length + p.leg for p in pieces if p.path is not None}
    plan = plan_of(chosen, ids, lengths, grown, allowed)
    return replace(m, pieces=tuple(pieces), joints=tuple(joints), cutting=plan)


def _all(m: Manifold, spans: dict[str, list[Span]]) -> Made:
    """All pieces and joints: runners, collectors, outlet, branches."""
    pieces: list[Piece] = []
    joints: list[Joint] = []
    for run in m.runners:
        if run.path is not None:
            _add(_runner(m, run, spans[run.name]), pieces, joints)
    inlets = {p.inlet: p.id for p in pieces if p.inlet}
    for collector in m.collectors:
        if all(c in inlets for c in collector.order):
            code = hub.prefix(len(m.collectors), collector.name)
            joints += hub.joints(collector, code, inlets)
            outward = _outlet_names(m.outlet)[0]
            pieces += hub.pieces(collector, code, m.part_name(collector), outward)
    if m.outlet.path is not None:
        _add(_outlet(m, spans[m.outlet.name]), pieces, joints)
    for number, branch in enumerate(m.branches, start=1):
        if branch.run.path is not None:
            code = "W" if number == 1 else f"W{number}"
            _add(_branch(m, branch, code, pieces, spans[branch.run.name]), pieces, joints)
    return pieces, joints


def _runner(m: Manifold, run: Run, spans: Sequence[Span]) -> Made:
    path = laid(run)
    code = f"R{run.number}"
    names = [f"J{run.number}.{k + 1}" for k in range(len(path.elements) + 1)]
    collector = next((c for c in m.collectors if run.number in c.order), None)
    if collector is None or collector.kind == "bundle":
        cuts = named(path, names, _places(spans))
        pieces = pieces_of(run, spans, cuts, code)
        if collector is None:
            return pieces, rings_at(run, cuts, pieces, m.head, "open end")
        plate = hub.lid_id(hub.prefix(len(m.collectors), collector.name))
        rings = rings_at(run, cuts, pieces, m.head, plate)
        rings[-1] = replace(rings[-1], kind="plate", owner=collector.owner)
        return [*pieces[:-1], replace(pieces[-1], inlet=run.number, role="inlet")], rings
    cuts = named(path, names, [span.start for span in spans])  # nothing is welded on the ring plane
    pieces = pieces_of(run, spans, cuts, code)
    crotches = _crotches(collector, run.number, hub.prefix(len(m.collectors), collector.name))
    tube = pieces[-1]
    joints = (tube.joints[0], *crotches)
    leg = hub.leg_length(collector)
    pieces[-1] = replace(tube, inlet=run.number, leg=leg, joints=joints, role="inlet")
    return pieces, rings_at(run, cuts, pieces, m.head, pieces[-1].id)


def _crotches(collector: Collector, cylinder: int, code: str) -> tuple[str, str]:
    """The crotches on both sides of an inlet."""
    k, names = collector.order.index(cylinder), hub.letters(collector)
    return f"J{code}.{names[k - 1]}", f"J{code}.{names[k]}"


def _outlet_names(run: Run) -> list[str]:
    """The ids where the outlet's elements begin, and of the weld on the turbo flange."""
    return [*(f"JO.{k + 1}" for k in range(len(run.path.elements) if run.path else 0)), "JT.1"]


def _outlet(m: Manifold, spans: Sequence[Span]) -> Made:
    run = m.outlet
    path, names = laid(run), _outlet_names(run)
    cuts = (
        named(path, names, _places(spans)) if spans else [Cut(0.0, names[-1])]
    )  # or the cone stands on the flange
    pieces = pieces_of(run, spans, cuts, "O")
    cone = hub.cone_id(hub.prefix(len(m.collectors), m.collectors[0].name)) if m.collectors else "collector"
    return pieces, rings_at(run, cuts, pieces, cone, m.turbo)


def _branch(
    m: Manifold, branch: Branch, code: str, others: Sequence[Piece], spans: Sequence[Span]
) -> Made:  # fmt: skip
    """A branch from its saddle, JW.1, to its flange, the last JW."""
    run = branch.run
    path = laid(run)
    names = [f"J{code}.{k + 1}" for k in range(len(path.elements) + 1)]
    cuts = named(path, names, _places(spans))
    pieces = pieces_of(run, spans, cuts, code)
    rings = rings_at(run, cuts, pieces, _parent(branch, others), m.wastegate_flange or "open end")
    return pieces, [replace(rings[0], kind="saddle"), *rings[1:]]


def _places(spans: Sequence[Span]) -> list[float]:
    """Where the spans begin, and where the last one ends."""
    return [*(span.start for span in spans), spans[-1].end] if spans else []


def _parent(branch: Branch, pieces: Sequence[Piece]) -> str:
    """The piece a branch leaves."""
    if branch.element is None:
        return next((p.id for p in pieces if p.role == "cone"), branch.takeoff)
    held = [p.id for p in pieces if p.owner.name == branch.takeoff and branch.element in p.elements]
    return held[0] if held else branch.takeoff


def _add(made: Made, pieces: list[Piece], joints: list[Joint]) -> None:
    pieces += made[0]
    joints += made[1]
