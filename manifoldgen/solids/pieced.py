"""The pieces on the cut list as solids: what is cut from a bar or a bend, with its oblique ends and holes.

The last straight of a runner and its inlet are one mitred tube; a branch's first piece carries the saddle;
the piece a branch leaves has the hole.
"""

from __future__ import annotations

from collections.abc import Mapping

import cadquery as cq

from manifoldgen.errors import ManifoldgenError, SolidError
from manifoldgen.geometry.path import Path, Straight
from manifoldgen.geometry.pose import Frame
from manifoldgen.geometry.vectors import array
from manifoldgen.manifold.model import Branch, Manifold, Piece
from manifoldgen.pieces.part import SLIVER, part_of
from manifoldgen.solids import _occ
from manifoldgen.solids.branch import Saddle, bend_frame, mouth_bore
from manifoldgen.solids.collector import collector_pieces, inlet_planes
from manifoldgen.solids.runs import Laid, laid_to, on_head, path_of
from manifoldgen.solids.tube import tube_solid


def piece_solids(m: Manifold, saddles: Mapping[str, Saddle]) -> tuple[dict[str, cq.Shape], list[SolidError]]:
    """The solid of every piece by its id, and an error for each that could not be made.

    saddles : what was built round the mouth of a branch, by the parent's name.
    """
    made: dict[str, cq.Shape] = {}
    errors: list[SolidError] = []
    hubs: dict[str, dict[str, cq.Shape]] = {}
    for piece in m.pieces:
        try:
            shape = (
                _hub_piece(m, piece, hubs) if piece.owner.kind == "collector" else _piece(m, piece, saddles)
            )
        except ManifoldgenError as error:
            errors.append(SolidError(piece.id, error.beside(piece.id)))
            continue
        if len(shape.Solids()) == 1:
            made[piece.id] = shape
        else:
            errors.append(SolidError(piece.id, f"came out as {len(shape.Solids())} solids instead of 1"))
    return made, errors


def _piece(m: Manifold, piece: Piece, saddles: Mapping[str, Saddle]) -> cq.Shape:
    run = next(r for r in m.runs if r.name == piece.part)
    path = piece.path or path_of(run)
    whole = path_of(run)
    leaving = next((b for b in m.branches if b.run.name == run.name), None)
    begins = piece.elements[:1] == (0,) and path.start.at == whole.start.at
    if leaving is not None and begins and leaving.takeoff in saddles:
        return _saddled(m, leaving, saddles[leaving.takeoff], path)
    if run.kind == "runner":
        laid = on_head(m, run, path) if begins else Laid(path, piece.section)
    else:
        ends = abs(array(path.end.at) - array(whole.end.at)).max() < SLIVER
        flange = m.turbo if run.kind == "outlet" else m.wastegate_flange
        laid = laid_to(flange if ends else None, path, piece.section)
    shapes = laid.metal()
    if piece.inlet:
        c = next(c for c in m.collectors if piece.inlet in c.order)
        long = laid.path.plus(Straight(piece.leg)) if piece.leg else laid.path
        shapes[-1:] = [tube_solid(long, piece.section, start=laid.start, end=inlet_planes(c, piece.inlet))]
    shape = _occ.fuse(shapes, glue="full")
    for b in m.branches:
        if b.takeoff == run.name and b.element is not None and b.takeoff in saddles:
            shape = _drilled(shape, b, bend_frame(whole.segments[b.element]))  # type: ignore[arg-type]
    return shape


def _saddled(m: Manifold, b: Branch, saddle: Saddle, path: Path) -> cq.Shape:
    """The branch's first piece: its saddle and what follows of the piece's own path."""
    behind = path_of(b.run).length - saddle.rest.length
    if path.length - behind <= SLIVER:
        raise SolidError(b.run.name, "its first piece ends inside the mouth")
    rest = part_of(path, behind, path.length)
    ends = path.length >= path_of(b.run).length - SLIVER
    tube = laid_to(m.wastegate_flange if ends else None, rest, b.run.section)
    return _occ.fuse([saddle.branch, *tube.metal()], glue="full")


def _drilled(shape: cq.Shape, b: Branch, frame: Frame) -> cq.Shape:
    """The piece with the branch's bore through it, cut about the bend."""
    local = shape.moved(_occ.location(frame).inverse)
    return _occ.moved(_occ.cut(local, [mouth_bore(b, frame)]), frame)


def _hub_piece(m: Manifold, piece: Piece, hubs: dict[str, dict[str, cq.Shape]]) -> cq.Shape:
    """Lid or cone."""
    c = m.collector_of(piece.owner)
    if c is None:
        raise SolidError(piece.id, "there is no collector that it belongs to")
    if c.name not in hubs:
        hubs[c.name] = collector_pieces(c)
    made = hubs[c.name]
    if piece.role != "cone":
        return made["lid"]
    shape = made["cone"]
    for b in m.branches:
        if b.element is None and c is m.collectors[0]:
            shape = _drilled(shape, b, c.frame)
    return shape
