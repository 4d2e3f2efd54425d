"""The collector's numbers: inlet circle, depths, cone and lengths, in closed form and without a kernel.

    γ = half angle, r = od / 2, r_i = bore radius, N = number of inlets, z from the joint plane with the flow

    inlet circle   rho = (od / cos γ + gap) / (2 sin(π/N))
    join depth     z_j = (rho − r_i / cos γ) / tan γ       all lumens have reached the axis
    envelope       R   = rho − z tan γ + r / cos γ         the tubes' outermost reach at depth z

The cone's rim stands outside that envelope by `rim_margin`: at least 0.6 mm (a rim tangent to the tubes
cannot be meshed), and as much more as a steep cone or a thicker outlet needs so that the lumens, which
run through the transition plate, leave the cone its whole wall. The plate takes the inlets' wall, the cone the
outlet's.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Literal

import numpy as np

from manifoldgen.errors import GeometryError
from manifoldgen.geometry.pose import Frame, Pose
from manifoldgen.geometry.vectors import Vec, cos_sin, vec
from manifoldgen.manifold.model import Collector, Section

RIM = 0.6  # mm outside the tubes' envelope; 0.5 is the least that meshes safely, 0.1 lets a rim be rounded
CLEAR = 0.2  # mm between the lumens and the cone's inner face where the lid ends
OVERRUN = 0.5  # mm the lumens run on past the lid
STEEPEST = 20.0  # degrees, cone half angle
SHALLOWEST = 4.0  # degrees, cone half angle chosen on its own
LEAST_CONE = 10.0  # mm of cone behind the merge depth, lid included
LEAST_GAP = 0.1  # mm between neighbouring inlets: touching tubes make no sound solid
LEAD_MARGIN = 1.0  # mm of whole tube between an inlet's end disc and the flat cut
SAME_RADIUS = 0.05  # mm: closer to the outlet's radius than this, the cone is made a cylinder
INLETS = (2, 8)
HALF_ANGLES = {"merge": (5.0, 25.0), "bundle": (0.0, 25.0)}


def ring_radius(n: int, od: float, half_angle: float, gap: float) -> float:
    """Radius of the inlet circle, mm: neighbours' centres are od / cos γ + gap apart."""
    return (od / _cos(half_angle) + gap) / (2.0 * math.sin(math.pi / n))


def true_gap(n: int, od: float, half_angle: float, ring: float) -> float:
    """Least wall gap between neighbouring inlets in the ring plane, mm.

    There each tube is an ellipse, r / cos γ along the radius and r across. Neighbours mirror each other
    in their bisector plane, so the gap is twice the ellipse's distance from that plane:
    2 (rho sin(π/N) − r sqrt(1 + tan²γ sin²(π/N))) (closed form, support function of the ellipse).
    """
    s = math.sin(math.pi / n)
    return 2.0 * (ring * s - od / 2.0 * math.sqrt(1.0 + (_tan(half_angle) * s) ** 2))


def join_depth(ring: float, section: Section, half_angle: float) -> float:
    """Depth z_j from the ring plane at which all lumens have reached the axis, mm (half angle > 0)."""
    return (ring - section.bore_radius / _cos(half_angle)) / _tan(half_angle)


def envelope_radius(ring: float, section: Section, half_angle: float, depth: float) -> float:
    """Outermost reach of the inlet tubes at a depth before their axes meet, mm from the axis."""
    return ring - depth * _tan(half_angle) + section.radius / _cos(half_angle)


def rim_margin(section: Section, outlet: Section, half_angle: float, slope: float) -> float:
    """How far the cone's rim stands outside the tubes' envelope, mm.

    slope : tangent of the cone's half angle, positive where it narrows.
    """
    through = section.wall + OVERRUN
    wall = outlet.wall * math.sqrt(1.0 + slope * slope) - section.wall / _cos(half_angle)
    return max(RIM, wall + through * (slope - _tan(half_angle)) + CLEAR)


