"""Every place where the readings fit: least squares from many starts at once, mirror images among them."""

from __future__ import annotations

import itertools
from collections.abc import Sequence

import numpy as np

from manifoldgen.geometry.vectors import Array, array
from manifoldgen.manifold.survey.net import Net
from manifoldgen.manifold.survey.rows import Index, Rows, States, joined, turns

STEPS = 60
SPREADS = 24  # starting sets of points, half of them in front of the flange
KEPT = 4  # of those, once the points are roughly found
FINISHED = 24  # full starts that are worked to the end
SAME_MM, SAME_DEG = 1.0, 0.5  # states nearer than this are one
DONE = 1e-9  # share of the cost that a step still gains


def relax(
    rows: Rows, states: States, steps: int = STEPS, *, use: Array | None = None
) -> tuple[States, Array]:
    """Least squares by Levenberg and Marquardt's damped steps, every start at once; states and costs (S,).

    The cost is the sum of squares of residual over standard deviation. Where readings leave something open,
    it stays near where it started.

    use : by start and reading, (S, m), 1 where the reading counts for that start and 0 where not; all count if None.
    """

    def evaluate(at: States) -> tuple[Array, Array]:
        off, slope = rows.evaluate(at)
        return (off, slope) if use is None else (off * use, slope * use[..., None])

    lam = np.full(len(states), 1e-3)
    off, slope = evaluate(states)
    cost = (off**2).sum(axis=1)
    for _ in range(steps):
        normal = np.swapaxes(slope, 1, 2) @ slope
        diagonal = np.einsum("sii->si", normal).copy()
        floor = 1e-9 * diagonal.max(axis=1, keepdims=True, initial=0.0) + 1e-12
        np.einsum("sii->si", normal)[...] += lam[:, None] * diagonal + floor
        step = array(-np.linalg.solve(normal, (np.swapaxes(slope, 1, 2) @ off[..., None]))[..., 0])
        trial = states.moved(step)
        off_, slope_ = evaluate(trial)
        cost_ = (off_**2).sum(axis=1)
        better = cost_ < cost
        gain = np.where(better, cost - cost_, 0.0)
        pick = better[:, None]
        states = States(
            np.where(pick, trial.at, states.at),
            np.where(pick[..., None], trial.axes, states.axes),
            np.where(pick[..., None], trial.points, states.points),
        )
        off, slope = np.where(pick, off_, off), np.where(pick[..., None], slope_, slope)
        cost = np.where(better, cost_, cost)
        lam = np.clip(np.where(better, lam / 5, lam * 4), 1e-9, 1e6)
        if np.all((gain <= DONE * cost + 1e-16) & (better | (lam > 1e3))):
            break
    return states, cost


def search(net: Net, rows: Rows, near: States) -> tuple[States, Array]:
    """Where the readings fit, each place once, the best first: states and costs.

    near : a state to start from as well.
    """
    spread, cost = relax(rows.shrunk(), joined(near, _spread(net)), 30)
    spread = spread.take(np.argsort(cost, kind="stable")[:KEPT])
    spread = joined(near, spread, mirrored(net, spread))
    starts = joined(near, _turned(spread) if net.turbo_open else spread)
    rough, cost = relax(rows, starts, 12)
    states, cost = relax(rows, rough.take(np.argsort(cost, kind="stable")[:FINISHED]))
    states, cost = distinct(states, cost)
    flipped, cost_ = relax(rows, _flipped(net, states.take(slice(0, 1))))
    return distinct(joined(states, flipped), np.concatenate([cost, cost_]))


def start(net: Net) -> States:
    """The guess, with every free point amid the known ones, in front of the flange."""
    middle = array(list(net.fixed.values())).mean(axis=0) + array((0.0, 0.0, 100.0))
    points = np.tile(middle, (1, len(net.free), 1)).reshape(1, -1, 3)
    return States(array([net.guess.at]), net.guess.matrix[None], points)


