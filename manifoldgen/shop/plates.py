"""Which collector a piece of sheet belongs to."""

from __future__ import annotations

from manifoldgen.manifold.model import Collector, Manifold, Piece


def sheet_piece(m: Manifold, c: Collector, number: int) -> Piece | None:
    """A collector's lid (number 1) or cone (number 2) on the cut list, or None."""
    return next(
        (
            p
            for p in m.pieces
            if p.part.startswith("collector") and p.id.endswith(f"-P{number}") and collector_of(m, p) is c
        ),
        None,
    )


def collector_of(m: Manifold, piece: Piece) -> Collector:
    """The collector of a piece ``C-P1``, or ``CA-P1`` where there are several."""
    code = piece.id.split("-")[0][1:]
    return next((c for c in m.collectors if c.name == code), m.collectors[0])
