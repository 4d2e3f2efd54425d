"""Readings as arithmetic: what each should read for many states of the net at once, and how it would change.

A state is the turbine face's axes and the free points. Its unknowns are the face's shift (3, mm), its turn
about its own centre (3, radians about the bench axes) and each free point (3, mm).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from manifoldgen.geometry.pose import Frame
from manifoldgen.geometry.vectors import Array, array, vec
from manifoldgen.manifold.survey.net import Measured, Net, axis

TINY = 1e-9
Index = NDArray[np.intp]


@dataclass(frozen=True)
class States:
    """S states: at (S, 3), axes (S, 3, 3) with columns x, y, z, points (S, k, 3)."""

    at: Array
    axes: Array
    points: Array

    def __len__(self) -> int:
        return len(self.at)

    def take(self, which: Index | slice | Sequence[int]) -> States:
        """Some of the states."""
        return States(self.at[which], self.axes[which], self.points[which])

    def moved(self, step: Array) -> States:
        """Every state after its step (S, 6 + 3k)."""
        turned = turns(step[:, 3:6]) @ self.axes
        return States(self.at + step[:, :3], turned, self.points + step[:, 6:].reshape(self.points.shape))

    def to(self, other: States) -> Array:
        """The step from the first of these states to the first of others, (6 + 3k,)."""
        from scipy.spatial.transform import Rotation

        turn = Rotation.from_matrix(other.axes[0] @ self.axes[0].T).as_rotvec()
        return np.concatenate([other.at[0] - self.at[0], turn, (other.points[0] - self.points[0]).ravel()])

    def frame(self, i: int = 0) -> Frame:
        """The turbine face of one state."""
        x, y, z = self.axes[i].T
        return Frame(vec(self.at[i]), vec(x), vec(y), vec(z))


def joined(*states: States) -> States:
    """All states in one."""
    return States(*(np.concatenate([getattr(s, f) for s in states]) for f in ("at", "axes", "points")))


def turns(rotation: Array) -> Array:
    """Rotation vectors (S, 3) as matrices (S, 3, 3) (Rodrigues)."""
    angle = np.linalg.norm(rotation, axis=-1)[:, None, None]
    k = np.zeros((*rotation.shape, 3))
    x, y, z = rotation.T
    k[:, 0, 1], k[:, 0, 2], k[:, 1, 2] = -z, y, -x
    k[:, 1, 0], k[:, 2, 0], k[:, 2, 1] = z, -y, x
    sine, cosine = np.sinc(angle / np.pi), 0.5 * np.sinc(angle / (2 * np.pi)) ** 2
    whole: Array = np.eye(3) + sine * k + cosine * (k @ k)
    return whole


def cross(a: Array, b: Array) -> Array:
    """Cross products of many small rows (numpy's own spends its time on checking axes)."""
    (ax, ay, az), (bx, by, bz) = np.moveaxis(a, -1, 0), np.moveaxis(b, -1, 0)
    return np.stack([ay * bz - az * by, az * bx - ax * bz, ax * by - ay * bx], axis=-1)


@dataclass(frozen=True)
class Ends:
    """One end of every distance: const + on_turbo · (at + axes · local) + point number `index`."""

    const: Array
    on_turbo: Array
    local: Array
    index: Index

    @classmethod
    def of(cls, net: Net, names: Sequence[str]) -> Ends:
        """The ends with these names."""
        zero = (0.0, 0.0)
        return cls(
            array([net.fixed.get(n, (0.0, 0.0, 0.0)) for n in names]).reshape(-1, 3),
            array([n in net.holes for n in names]),
            array([(*net.holes.get(n, zero), 0.0) for n in names]).reshape(-1, 3),
            np.array([net.free.index(n) if n in net.free else len(net.free) for n in names], dtype=np.intp),
        )

    def arms(self, s: States) -> Array:
        """From the turbine face's centre to the end (0 for an end that is not on it), (S, m, 3)."""
        return self.local @ np.swapaxes(s.axes, 1, 2)

    def where(self, s: States) -> Array:
        """The ends, (S, m, 3)."""
        points = np.concatenate([s.points, np.zeros((len(s), 1, 3))], axis=1)
        placed: Array = (
            self.const + self.on_turbo[:, None] * s.at[:, None] + self.arms(s) + points[:, self.index]
        )
        return placed


@dataclass(frozen=True)
class Rows:
    """Readings made ready: distances first, then angles, in the order they were given."""

    readings: tuple[Measured, ...]
    a: Ends
    b: Ends
    axes: Array
    value: Array
    sigma: Array
    turbo_open: bool

    @classmethod
    def of(cls, net: Net, readings: Sequence[Measured]) -> Rows:
        """The rows of these readings in this net."""
        distances = [r for r in readings if r.unit == "mm"]
        angles = [r for r in readings if r.unit == "deg"]
        ordered = (*distances, *angles)
        return cls(
            ordered,
            Ends.of(net, [r.a for r in distances]),
            Ends.of(net, [r.b for r in distances]),
            array([axis(r.b) for r in angles]).reshape(-1, 3),
            array([r.value for r in ordered]),
            array([r.sigma for r in ordered]),
            net.turbo_open,
        )

    def shrunk(self) -> Rows:
        """The same distances with all bolt holes in the face's centre, and no angles."""
        m = len(self.a.const)
        a, b = (replace(e, local=np.zeros_like(e.local)) for e in (self.a, self.b))
        return Rows(self.readings[:m], a, b, self.axes[:0], self.value[:m], self.sigma[:m], self.turbo_open)

    def evaluate(self, s: States) -> tuple[Array, Array]:
        """(computed - read) / sigma, (S, m), and its derivative by the unknowns, (S, m, 6 + 3k)."""
        off, slope = [], []
        for e, j in (self._distances(s), self._angles(s)):
            off.append(e)
            slope.append(j)
        found = (np.concatenate(off, axis=1) - self.value) / self.sigma
        jacobian = np.concatenate(slope, axis=1) / self.sigma[:, None]
        if not self.turbo_open:
            jacobian[:, :, :6] = 0.0
        return found, jacobian

    def _distances(self, s: States) -> tuple[Array, Array]:
        k = s.points.shape[1]
        between = self.a.where(s) - self.b.where(s)
        length = np.linalg.norm(between, axis=-1)
        e = between / np.maximum(length, TINY)[..., None]
        slope = np.zeros((*length.shape, 6 + 3 * (k + 1)))
        rows = np.arange(length.shape[1])
        for end, sign in ((self.a, 1.0), (self.b, -1.0)):
            slope[..., :3] += sign * end.on_turbo[:, None] * e
            slope[..., 3:6] += sign * cross(end.arms(s), e)
            for c in range(3):
                slope[:, rows, 6 + 3 * end.index + c] += sign * e[..., c]
        return length, slope[..., : 6 + 3 * k]

    def _angles(self, s: States) -> tuple[Array, Array]:
        facing = s.axes[:, None, :, 2]
        square = cross(facing, self.axes[None])
        sine = np.linalg.norm(square, axis=-1)
        angle = np.degrees(np.arctan2(sine, (facing * self.axes).sum(axis=-1)))
        slope = np.zeros((*sine.shape, 6 + 3 * s.points.shape[1]))
        slope[..., 3:6] = -np.degrees(square / np.maximum(sine, TINY)[..., None])
        return angle, slope