def _spread(net: Net) -> States:
    """Faces and points strewn as far as the tape reached: in front of the flange, then as mirror images."""
    rng = np.random.default_rng(0)
    reach = max([r.value for r in net.readings if r.unit == "mm"], default=300.0)
    middle = array(list(net.fixed.values())).mean(axis=0)
    k = len(net.free)
    out = rng.uniform(-1.0, 1.0, (SPREADS, k + 1, 3)) * reach
    out[..., 2] = np.abs(out[..., 2]) * np.where(np.arange(SPREADS) % 2, -1.0, 1.0)[:, None]
    out += middle
    axes = np.tile(net.guess.matrix, (SPREADS, 1, 1))
    at = out[:, 0] if net.turbo_open else np.tile(array(net.guess.at), (SPREADS, 1))
    return States(at, axes, out[:, 1:])


def _turned(states: States) -> States:
    """Each state with its face turned every way that a cube can lie, a little off the axes."""
    signs = itertools.product((1.0, -1.0), repeat=3)
    orders = list(itertools.permutations(range(3)))
    cubes = [np.eye(3)[list(p)] * s for s in signs for p in orders]
    turned = array([c for c in cubes if np.linalg.det(c) > 0]) @ turns(array([[0.11, 0.07, 0.05]]))
    n = len(turned)
    return States(
        np.repeat(states.at, n, axis=0),
        np.tile(turned, (len(states), 1, 1)),
        np.repeat(states.points, n, axis=0),
    )


def _plane(points: Array) -> tuple[Array, Array]:
    """Middle and normal of the plane nearest to the points."""
    middle = points.mean(axis=0)
    return middle, np.linalg.svd(points - middle)[2][2]


def _mirror(states: States, middle: Array, normal: Array, turbo: bool, which: Index) -> States:  # noqa: FBT001
    """The states with the face and the points `which` on the other side of a plane."""
    flip = np.eye(3) - 2 * np.outer(normal, normal)
    points = states.points.copy()
    points[:, which] = (points[:, which] - middle) @ flip + middle
    if not turbo:
        return States(states.at, states.axes, points)
    axes = flip @ states.axes
    axes[..., 2] *= -1.0  # the mirror image of a right-handed set of axes is left-handed
    return States((states.at - middle) @ flip + middle, axes, points)


def mirrored(net: Net, states: States) -> States:
    """Everything that is to be found, on the other side of the known points' plane."""
    every = np.arange(len(net.free))
    return _mirror(states, *_plane(array(list(net.fixed.values()))), net.turbo_open, every)


def _flipped(net: Net, state: States) -> States:
    """Mirror images of the whole, and of the face and of each point alone, through what they are measured from."""
    images = [mirrored(net, state)]
    at = dict(net.fixed) | dict(zip(net.free, state.points[0], strict=True))
    at |= {name: state.frame().out((*spot, 0.0)) for name, spot in net.holes.items()}
    bodies: list[set[str]] = [{name} for name in net.free]
    for i, body in enumerate([*bodies, set(net.holes)] if net.turbo_open else bodies):
        partners = {end for r in net.readings if r.unit == "mm" for end in (r.a, r.b) if {r.a, r.b} & body}
        known = array([at[name] for name in sorted(partners - body)]).reshape(-1, 3)
        if len(known) >= 3:
            is_turbo = i == len(bodies)
            images.append(
                _mirror(state, *_plane(known), is_turbo, np.array([] if is_turbo else [i], dtype=np.intp))
            )
    return joined(*images)


def distinct(states: States, cost: Array) -> tuple[States, Array]:
    """The states by cost, each place once."""
    kept: list[int] = []
    every = range(states.points.shape[1])
    for i in np.argsort(cost, kind="stable"):
        if all(apart(states.take([int(i)]), states.take([j]), every) for j in kept):
            kept.append(int(i))
    return states.take(kept), cost[kept]


def apart(a: States, b: States, points: Sequence[int]) -> bool:
    """Whether two states (one each) are two places: of the face, or of one of these points."""
    return pose_apart(a, b) or bool(point_shift(a, b)[list(points)].max(initial=0.0) > SAME_MM)


def pose_apart(a: States, b: States) -> bool:
    """Whether the face stands in two places."""
    turn = np.degrees(np.linalg.norm(a.axes - b.axes) / np.sqrt(2))
    return bool(np.linalg.norm(a.at - b.at) > SAME_MM or turn > SAME_DEG)


def point_shift(a: States, b: States) -> Array:
    """How far each free point is from one state to the other, mm."""
    shift: Array = np.linalg.norm(a.points - b.points, axis=-1)[0]
    return shift