def rim_radius(
    envelope: float, section: Section, outlet: Section, half_angle: float, *, cone_length: float
) -> float:
    """Outer radius of the cone at the merge depth, mm, for a cone of given length.

    The margin depends on the slope and the slope on the rim; the iteration is a contraction for every
    cone longer than lid and overrun together.
    """
    rim = envelope + RIM
    for _ in range(60):
        slope = (rim - outlet.radius) / cone_length
        rim = envelope + rim_margin(section, outlet, half_angle, slope)
    return outlet.radius if abs(rim - outlet.radius) < SAME_RADIUS else rim


def cone_length(
    envelope: float, section: Section, outlet: Section, half_angle: float, *, steep: float
) -> float:
    """Length of the cone with a half angle of `steep` degrees, narrowing or widening, mm.

    At least `LEAST_CONE`, which is also the answer where rim and outlet are about equally wide.
    """
    lengths = [LEAST_CONE]
    for slope in (_tan(steep), -_tan(steep)):
        rim = envelope + rim_margin(section, outlet, half_angle, slope)
        lengths.append((rim - outlet.radius) / slope)
    return max(lengths)


def auto_steepness(half_angle: float) -> float:
    """Cone half angle where none is given: as steep as the inlets, 4° to 20°."""
    return min(max(half_angle, SHALLOWEST), STEEPEST)


def inlet_lead(collector: Collector) -> float:
    """How far upstream of the ring plane the collector's inlet tubes begin, mm along each inlet.

    0 where the end discs, square to the inlets, lie wholly before the flat cut. Where they would reach
    through it (every bundle; two tubes at a steep angle), the tubes begin `LEAD_MARGIN` clear of it, and
    the runner's last straight gives up that length.
    """
    c, s = cos_sin(collector.half_angle)
    reach = collector.section.radius * s + LEAD_MARGIN - collector.merge_depth
    return max(0.0, reach / c)


def inlet_start(collector: Collector, cylinder: int) -> Pose:
    """Where one inlet's tube begins: its pose moved upstream by `inlet_lead`."""
    pose = collector.inlet(cylinder)
    at = np.asarray(pose.at) - inlet_lead(collector) * np.asarray(pose.direction)
    return Pose(vec(at), pose.direction, pose.normal)


def local_inlets(collector: Collector) -> tuple[tuple[Vec, Vec], ...]:
    """Centre and direction of every inlet in the collector's own frame, in the order of `order`."""
    return tuple(_inlet(a, collector.ring_radius, collector.half_angle) for a in collector.ring_angles)


