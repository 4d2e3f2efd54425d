"""Jobs that tests share: `FOUR` is the text of a complete job for four cylinders that names no other file."""

from __future__ import annotations

import copy
from typing import Any

from manifoldgen.parameters import Parameters, document, load, load_text

FOUR = """\
format: 1
name: bench-four
description: a four on the bench
engine:
  firing_order: [1, 3, 4, 2]
  up: [0, 1, 0]
  displacement_cc: 1998
  rpm: 7000
  boost_kpa: 140
  movement: {shift: [4, 4, 4], roll_deg: 3, about: {point: [0, 0, -200], axis: [1, 0, 0]}}
head_flange:
  thickness: 12
  gasket: 1.5
  material: "304"
  ports:
    shape: {oval: [41, 36]}
    pitch: 96
    direction: [0, 0, 1]
  fit: butt
  transition: flange
  studs: {thread: M8, length: 38, nut: all-metal-lock, washer: true, hole: medium, per_port: [[-41, 24], [41, -24]]}
  outline: {margin: 10}
tubes:
  runner: {od: 42.4, wall: 2.0, material: "304"}
  outlet: {od: 60.3, wall: 2.77, material: "304"}
  wastegate: {od: 44.5, wall: 1.65, material: "304"}
stock:
  - {name: el90, kind: elbow, tube: runner, clr: 63.6, angle: 90, price: 11}
  - {name: el45, kind: elbow, tube: runner, clr: 63.6, angle: 45, centre_to_end: 30.1}
  - {name: leg90, kind: bend, tube: runner, clr: 63.6, angle: 90, legs: [100, 100], od: 42.4, wall: 2.1}
  - {name: runner tube, kind: straight, tube: runner, length: 1000, price: 20}
  - {name: out90, kind: elbow, tube: outlet, clr: 76.2, angle: 90}
  - {name: outbar, kind: straight, tube: outlet, length: 500}
  - {name: gatebar, kind: straight, tube: wastegate, length: 500}
turbo:
  inlet: {at: [144, 373, 316], facing: [0, 0.3, 0.95], clock: 0}
  flange:
    opening: {rectangle: [54, 44], corner: 10}
    thickness: 12
    bolts: {kind: bolt, side: manifold, thread: M10, positions: [[-37, -32], [37, -32], [37, 32], [-37, 32]]}
  body:
    - {name: turbine housing, cylinder: {from: [104, 394, 383], to: [184, 394, 383], radius: 60}, clearance: 10}
  drain: {from: [144, 394, 300], to: [144, 300, 20]}
collector:
  kind: merge
  half_angle: 12
  gap: 2
  stub: auto
  order: firing
  clock: 0
  mirror: auto
  length: auto
  cone_half_angle: auto
  path:
    - {straight: 25}
    - {bend: 65, clr: 76.2, toward: +z}
    - {straight: 20}
wastegate:
  seat: 38
  takeoff: {run: outlet, bend: 1, shift: 0}
  aim: 0
  path: [{straight: 60}]
  flange:
    opening: {round: 38}
    thickness: 10
    bolts: {kind: stud, side: manifold, thread: M8, circle: 62, count: 4, start: 45}
  valve: {diameter: 80, length: 110}
runners:
  length: {equal_within: 1 %}
  paths:
    1: auto
    2: [{straight: 40}, {bend: 60, clr: 63.6, toward: up}, {straight: 35}, {bend: 30, clr: 63.6, roll: 90}, close]
    3: {points: [[192, 0, 12], [192, 0, 80], [170, 150, 120]], clr: 63.6}
    4: auto
limits: {gap: 12, merge_zone: 85}
obstacles:
  - {name: frame rail, box: {from: [-90, -130, 60], to: [380, -80, 110]}, clearance: 10}
  - {name: brake hose, cylinder: {from: rail_end, to: [330, 400, 40], radius: 8}, heat_sensitive: true, mounted: chassis}
survey:
  - {from: S1, to: turbo.B1, mm: 412}
  - {from: S1, to: rail_end, mm: 300}
  - {angle: turbo.facing, to: z, deg: 37}
print: {bed: [220, 220, 250], fit: 0.25, wall: 3}
"""


def four(**changes: object) -> dict[str, Any]:
    """`FOUR` as a mapping; ``a__b=value`` sets a value below, ``a__b=None`` takes the key out."""
    raw: dict[str, Any] = copy.deepcopy(document.read(FOUR).data)
    for name, value in changes.items():
        *above, last = name.split("__")
        block = raw
        for key in above:
            block = block[key]
        if value is None:
            del block[last]
        else:
            block[last] = value
    return raw


def load_four(**changes: object) -> Parameters:
    """The job `four(**changes)`, read."""
    return load(four(**changes))


def problems(text: str | bytes) -> tuple[str, ...]:
    """The problems of a job's text; empty where it is fine."""
    from manifoldgen.errors import ParameterError

    try:
        load_text(text)
    except ParameterError as error:
        return error.problems
    return ()
