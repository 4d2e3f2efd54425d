"""Opt-in CadQuery methods: `Workplane.tube_run` and `Workplane.merge_collector`.

    import manifoldgen.plugin           # registers both
    cq.Workplane("XY").tube_run([Straight(40), Bend(60, 63.6)], od=42.4, wall=2.0)

Nothing that CadQuery has is replaced; importing or registering twice changes nothing. The free functions in
`manifoldgen.solids` do the same without this.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any, Literal

import cadquery as cq

from manifoldgen.errors import GeometryError
from manifoldgen.geometry.path import Element, Path
from manifoldgen.geometry.pose import BENCH, Pose, Y
from manifoldgen.manifold.collector import make_collector
from manifoldgen.manifold.model import Section
from manifoldgen.solids.collector import collector_solid
from manifoldgen.solids.tube import tube_solid

Combine = bool | Literal["cut", "a", "s"]


def tube_run(  # noqa: PLR0917 - combine and clean come last, as in CadQuery
    self: cq.Workplane,
    elements: Sequence[Element],
    od: float,
    wall: float,
    combine: Combine = True,  # noqa: FBT002 - as CadQuery's own
    clean: bool = True,  # noqa: FBT001, FBT002
) -> cq.Workplane:
    """A tube on every point of the stack, along the workplane's normal first.

    Parameters
    ----------
    elements : straights and bends in order; roll 0 of the first bend turns towards the workplane's y.
    od, wall : of the tube, mm.
    combine, clean : with what is on the workplane already, as CadQuery's own solids: True (or ``"a"``) adds, ``"cut"``
        cuts, ``"s"`` and False leave it apart; `clean` merges faces afterwards.

    Raises
    ------
    GeometryError : a bend too tight for the tube, or no length.
    """
    path = Path(Pose(BENCH.at, BENCH.z, Y), tuple(elements))
    return _on_each(self, tube_solid(path, Section(od, wall, "")), combine, clean=clean)


def merge_collector(
    self: cq.Workplane,
    inlets: int,
    od: float,
    wall: float,
    outlet_od: float,
    *,
    outlet_wall: float | None = None,
    half_angle: float = 12.0,
    gap: float = 2.0,
    kind: Literal["merge", "bundle"] = "merge",
    length: float | None = None,
    combine: Combine = True,
    clean: bool = True,
) -> cq.Workplane:
    """A collector on every point of the stack: ring plane on the workplane, flow along its normal.

    Parameters
    ----------
    inlets : how many, 2 to 8; the first stands towards the workplane's y.
    od, wall, outlet_od, outlet_wall : of the tubes, mm (outlet wall: as the inlets').
    half_angle : degrees from inlet to axis.  gap : mm between neighbours, sets the inlet circle.
    length : ring plane to outlet, mm; None lets the cone set it.
    combine, clean : as in `tube_run`.

    Raises
    ------
    GeometryError, SolidError : numbers that make no collector; no acceptable solid.
    """
    made = make_collector(
        name="collector",
        kind=kind,
        frame=BENCH,
        section=Section(od, wall, ""),
        outlet=Section(outlet_od, wall if outlet_wall is None else outlet_wall, ""),
        order=range(1, inlets + 1),
        half_angle=half_angle,
        gap=gap,
        length=length,
    )
    return _on_each(self, collector_solid(made), combine, clean=clean)


def _on_each(workplane: cq.Workplane, solid: cq.Shape, combine: Combine, *, clean: bool) -> cq.Workplane:
    return workplane.eachpoint(solid.moved, True, combine, clean)  # noqa: FBT003 - CadQuery's own order


METHODS: dict[str, Callable[..., Any]] = {"tube_run": tube_run, "merge_collector": merge_collector}


def register() -> None:
    """Add the methods to `cadquery.Workplane`; harmless when they are there already.

    Raises GeometryError where another library has already taken one of the names.
    """
    for name, method in METHODS.items():
        there = getattr(cq.Workplane, name, None)
        if there is None or _ours(there):
            setattr(cq.Workplane, name, method)
        else:
            raise GeometryError(
                f"cadquery.Workplane already has a method {name} of another library; it is kept"
            )


def _ours(method: Any) -> bool:  # noqa: ANN401 - whatever stands under the name
    """Whether a method is this module's, perhaps from before the module was loaded anew, as editors do."""
    home = (getattr(method, "__module__", None), getattr(method, "__qualname__", None))
    return home in {(made.__module__, made.__qualname__) for made in METHODS.values()}


register()