def make_collector(
    *,
    name: str,
    kind: Literal["merge", "bundle"],
    frame: Frame,
    section: Section,
    outlet: Section,
    order: Sequence[int],
    half_angle: float,
    gap: float,
    order_rule: Literal["firing", "free", "list"] = "list",
    clock: float = 0.0,
    mirror: bool = False,
    stub: float | None = None,
    length: float | None = None,
    cone_half_angle: float | None = None,
) -> Collector:
    """One collector laid out in the bench frame.

    Parameters
    ----------
    name : as on the sheets; opens every message.
    frame : origin at the ring plane's centre, z with the flow, y at ring angle 0.
    section, outlet : tubes of the inlets and of the outlet.
    order : cylinder numbers round the ring from `clock` degrees on, left-handed if `mirror`.
    half_angle, gap : degrees and mm; they set the inlet circle.
    length : ring plane to where the outlet tube begins, mm; None lets the cone set it, to the whole mm.
    cone_half_angle : degrees, up to 20; None is as steep as the inlets.

    Raises
    ------
    GeometryError : numbers that make no collector; names the values and the least length.
    """
    n = len(order)
    _check(
        name,
        kind=kind,
        section=section,
        outlet=outlet,
        order=order,
        half_angle=half_angle,
        gap=gap,
        cone_half_angle=cone_half_angle,
    )
    ring = ring_radius(n, section.od, half_angle, gap)
    join = join_depth(ring, section, half_angle) if kind == "merge" else 0.0
    automatic = length is None
    merge = join + section.wall if kind == "merge" and automatic else join
    envelope = envelope_radius(ring, section, half_angle, merge)
    if length is None:
        steep = auto_steepness(half_angle) if cone_half_angle is None else cone_half_angle
        needed = merge + cone_length(envelope, section, outlet, half_angle, steep=steep)
        length = float(math.ceil(needed - 1e-9))
    else:
        least = merge + cone_length(envelope, section, outlet, half_angle, steep=STEEPEST)
        if length < least - 1e-9:
            raise GeometryError(_too_short(name, length, least, merge))
    rim = rim_radius(envelope, section, outlet, half_angle, cone_length=length - merge)
    slope = (rim - outlet.radius) / (length - merge)
    steepness = math.degrees(math.atan(slope))
    if not automatic and cone_half_angle is not None and abs(abs(steepness) - cone_half_angle) > 0.05:
        raise GeometryError(
            f"{name}: a length of {length:.1f} mm leaves a cone of {abs(steepness):.1f}°, not the"
            f" {cone_half_angle:.1f}° asked for; give length or cone_half_angle, the other auto"
        )
    step = (-360.0 if mirror else 360.0) / n
    local = (_inlet(clock + step * k, ring, half_angle) for k in range(n))
    return Collector(
        name=name,
        kind=kind,
        frame=frame,
        section=section,
        outlet=outlet,
        order=tuple(order),
        order_rule=order_rule,
        clock=clock,
        mirror=mirror,
        half_angle=half_angle,
        gap=gap,
        ring_radius=ring,
        join_depth=join,
        merge_depth=merge,
        length=length,
        rim_radius=rim,
        cone_half_angle=steepness,
        stub=stub,
        true_gap=true_gap(n, section.od, half_angle, ring),
        inlets=tuple(Pose.heading(frame.out(at), frame.turn(d)) for at, d in local),
    )


def _inlet(ring_angle: float, ring: float, half_angle: float) -> tuple[Vec, Vec]:
    ca, sa = cos_sin(ring_angle)
    cg, sg = cos_sin(half_angle)
    return vec((-ring * sa, ring * ca, 0.0)), vec((sg * sa, -sg * ca, cg))


def _check(
    name: str,
    *,
    kind: Literal["merge", "bundle"],
    section: Section,
    outlet: Section,
    order: Sequence[int],
    half_angle: float,
    gap: float,
    cone_half_angle: float | None,
) -> None:
    fewest, most = INLETS
    if not fewest <= len(order) <= most:
        raise GeometryError(f"{name}: {len(order)} inlets; a collector takes {fewest} to {most}")
    if len(set(order)) != len(order):
        raise GeometryError(f"{name}: order {list(order)} names a cylinder twice")
    low, high = HALF_ANGLES[kind]
    if not low <= half_angle <= high:
        raise GeometryError(
            f"{name}: half_angle {half_angle:g}° is outside {low:g}° to {high:g}°, the range of a {kind} collector"
        )
    if not gap >= LEAST_GAP:
        raise GeometryError(f"{name}: gap {gap:g} mm; the inlets need at least {LEAST_GAP:g} mm between them")
    for what, tube in (("runner", section), ("outlet", outlet)):
        if not 0 < 2 * tube.wall < tube.od:
            raise GeometryError(
                f"{name}: the {what} tube {tube.od:g} x {tube.wall:g} mm has no bore or no wall"
            )
    if cone_half_angle is not None and not 0 < cone_half_angle <= STEEPEST:
        raise GeometryError(f"{name}: cone_half_angle {cone_half_angle:g}° is outside 0° to {STEEPEST:g}°")


def _too_short(name: str, length: float, least: float, merge: float) -> str:
    least_given = math.ceil(least * 10 - 1e-6) / 10
    return (
        f"{name}: length {length:.1f} mm is too short: the tubes have joined {merge:.1f} mm from the collector joint plane and"
        f" the cone from there may be {STEEPEST:g}° steep and not shorter than {LEAST_CONE:g} mm;"
        f" give at least {least_given:.1f} mm"
    )


def _cos(angle: float) -> float:
    return cos_sin(angle)[0]


def _tan(angle: float) -> float:
    c, s = cos_sin(angle)
    return s / c
