"""Whether the manifold comes off: nuts off, then the whole of it slides along its head studs past what stays.

Three ways are tried, as a mechanic would: the turbo unbolted and left where it is; the turbo unbolted and
taken away first; the turbo left on and taken along. The wastegate valve comes off in all of them.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from manifoldgen.access.fasteners import fastener
from manifoldgen.access.pack import blocks
from manifoldgen.access.results import Removal, StudAccess
from manifoldgen.access.scene import ENGINE, Index, Scene, nut, scene
from manifoldgen.access.studs import studs
from manifoldgen.geometry.vectors import Array, Vec, angle_between, array
from manifoldgen.manifold.model import Flange, Manifold, Stud
from manifoldgen.wording import fixed

_WAYS = ("stays", "first", "along")
_SIDEWAYS = 1.0  # degrees: a flange that moves off its mate by less slides along it
_SAME_WAY = 0.5  # degrees: words say an axis for a direction this close to it


def removal(
    m: Manifold, standing: Scene | None = None, *, access: Sequence[StudAccess] | None = None
) -> Removal:
    """The way off the engine.

    Parameters
    ----------
    standing : the manifold's scene, access : the answer of `studs`, where they are known already.
    """
    stands = standing or scene(m)
    found = studs(m, full=False, standing=stands) if access is None else access
    mine = [s for s in m.studs if s.flange == m.head.name]
    leaning = tuple(s for flange in m.flanges for s in not_parallel(m, flange))
    travel = max((_length(m, s) for s in mine if s.kind == "stud"), default=0.0)
    axis = array(mine[0].axis) if mine else array((0.0, 0.0, 1.0))
    best = _best(m, stands, axis, travel)
    locked = [s for s in leaning if s in {x.id for x in mine}]
    return Removal(
        head_flange_slides_off=best.free >= travel and not locked,
        nuts_come_off=all(s.comes_off for s in found),
        order=_order(m, best, axis, travel),
        travel_mm=travel,
        free_mm=best.free,
        blocked_by=best.blockers,
        missing_mm=tuple(travel - f for f in best.each),
        not_parallel=leaning,
        assumed=tuple(dict.fromkeys(name for s in m.studs for name in fastener(s, m.tables).assumed)),
    )


def _best(m: Manifold, stands: Scene, axis: Array, travel: float) -> _Way:
    """The first way that passes, else the one that gets farthest."""
    held = any(m.turbo.name in o.joined for o in m.obstacles)
    ways = []
    for turbo in _WAYS if held else _WAYS[:2]:  # a turbo without a body is nowhere in the way
        ways.append(_way(m, stands, axis, travel, turbo))
        if ways[-1].free >= travel:
            return ways[-1]
    return max(ways, key=lambda w: (w.free, not w.locked))


def not_parallel(m: Manifold, flange: Flange) -> tuple[str, ...]:
    """Studs of a flange that lean off its first one by more than the play of their hole allows.

    A stud of length l that leans by a stands l·tan a aside at its end; half the play of hole and thread is free.
    """
    mine = [s for s in m.studs if s.flange == flange.name and s.kind == "stud"]
    found = []
    for s in mine[1:]:
        lean = math.radians(angle_between(mine[0].axis, s.axis))
        play = max(s.hole - m.tables.thread(s.thread).diameter, 0.0) / 2
        if lean >= math.pi / 2 or _length(m, s) * math.tan(lean) > play + 1e-6:
            found.append(s.id)
    return tuple(found)


def _length(m: Manifold, stud: Stud) -> float:
    """From the flange's far face to the stud's end: how far the flange has to slide."""
    flange = next(f for f in m.flanges if f.name == stud.flange)
    return flange.thickness + fastener(stud, m.tables).tip


@dataclass(frozen=True)
class _Way:
    """What is done with the turbo (``stays``, ``first``, ``along``), how far it slides, and who stops it."""

    turbo: str
    free: float
    blockers: tuple[str, ...] = ()
    each: tuple[float, ...] = ()
    locked: bool = False


def _bolted(m: Manifold, flange: Flange) -> list[Stud]:
    return [s for s in m.studs if s.flange == flange.name]


def _way(m: Manifold, stands: Scene, axis: Array, travel: float, turbo: str) -> _Way:
    """How far the manifold slides in one of the ways."""
    if turbo == "stays":
        lock = _locked(m, axis)
        if lock:
            return _Way(turbo, 0.0, (lock,), (0.0,), locked=True)
    gate = m.wastegate_flange.name if m.wastegate_flange else ""
    bodies = {o.name for o in m.obstacles if m.turbo.name in o.joined}
    valve = {o.name for o in m.obstacles if gate and gate in o.joined}
    left = {o.name for o in m.obstacles} - valve - (set() if turbo == "stays" else bodies)
    if turbo == "first":
        free = _slid(m, stands, bodies, left=left, along=array(m.turbo.frame.z), travel=_turbo_travel(m))
        if free:
            return _Way(turbo, 0.0, tuple(free), tuple(0.0 for _ in free))
    nuts = {nut(s) for s in m.studs}
    parts = {*stands.groups} - {o.name for o in m.obstacles} - nuts - {ENGINE}
    if turbo == "along":
        parts |= bodies
    free = _slid(m, stands, parts, left=left, along=axis, travel=travel)
    order = sorted(free, key=lambda name: free[name])
    return _Way(turbo, min(free.values(), default=travel), tuple(order), tuple(free[n] for n in order))


def _locked(m: Manifold, axis: Array) -> str | None:
    """What holds the turbo flange while the head flange slides along `axis` and the turbo stays."""
    into = 90.0 - angle_between(axis, m.turbo.frame.z)
    if into > _SIDEWAYS:
        return "the turbo"
    fixed = [s for s in _bolted(m, m.turbo) if s.kind == "stud"]
    if fixed and angle_between(axis, -array(m.turbo.frame.z)) > _SIDEWAYS:
        return f"turbo studs {_span(fixed)}"
    return None


def _turbo_travel(m: Manifold) -> float:
    """How far the turbo has to go to be off its flange: the length of its studs, or clear of it."""
    lengths = [_length(m, s) for s in _bolted(m, m.turbo) if s.kind == "stud"]
    return max([m.turbo.gasket, *lengths])


def _slid(
    m: Manifold, stands: Scene, moving: set[str], *, left: set[str], along: Array, travel: float
) -> dict[str, float]:
    """Who of `left` stops the groups `moving` on their way, and after how much of it."""
    from manifoldgen.access import _slide

    count = len(stands.groups)
    moves = np.array([name in moving for name in stands.groups])
    stays = np.array([name in left and name not in moving for name in stands.groups])
    free = np.full(count, travel)
    rows, bounds, owner = _rows(stands, moves)
    spared = _spared(m, stands)
    points = np.concatenate([stands.points, np.zeros((1, 3))])
    ours = stays[stands.solid_group]
    still = [(stands.solids[ours], stands.bounds[ours], stands.solid_group[ours], points)]
    for s in stands.scans:
        if stays[s.group] and len(rows):
            met = s.within(*_swept(bounds, along, travel))
            still.append((met.rows, met.bounds, np.full(len(met.rows), s.group), met.corners.reshape(-1, 3)))
    for theirs in still:
        _slide.slide(rows, bounds, owner, points, *theirs, blocks(theirs[1]), along, spared, free)
    return {stands.words[g]: float(free[g]) for g in np.flatnonzero(free < travel)}


def _swept(balls: Array, along: Array, travel: float) -> tuple[Array, Array]:
    """The box that balls pass through on their way."""
    low, high = (balls[:, :3] - balls[:, 3:]).min(axis=0), (balls[:, :3] + balls[:, 3:]).max(axis=0)
    return np.minimum(low, low + travel * along), np.maximum(high, high + travel * along)


def _rows(stands: Scene, moves: Array) -> tuple[Array, Array, Index]:
    """What moves: balls and solids as rows with their bounds and groups."""
    from manifoldgen.access import _slide

    balls, solids = moves[stands.ball_group], moves[stands.solid_group]
    round_ = stands.balls[balls]
    return (
        np.concatenate([_slide.ball_rows(round_), stands.solids[solids]]),
        np.concatenate([round_, stands.bounds[solids]]),
        np.concatenate([stands.ball_group[balls], stands.solid_group[solids]]),
    )


def _spared(m: Manifold, stands: Scene) -> Array:
    """Pairs of groups that touch where they are joined: a body and the flange and tube that end on it."""
    made = np.zeros((len(stands.groups), len(stands.groups)), dtype=bool)
    ends = {m.turbo.name: m.outlet.name}
    if m.wastegate_flange and m.branches:
        ends[m.wastegate_flange.name] = m.branches[0].run.name
    for obstacle in m.obstacles:
        touching = {*obstacle.joined, *(ends[j] for j in obstacle.joined if j in ends)}
        last = {p.part: p.id for p in m.pieces}  # the piece that ends the run
        numbers = [stands.number(last.get(name, name)) for name in touching]
        body = stands.number(obstacle.name)
        for k in numbers:
            if k >= 0:
                made[k, body] = made[body, k] = True
    return made


def _order(m: Manifold, way: _Way, axis: Array, travel: float) -> tuple[str, ...]:
    """What to undo, one after another."""
    steps = []
    if way.turbo != "along":
        steps += _undo(m, m.turbo, "turbo")
        steps += ["take the turbo away"] if way.turbo == "first" else []
    if m.wastegate_flange:
        steps += _undo(m, m.wastegate_flange, "wastegate")
    steps += _undo(m, m.head, "head")
    with_turbo = " with the turbo" if way.turbo == "along" else ""
    return (*steps, f"slide off along {_said(axis)} {travel:.0f} mm{with_turbo}")


def _undo(m: Manifold, flange: Flange, name: str) -> list[str]:
    fixed = _bolted(m, flange)
    if not fixed:
        return [f"{name} clamp"] if flange.vband else []
    return [f"{name} {'nuts' if fixed[0].kind == 'stud' else 'bolts'} {_span(fixed)}"]


def _span(fixed: Sequence[Stud]) -> str:
    return fixed[0].id if len(fixed) == 1 else f"{fixed[0].id}-{fixed[-1].id}"


def _said(axis: Array) -> str:
    """A direction in words: an axis of the bench, or its numbers."""
    for k, name in enumerate("xyz"):
        for sign, word in ((1.0, "+"), (-1.0, "-")):
            ahead: Vec = (sign * (k == 0), sign * (k == 1), sign * (k == 2))
            if angle_between(axis, ahead) < _SAME_WAY:
                return word + name
    return "[" + ", ".join(fixed(float(x), 2) for x in axis) + "]"
