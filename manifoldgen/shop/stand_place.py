"""Where the bench stand's post stands and where it meets the plate that holds the turbo flange.

A flange that lies nearly level has its post beside it, as near as it keeps clear of every tube; its top is cut by
the plate's plane. One that stands more upright has its post behind the plate, where the turbo will be.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from manifoldgen.errors import SolidError
from manifoldgen.geometry import contour
from manifoldgen.geometry.pose import Frame
from manifoldgen.geometry.vectors import Array, array, unit, vec
from manifoldgen.manifold.model import Flange, Manifold

PLATE = 10.0  # mm
SIDE = 44.0  # mm: the post, square
FOOT = 130.0  # mm: its foot, square
FOOT_THICK = 8.0
CLEAR = 20.0  # mm between the post and every tube: room for a hand's fingers
FARTHEST = 260.0  # mm from the flange's middle
STEEP = math.cos(math.radians(60.0))  # from here on the post stands behind the plate
BEYOND = 28.0  # mm that an upright plate is longer than its flange at either end, for the screws
_UP = (0.0, 0.0, 1.0)


@dataclass(frozen=True, eq=False)
class PostPlace:
    """Where the post stands and meets the plate.

    foot : axes of the post, origin in its middle on the bench, z up.  depth : of the post along foot.x, mm (across
    it is `SIDE`).  top : its height.  at, normal : the plane of the plate's face, from the post to the plate; it cuts
    the post above the height `trim`.
    contact, screws : (4, 3) corners of the post on that face, screws through the plate; bench frame.
    """

    foot: Frame
    depth: float
    top: float
    at: Array
    normal: Array
    trim: float
    contact: Array
    screws: Array


def placed(m: Manifold) -> PostPlace:
    """The stand's place.

    Raises SolidError where nothing can hold the flange, nothing within reach is clear of every tube, or the flange is too
    near to the bench.
    """
    if not m.turbo.holes and m.turbo.vband is None:
        raise SolidError(
            "stand", "the turbo flange has no bolt holes to hold it by; clamp it to an angle plate"
        )
    n = array(m.turbo.frame.z)
    mating = array(m.turbo.frame.at) + m.turbo.thickness * n
    return _behind(m, mating, n) if abs(float(n[2])) < STEEP else _beside(m, mating, n)


def _beside(m: Manifold, mating: Array, n: Array) -> PostPlace:
    # facing up, the plate lies on top and the post comes from below; facing down, the post stands under the plate
    rising = float(n[2]) > 0
    at, normal = (mating, n) if rising else (mating + PLATE * n, -n)
    points, radii = _things(m)
    longest = 1.1 * max(m.workshop.room[:2]) - SIDE
    half = SIDE / 2 * math.sqrt(2.0)
    for far in np.arange(40.0 if rising else 0.0, min(FARTHEST, longest), 5.0):
        for turn in np.radians(np.arange(0.0, 360.0, 5.0)):
            x, y = float(mating[0] + far * math.cos(turn)), float(mating[1] + far * math.sin(turn))
            z = _height(at, normal, x, y)
            off = np.hypot(points[:, 0] - x, points[:, 1] - y) - radii
            below, low = points[:, 2] - radii < z + half, points[:, 2] - radii < FOOT_THICK + 2.0
            wide = FOOT / 2 * math.sqrt(2.0)
            if z > 40.0 and (off[below] > CLEAR + half).all() and (off[low] > 4.0 + wide).all():
                foot = Frame((x, y, 0.0), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), _UP)
                spots = [foot.out((a * SIDE / 2, b * SIDE / 2, 0.0)) for a, b in _AROUND]
                contact = np.array([(*p[:2], _height(at, normal, float(p[0]), float(p[1]))) for p in spots])
                middle = contact.mean(axis=0)
                top = float(contact[:, 2].max()) + 5.0
                return PostPlace(
                    foot, SIDE, top, at, normal, 0.0, contact, middle + 0.62 * (contact - middle)
                )
    raise SolidError(
        "stand",
        f"no place within {FARTHEST:.0f} mm of the turbo flange is {CLEAR:.0f} mm clear of every tube",
    )


_AROUND = ((-1, -1), (1, -1), (1, 1), (-1, 1))


def _behind(m: Manifold, mating: Array, n: Array) -> PostPlace:
    flat = unit(n * (1.0, 1.0, 0.0))
    across = np.cross(_UP, flat)
    rise = unit(np.cross(n, across))
    rim = _rim(m.turbo) - mating
    low, high = float((rim @ rise).min()) - BEYOND, float((rim @ rise).max()) + BEYOND
    at = mating + PLATE * n
    contact = np.array(
        [at + a * SIDE / 2 * across + h * rise for a, h in ((-1, low), (1, low), (1, high), (-1, high))]
    )
    inset = BEYOND / 2
    screws = np.array(
        [at + a * SIDE / 3 * across + h * rise for a, h in ((-1, low + inset), (1, low + inset), (1, high - inset), (-1, high - inset))]
    )  # fmt: skip
    trim = float(contact[:, 2].min()) - 8.0
    if trim < FOOT_THICK + 20.0:
        raise SolidError(
            "stand",
            f"the turbo flange's lower edge would be {trim:.0f} mm over the bench, a printed post needs {FOOT_THICK + 20:.0f}; "
            "hold it on an angle plate",
        )
    fronts = (contact - mating) @ flat
    near, far = float(fronts.min()), float(fronts.max()) + SIDE
    middle = mating + (near + far) / 2 * flat
    foot = Frame((float(middle[0]), float(middle[1]), 0.0), vec(flat), vec(across), _UP)
    points, radii = _things(m)
    local = np.abs(foot.into(points)[:, :2])
    below = points[:, 2] - radii < trim
    for half, room, counted in (
        ((far - near) / 2, CLEAR, below),
        ((far - near + FOOT - SIDE) / 2, 4.0, points[:, 2] - radii < FOOT_THICK + 2.0),
    ):
        wide = SIDE / 2 if room == CLEAR else FOOT / 2
        off = np.hypot(*np.maximum(local - (half, wide), 0.0).T) - radii
        if not (off[counted] > room).all():
            raise SolidError(
                "stand", "there is no room for a post behind the turbo flange; hold it on an angle plate"
            )
    return PostPlace(foot, far - near, float(contact[:, 2].max()), at, -n, trim, contact, screws)


def _rim(flange: Flange) -> Array:
    """The flange's outline on its mating face, bench frame."""
    ring = np.asarray(contour.points(flange.rim, 0.1))
    drawn: Array = flange.frame.out(np.column_stack([ring, np.full(len(ring), flange.thickness)]))
    return drawn


