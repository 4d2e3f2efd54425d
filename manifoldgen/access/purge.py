"""Which openings a purged volume has at a stage, which are capped, where gas goes in and where it leaves."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from manifoldgen.access.results_welds import Purge, PurgeOpening
from manifoldgen.manifold.model import Joint, Manifold, Piece


@dataclass(frozen=True)
class Volume:
    """Pieces whose insides are one volume, and its openings."""

    pieces: frozenset[str]
    openings: tuple[PurgeOpening, ...]

    @property
    def purge(self) -> Purge:
        """Argon in at the lowest opening, vent at the highest (argon is heavier than air), caps on the rest.

        Collector ends that are held together are one mouth, the torch comes in there: they are the vent.
        """
        ranked = sorted(self.openings, key=lambda o: o.height)
        mouths = [o for o in ranked if o.kind == "collector end"]
        if len(mouths) > 1:
            held = tuple(piece for o in mouths for piece in o.pieces)
            mouth = PurgeOpening("collector end", mouths[-1].height, held)
            ranked = [*(o for o in ranked if o not in mouths), mouth]
        if not ranked:
            return Purge((), None, None)
        vent = ranked[-1] if len(ranked) > 1 else None
        return Purge(tuple(ranked[1:-1]), ranked[0], vent)


def volumes(m: Manifold, closed: Sequence[str]) -> tuple[Volume, ...]:
    """The argon volumes of a split manifold with only these joints closed; heights are bench z."""
    shut = set(closed)
    ids = {p.id for p in m.pieces}
    joints = {j.id: j for j in m.joints}
    groups = _joined([p.id for p in m.pieces], _bonds(m, shut, ids))
    return tuple(
        Volume(group, tuple(o for p in m.pieces if p.id in group for o in _openings(m, p, joints, shut)))
        for group in groups
    )


def _bonds(m: Manifold, shut: set[str], ids: set[str]) -> Iterator[tuple[str, ...]]:
    """The pieces that each closed joint makes one volume of."""
    for joint in m.joints:
        if joint.id not in shut:
            continue
        home = m.collector_of(joint.owner) if joint.kind == "lid" else None
        if home is not None:
            yield (*(p.id for p in m.inlets_of(home)), joint.between[1])
        else:
            yield tuple(name for name in joint.between if name in ids)


def _joined(names: Sequence[str], bonds: Iterable[tuple[str, ...]]) -> list[frozenset[str]]:
    found = [frozenset((name,)) for name in names]
    for bond in bonds:
        hit = [g for g in found if g & set(bond)]
        if hit:
            found = [*(g for g in found if not g & set(bond)), frozenset().union(*hit)]
    order = {name: i for i, name in enumerate(names)}
    return sorted(found, key=lambda g: min(order[n] for n in g))


def _openings(m: Manifold, piece: Piece, joints: dict[str, Joint], shut: set[str]) -> Iterator[PurgeOpening]:
    """The open ends of one piece: a flange's opening, a free end, a hole for a branch or an inlet not yet welded on."""
    run = m.run_of(piece.owner)
    # a plate collector's plate has its rim at both of its joints: one opening
    ends = piece.joints[:1] if piece.inlet else tuple(dict.fromkeys(piece.joints[:2]))
    for number, name in enumerate(ends):
        joint = joints.get(name)
        if joint is None:
            continue
        flange = next((f for f in m.flanges if f.name in joint.between), None)
        if name in shut and flange is None:
            continue
        if name in shut and flange is not None:
            port = next((p for p in m.ports if run is not None and p.number == run.number), None)
            if port is not None and flange is m.head:
                yield PurgeOpening("port", float(port.at[2]), (piece.id,), at=str(port.number))
            else:
                yield PurgeOpening("flange", float(flange.frame.at[2]), (piece.id,), at=flange.name)
        else:
            end = piece.path.start if piece.path is not None and number == 0 else None
            yield PurgeOpening("end", float((end.at if end else joint.at)[2]), (piece.id,), at=name)
    if piece.inlet:
        yield from _downstream(m, piece, joints, shut)
    for joint in joints.values():
        branch = joint.kind == "saddle" and joint.between[0] == piece.id
        inlet = joint.kind == "plate" and joint.between[1] == piece.id
        if (branch or inlet) and joint.id not in shut:
            yield PurgeOpening("hole", float(joint.at[2]), (piece.id,), at=joint.id)


def _downstream(
    m: Manifold, piece: Piece, joints: dict[str, Joint], shut: set[str]
) -> Iterator[PurgeOpening]:
    """The collector end of an inlet, where nothing is welded on it yet."""
    c = next((c for c in m.collectors if piece.inlet in c.order), None)
    if c is None:
        return
    mine = [
        j.id
        for j in joints.values()
        if (j.kind == "lid" and j.owner == c.owner) or (j.kind == "plate" and piece.id in j.between)
    ]
    if not shut.intersection(mine):
        yield PurgeOpening("collector end", float(c.inlet(piece.inlet).at[2]), (piece.id,))
