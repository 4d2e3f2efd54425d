"""Which openings a purged volume has at a stage, which are capped, where gas goes in and where it leaves."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from manifoldgen.access.results_welds import Purge
from manifoldgen.geometry.vectors import Vec
from manifoldgen.manifold.model import Joint, Manifold, Piece

_MERGE_END = "merge end of "


@dataclass(frozen=True)
class Volume:
    """Pieces whose insides are one volume, and its openings: a name and a height each."""

    pieces: frozenset[str]
    openings: tuple[tuple[str, float], ...]

    @property
    def purge(self) -> Purge:
        """Gas in at the lowest opening, vent at the highest (argon is heavier than air), caps on the rest.

        Merge ends that are held together are one mouth, the torch comes in there: they are the vent.
        """
        ranked = sorted(self.openings, key=lambda o: o[1])
        mouths = [o for o in ranked if o[0].startswith(_MERGE_END)]
        if len(mouths) > 1:
            names = ", ".join(name.removeprefix(_MERGE_END) for name, _ in mouths)
            mouth = (f"merge ends of {names} together, under foil with a window for the torch", 0.0)
            ranked = [*(o for o in ranked if o not in mouths), mouth]
        if not ranked:
            return Purge((), None, None)
        vent = ranked[-1][0] if len(ranked) > 1 else None
        return Purge(tuple(name for name, _ in ranked[1:-1]), ranked[0][0], vent)


def volumes(m: Manifold, closed: Sequence[str]) -> tuple[Volume, ...]:
    """The gas volumes of a split manifold with only these joints closed; heights are bench z."""
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
        if joint.kind == "lid" and any(c.kind == "merge" for c in m.collectors):
            inlets = {p.id for p in m.pieces if p.inlet}
            yield (*(i for i in inlets if _same_collector(m, i, joint)), joint.between[1])
        else:
            yield tuple(name for name in joint.between if name in ids)


def _same_collector(m: Manifold, inlet: str, joint: Joint) -> bool:
    held = {p.id: p.inlet for p in m.pieces}
    home = next((c for c in m.collectors if held.get(joint.between[0]) in c.order), None)
    return home is not None and held[inlet] in home.order


def _joined(names: Sequence[str], bonds: Iterable[tuple[str, ...]]) -> list[frozenset[str]]:
    found = [frozenset((name,)) for name in names]
    for bond in bonds:
        hit = [g for g in found if g & set(bond)]
        if hit:
            found = [*(g for g in found if not g & set(bond)), frozenset().union(*hit)]
    order = {name: i for i, name in enumerate(names)}
    return sorted(found, key=lambda g: min(order[n] for n in g))


def _openings(
    m: Manifold, piece: Piece, joints: dict[str, Joint], shut: set[str]
) -> Iterator[tuple[str, float]]:
    """The open ends of one piece: a flange's opening, a free end, a hole for a branch not yet welded on."""
    for number, name in enumerate(piece.joints[:1] if piece.inlet else piece.joints[:2]):
        joint = joints.get(name)
        if joint is None:
            continue
        flange = next((f for f in m.flanges if f.name in joint.between), None)
        if name in shut and flange is None:
            continue
        if name in shut and flange is not None:
            port = next((p for p in m.ports if piece.part == f"runner {p.number}"), None)
            said = f"port {port.number}" if flange is m.head and port else flange.name
            yield said, float(flange.frame.at[2] if port is None or flange is not m.head else port.at[2])
        else:
            end = piece.path.start if piece.path is not None and number == 0 else None
            yield f"{piece.id} at {name}", float((end.at if end else joint.at)[2])
    if piece.inlet:
        yield from _downstream(m, piece, joints, shut)
    for joint in joints.values():
        if joint.kind == "saddle" and joint.between[0] == piece.id and joint.id not in shut:
            yield f"hole in {piece.id} for {joint.id}", float(joint.at[2])


def _downstream(
    m: Manifold, piece: Piece, joints: dict[str, Joint], shut: set[str]
) -> Iterator[tuple[str, float]]:
    """The merge end of an inlet, where nothing is welded on it yet."""
    c = next((c for c in m.collectors if piece.inlet in c.order), None)
    if c is None:
        return
    lids = [j for j in joints.values() if j.kind == "lid"]
    mine = [
        j for j in lids if piece.id in j.between or (c.kind == "merge" and _same_collector(m, piece.id, j))
    ]
    if not any(j.id in shut for j in mine):
        at: Vec = c.inlet(piece.inlet).at
        yield f"{_MERGE_END}{piece.id}", float(at[2])
