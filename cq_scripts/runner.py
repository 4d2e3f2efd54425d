"""One runner alone: straight, bend, straight, bend, straight; change the numbers and look at it."""

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

plugin.register()
runner = cq.Workplane("XY").tube_run(
    [Straight(first), Bend(bend_1, clr), Straight(middle), Bend(bend_2, clr, roll), Straight(last)], od, wall
)

if "show_object" in globals():
    show_object(runner, name="runner", options={"color": (184, 186, 191)})  # noqa: F821