def _height(at: Array, normal: Array, x: float, y: float) -> float:
    """Where the plane stands over a point of the bench, mm."""
    return float(at[2] - (normal[0] * (x - at[0]) + normal[1] * (y - at[1])) / normal[2])


def _things(m: Manifold) -> tuple[Array, Array]:
    """Points along everything the post must keep clear of, with their radii: tubes, collectors, flanges."""
    made: list[tuple[Array, float]] = []
    for run in m.runs:
        if run.path is not None:
            stations = np.arange(0.0, run.path.length + 4.0, 4.0)
            made += [(run.path.point(float(s)), run.section.radius) for s in stations]
    for c in m.collectors:
        depths = np.linspace(0.0, c.length, 20)
        made += [(c.frame.out((0.0, 0.0, float(d))), c.ring_radius + c.section.radius) for d in depths]
    for flange in m.flanges:
        x0, y0, x1, y1 = flange.rim.bounds
        spread = [np.append(np.arange(a, b, 8.0), b) for a, b in ((x0, x1), (y0, y1))]
        grid = np.stack(np.meshgrid(*spread, (0.0, flange.thickness)), axis=-1).reshape(-1, 3)
        made += [(p, 2.0) for p in flange.frame.out(grid)]
    return np.array([at for at, _ in made]), np.array([radius for _, radius in made])
