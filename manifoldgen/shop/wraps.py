"""Every template of a job: inlets, tubes that lean on the head flange, branches."""

from __future__ import annotations

from collections.abc import Mapping

from manifoldgen.manifold.model import Manifold
from manifoldgen.shop.inlets import inlet_wraps
from manifoldgen.shop.mitres import head_wraps
from manifoldgen.shop.saddles import branch_wraps
from manifoldgen.shop.sawn import Sawn
from manifoldgen.shop.wrap import Wrap, WrapMark

__all__ = ["Wrap", "WrapMark", "wraps"]


def wraps(m: Manifold, sawn: Mapping[str, Sawn]) -> tuple[Wrap, ...]:
    """The wrap templates of a split manifold, in the order of its runs; runs without a path have none.

    sawn : every piece as it is sawn.  Only ends that are not square get one.  Raises GeometryError where a branch does not stand on its parent
    all round.
    """
    paper = float(m.tables.row("shop", "template", "paper")["value"])
    return (
        *head_wraps(m, paper),
        *inlet_wraps(m, {piece: cut.line for piece, cut in sawn.items()}, paper),
        *branch_wraps(m, paper),
    )
