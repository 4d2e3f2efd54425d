"""The rows that other rooms read by name, as frozen records (mm, degrees, kg/m³, °C)."""

from __future__ import annotations

from dataclasses import dataclass

from manifoldgen.catalogue.tables import Confidence


@dataclass(frozen=True)
class Elbow:
    """A bought butt-weld elbow.

    kind : ``90 long``, ``90 short`` or ``45 long``.  clr : of the 90's arc; None for a 45, which is no plain
    arc of the 90's radius: only its centre to end is fixed.
    """

    nps: str
    kind: str
    od: float
    angle: float
    clr: float | None
    centre_to_end: float
    src: tuple[str, ...]
    conf: Confidence


@dataclass(frozen=True)
class Pipe:
    """A pipe size and its wall by schedule (``5S``, ``10S``, ``40S``)."""

    nps: str
    od: float
    walls: tuple[tuple[str, float], ...]
    src: tuple[str, ...]
    conf: Confidence

    def wall(self, schedule: str) -> float:
        """Wall of one schedule, mm."""
        return dict(self.walls)[schedule.upper()]


@dataclass(frozen=True)
class Thread:
    """A thread: its name as it stands in every list (``M8``, ``3/8-16 UNC``), nominal diameter and pitch."""

    name: str
    diameter: float
    pitch: float


@dataclass(frozen=True)
class Nut:
    """A nut.

    across_flats, across_corners, height.  flange : diameter of its flange, or None.  rim : the flange's thickness.
    """

    kind: str
    thread: str
    across_flats: float
    across_corners: float
    height: float
    flange: float | None
    rim: float
    src: tuple[str, ...]
    conf: Confidence

    @property
    def diameter(self) -> float:
        """Of the circle that holds all of it."""
        return max(self.across_corners, self.flange or 0.0)


@dataclass(frozen=True)
class Head:
    """A bolt's head.  height; across_flats of a hexagon head, or `key` and diameter of a socket head."""

    kind: str
    thread: str
    height: float
    diameter: float
    across_flats: float | None
    key: float | None
    src: tuple[str, ...]
    conf: Confidence


@dataclass(frozen=True)
class Washer:
    """A plain washer."""

    thread: str
    bore: float
    od: float
    thickness: float
    src: tuple[str, ...]
    conf: Confidence


@dataclass(frozen=True)
class Curve:
    """A value over temperature, linear between its points and constant beyond them; °C."""

    t: tuple[float, ...]
    v: tuple[float, ...]
    src: tuple[str, ...]
    conf: Confidence

    def __call__(self, t: float) -> float:
        """The value at `t` °C (the end value outside the table)."""
        if t <= self.t[0]:
            return self.v[0]
        for (t0, v0), (t1, v1) in zip(
            zip(self.t, self.v, strict=True), zip(self.t[1:], self.v[1:], strict=True), strict=False
        ):
            if t <= t1:
                return v0 + (v1 - v0) * (t - t0) / (t1 - t0)
        return self.v[-1]


@dataclass(frozen=True)
class Material:
    """An alloy.

    density : kg/m³.  alpha : mean expansion from about 20 °C, 1e-6/K.  modulus : GPa.  yield_mpa,
    rupture_mpa (1000 h) : MPa, None where there is no table.  t_max_air : °C, continuous.
    """

    id: str
    density: float
    alpha: Curve
    modulus: Curve
    yield_mpa: Curve | None
    rupture_mpa: Curve | None
    t_max_air: float
    src: tuple[str, ...]
    conf: Confidence
