"""A merge collector alone: change the numbers, look at it in CQ-editor, or run it through CQGI."""

import cadquery as cq

from manifoldgen import plugin

inlets = 4
od = 42.4  # mm, inlet tubes
wall = 2.0
outlet_od = 60.3
outlet_wall = 2.77
half_angle = 12.0  # degrees, inlet to axis
gap = 2.0  # mm between neighbouring inlets
bundle = False  # True: inlets end flat in a plate

plugin.register()
collector = cq.Workplane("XY").merge_collector(
    inlets,
    od,
    wall,
    outlet_od,
    outlet_wall=outlet_wall,
    half_angle=half_angle,
    gap=gap,
    kind="bundle" if bundle else "merge",
)

if "show_object" in globals():
    show_object(collector, name="collector", options={"color": (204, 194, 173)})  # noqa: F821
