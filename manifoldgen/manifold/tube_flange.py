"""The flanges at a tube's end: turbo and wastegate, with their bolts."""

from __future__ import annotations

from collections.abc import Sequence

from manifoldgen.catalogue import Catalogue
from manifoldgen.geometry.contour import Contour
from manifoldgen.geometry.pose import Frame
from manifoldgen.geometry.vectors import array, vec
from manifoldgen.manifold.flanges import bolt_circle, distinct, opening, outline
from manifoldgen.manifold.head import hole_diameter
from manifoldgen.manifold.model import Flange, Hole, Section, Stud, VBand
from manifoldgen.parameters.flange import Bolts, TubeFlange

Place = tuple[float, float]


def make(
    block: TubeFlange,
    name: str,
    letter: str,
    frame: Frame,
    tube: Section,
    *,
    tables: Catalogue,
    drawn: Contour | None = None,
) -> Flange:
    """A flange whose tube stands on its local z = 0.

    tables : the job's catalogue.  frame : origin at the centre of the tube side, z with the gas.  letter : of its bolt ids (T, W).
    drawn : its edge, where a drawing gives it.
    """
    gas = opening(block.opening)
    bolts = block.bolts
    holes: tuple[Hole, ...] = ()
    edge = None
    if bolts is not None:
        diameter = hole_diameter(tables, bolts.thread, bolts.hole)
        holes = tuple(Hole(f"{letter}{i}", at, diameter) for i, at in enumerate(places(bolts), start=1))
        margin = tables.defaults("flange")["margin"]
        edge = drawn or outline(block.outline, (gas,), holes, tube.radius, margin)
    band = block.vband
    return Flange(
        name=name,
        frame=frame,
        thickness=block.depth,
        material=block.material,
        outline=edge,
        openings=(gas,),
        holes=holes,
        tube=tube,
        tube_side="start",
        gasket=block.gasket,
        vband=VBand(band.od, band.clamp_od, band.clamp_width) if band else None,
    )


def places(bolts: Bolts) -> Sequence[Place]:
    """Bolt centres in the flange plane, in the order of their ids."""
    if bolts.positions is not None:
        return distinct(bolts.positions)
    return bolt_circle(bolts.circle or 0.0, bolts.count or 0, bolts.start)


def studs(block: TubeFlange, flange: Flange) -> tuple[Stud, ...]:
    """The flange's bolts; the tool works on the tube side (``manifold``) or on the far one."""
    bolts = block.bolts
    if bolts is None:
        return ()
    here = bolts.side == "manifold"
    depth = 0.0 if here else flange.thickness
    axis = vec(array(flange.frame.z) * (-1.0 if here else 1.0))
    return tuple(
        Stud(
            id=hole.id,
            flange=flange.name,
            kind=bolts.kind,
            at=vec(flange.frame.out((*hole.at, depth))),
            axis=axis,
            thread=bolts.thread,
            tip=bolts.length or 0.0,
            nut=bolts.nut if bolts.kind == "stud" else None,
            washer=bolts.washer,
            hole=hole.diameter,
        )
        for hole in flange.holes
    )
