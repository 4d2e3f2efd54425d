"""The tubes of the test-fit model as limbs: a centreline, the outside along it, and the bore that print.wall leaves.

runner 2   from the head flange's face, on through its collector inlet to the transition plate
trunk      the collector's axis, then the outlet to the turbo flange
branch     from its root inside the parent to its flange
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from manifoldgen.errors import SolidError
from manifoldgen.geometry.path import Path, Straight
from manifoldgen.geometry.pose import Pose
from manifoldgen.geometry.vectors import array
from manifoldgen.manifold.collector import OVERRUN, inlet_lead
from manifoldgen.manifold.collector_profile import bore_profile, outer_profile
from manifoldgen.manifold.model import Branch, Collector, Manifold, Run, Section
from manifoldgen.pieces.hub import leg_length
from manifoldgen.prints import bodies

TRUNK = "trunk"
THINNEST = 1.2  # mm: three lines of a 0.4 nozzle; thinner walls do not print soundly (common practice)
LEAST_BORE = 6.0  # mm radius that a spigot needs
INTO_CONE = 0.5  # mm the inlets run into the cone, so that no two faces coincide

Profile = tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class Limb:
    """A tube of the model.

    name : the run's, or ``trunk``.  path : its centreline.  outside, bore : (arc length, radius), mm.
    start, end : where its own tube begins and ends on the path.
    """

    name: str
    path: Path
    outside: Profile
    bore: Profile
    start: float
    end: float

    def radius(self, s: float) -> float:
        """Outer radius at `s`."""
        return _at(self.outside, s)

    def bore_radius(self, s: float) -> float:
        """Bore radius at `s`."""
        return _at(self.bore, s)

    def skin(self, a: float, b: float, off: float = 0.0) -> bodies.Body:
        """The full round of the outside from `a` to `b`, `off` mm wider."""
        return bodies.swept(self.path, [(s, r + off) for s, r in _between(self.outside, a, b)])

    def hollow(self, a: float, b: float, off: float = 0.0) -> bodies.Body:
        """The full round of the bore from `a` to `b`, `off` mm wider."""
        return bodies.swept(self.path, [(s, r + off) for s, r in _between(self.bore, a, b)])


def printed(section: Section, wall: float, name: str) -> float:
    """Bore radius that a printed tube of this outside has.

    Raises SolidError where the wall is too thin to print or leaves no bore for a spigot.
    """
    if wall < THINNEST:
        raise SolidError(
            name, f"print.wall of {wall:g} mm does not print soundly; give at least {THINNEST:g} mm"
        )
    if section.radius - wall < LEAST_BORE:
        most = section.radius - LEAST_BORE
        raise SolidError(
            name,
            f"a printed wall of {wall:g} mm leaves no bore for a spigot in a tube of {section.od:g} mm;"
            f" give print.wall {most:g} mm or less, or print.model: solid",
        )
    return section.radius - wall


def runner(m: Manifold, run: Run) -> Limb:
    """A runner's limb: its path and, beyond the ring plane, its inlet to well through the lid."""
    path = path_of(run)
    bore = printed(run.section, m.workshop.wall, run.name)
    c = collector_of(m, run)
    more = (
        0.0
        if c is None
        else leg_length(c)
        + (m.workshop.wall + OVERRUN) / math.cos(math.radians(c.half_angle))
        + 2 * run.section.radius
    )
    whole = path.plus(Straight(more)) if more else path
    end = path.length - (inlet_lead(c) if c else 0.0)
    r = run.section.radius
    return Limb(run.name, whole, ((0.0, r), (whole.length, r)), ((0.0, bore), (whole.length, bore)), 0.0, end)


def trunk(m: Manifold) -> Limb:
    """The collector's axis from its ring plane, cone and outlet; the outlet alone where there is no collector."""
    path, wall = path_of(m.outlet), m.workshop.wall
    bore, r = printed(m.outlet.section, wall, m.outlet.name), m.outlet.section.radius
    if not m.collectors:
        return Limb(
            TRUNK, path, ((0.0, r), (path.length, r)), ((0.0, bore), (path.length, bore)), 0.0, path.length
        )
    c = m.collectors[0]
    as_printed = printed_hub(c, wall)
    start = Pose(c.frame.at, c.frame.z, path.start.normal)
    whole = Path(start, (Straight(c.length), *path.elements))
    outside = tuple((z, radius) for radius, z in outer_profile(c))
    inside = tuple((z, radius) for radius, z in bore_profile(as_printed))
    return Limb(
        TRUNK,
        whole,
        (*outside, (whole.length, r)),
        (*inside, (whole.length, bore)),
        c.merge_depth,
        whole.length,
    )


def branch(m: Manifold, b: Branch) -> Limb:
    """A branch from its root inside the parent."""
    path, r = path_of(b.run), b.run.section.radius
    bore = printed(b.run.section, m.workshop.wall, b.run.name)
    behind = float((array(path.start.at) - array(b.root)) @ array(b.axis))
    start = Pose(b.root, b.axis, path.start.normal)
    whole = Path(start, (Straight(behind), *path.elements))
    return Limb(
        b.run.name,
        whole,
        ((0.0, r), (whole.length, r)),
        ((0.0, bore), (whole.length, bore)),
        0.0,
        whole.length,
    )


def printed_hub(c: Collector, wall: float) -> Collector:
    """The collector with the printed wall in lid, inlets and cone; its outside stays."""
    from dataclasses import replace

    return replace(
        c,
        section=Section(c.section.od, wall, c.section.material),
        outlet=Section(c.outlet.od, wall, c.outlet.material),
    )


def collector_of(m: Manifold, run: Run) -> Collector | None:
    """The collector that a runner ends in."""
    return next((c for c in m.collectors if run.number in c.order), None)


def path_of(run: Run) -> Path:
    """The run's path; raises SolidError while it is still to be found."""
    if run.path is None:
        raise SolidError(run.name, "its path is not known yet; route the job first")
    return run.path


def _at(profile: Profile, s: float) -> float:
    return float(np.interp(s, [p[0] for p in profile], [p[1] for p in profile]))


def _between(profile: Profile, a: float, b: float) -> list[tuple[float, float]]:
    inside = [(s, r) for s, r in profile if a + 1e-6 < s < b - 1e-6]
    return [(a, _at(profile, a)), *inside, (b, _at(profile, b))]
