"""One runner alone: straight, bend, straight, bend, straight; change the numbers and look at it."""

# ruff: noqa: F821 - show_object comes from whoever runs this

import cadquery as cq

from manifoldgen import plugin
from manifoldgen.geometry.path import Bend, Straight

od = 42.4  # mm
wall = 2.0
clr = 63.6  # mm, centreline radius of both bends
first = 40.0  # mm, straight off the flange
bend_1 = 60.0  # degrees
middle = 35.0
bend_2 = 45.0
roll = 90.0  # degrees, second bend's plane against the first's
last = 30.0


def describe_parameter(parameter: object, text: str) -> None:
    """CQGI reads the calls in the script's text; when it runs there is nothing to do (CadQuery's own takes no text)."""


describe_parameter(od, "outside diameter of the tube, mm")
describe_parameter(wall, "wall of the tube, mm")
describe_parameter(clr, "centreline radius of both bends, mm")
describe_parameter(first, "straight off the flange, mm")
describe_parameter(bend_1, "angle of the first bend, degrees")
describe_parameter(middle, "straight between the bends, mm")
describe_parameter(bend_2, "angle of the second bend, degrees")
describe_parameter(roll, "turn of the second bend's plane against the first's, degrees")
describe_parameter(last, "straight after the second bend, mm")

plugin.register()
runner = cq.Workplane("XY").tube_run(
    [Straight(first), Bend(bend_1, clr), Straight(middle), Bend(bend_2, clr, roll), Straight(last)], od, wall
)

if "show_object" in globals():
    show_object(runner, name="runner", options={"color": (184, 186, 191)})
