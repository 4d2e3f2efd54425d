"""A merge collector alone: change the numbers, look at it in CQ-editor, or run it through CQGI."""

# ruff: noqa: F821 - show_object comes from whoever runs this

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


def describe_parameter(parameter: object, text: str) -> None:
    """CQGI reads the calls in the script's text; when it runs there is nothing to do (CadQuery's own takes no text)."""


describe_parameter(inlets, "how many inlet tubes, 2 to 8")
describe_parameter(od, "outside diameter of the inlet tubes, mm")
describe_parameter(wall, "wall of the inlet tubes, mm")
describe_parameter(outlet_od, "outside diameter of the outlet tube, mm")
describe_parameter(outlet_wall, "wall of the outlet tube, mm")
describe_parameter(half_angle, "degrees from an inlet to the collector's axis")
describe_parameter(gap, "mm between neighbouring inlets where they begin")
describe_parameter(bundle, "inlets end flat in a plate instead of being mitred together")

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
    show_object(collector, name="collector", options={"color": (204, 194, 173)})
