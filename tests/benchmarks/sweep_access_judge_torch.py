"""An independent judge of torch access: 30 random manifolds, their metal as meshes, torches as meshes.

    python -m tests.benchmarks.sweep_access_judge_torch [scenes] [seed]

1. Poses: every pose that is said to reach a place keeps the margin less 0.1 mm from everything (0.3 mm less
   0.1 from the pieces it joins), in place and, from the merge side, with the collector still open.
2. Blocked: of 50 places blocked for every torch of the catalogue even at margin 0, none is free for one of
   5000 random poses (travel, work, roll, stick-out within the stretch tier, any torch).
"""

from __future__ import annotations

import math
import sys
import time
from dataclasses import replace

import numpy as np

from manifoldgen.access import reach as reaching
from manifoldgen.access import torch as torches
from manifoldgen.access.torch import TorchPose
from manifoldgen.manifold.model import Manifold
from manifoldgen.pieces import split
from tests.access import metal
from tests.layouts import random_manifold

SLACK = 0.1
PER_JOINT = 3
POSES = 5000
WANTED = 50


def clear_of(solids, parts, hosts, margin) -> list[str]:
    """What a pose comes too near to."""
    told = []
    for name, solid in solids.items():
        asked = min(reaching.HOST_MARGIN, margin) if name in hosts else margin
        found = metal.gap(parts, solid, margin + 1)
        if found < asked - SLACK:
            told.append(f"{name} {found:.3f} < {asked}")
    return told


def judge_poses(m: Manifold, rng, torch) -> tuple[int, list[str]]:
    """Poses looked at, and what they run into."""
    solids = metal.metal(m)
    on = reaching.bench_of(m)
    seen, wrong = 0, []
    for name, reach in reaching.reaches(m, torch, on).items():
        for side in reach.sides:
            places = np.flatnonzero(side.first[:, 0] >= 0)
            for k in rng.permutation(places)[:PER_JOINT]:
                parts = [metal.shape(s) for s in reaching.shapes_of(reach, side, int(k))]
                seen += 1
                wrong += [
                    f"{name} place {k}: {t}"
                    for t in clear_of(solids, parts, side.weld.hosts, m.limits.torch_margin)
                ]
    return seen, wrong


def judge_merge_side(m: Manifold, rng, torch) -> tuple[int, list[str]]:
    """The same for the inner seams before lid and cone are on: through the open bores."""
    late = {p.id for p in m.pieces if p.part in ("collector", "outlet", "wastegate branch")}
    bare = replace(m, pieces=tuple(p for p in m.pieces if p.id not in late))
    on = replace_bench(reaching.bench_of(m), {p.id for p in bare.pieces} | {m.head.name})
    seen, wrong = 0, []
    wanted = [j.id for j in m.joints if j.kind in ("inner seam", "star")]
    if not wanted:
        return 0, []
    c = m.collectors[0]
    walls = metal.hollow(c)
    solids = {k: v for k, v in metal.metal(m).items() if k in on.names}
    inlets = {p.id for p in m.pieces if p.inlet}
    for name, reach in reaching.reaches(m, torch, on, wanted).items():
        side = next(s for s in reach.sides if s.weld.side == "merge side")
        for k in rng.permutation(np.flatnonzero(side.first[:, 0] >= 0))[:PER_JOINT]:
            parts = [metal.shape(s) for s in reaching.shapes_of(reach, side, int(k))]
            seen += 1
            rest = {n: s for n, s in solids.items() if n not in inlets}
            told = clear_of({**rest, "inlets": walls}, parts, {"inlets"}, m.limits.torch_margin)
            wrong += [f"{name} from the merge side, place {k}: {t}" for t in told]
    return seen, wrong


def replace_bench(on: reaching.Bench, keep: set[str]) -> reaching.Bench:
    """The bench with only some groups on it."""
    held = np.array([n in keep for n in on.names])
    number = np.cumsum(held) - 1
    balls, solids = held[on.ball_group], held[on.solid_group]
    return replace(
        on,
        names=tuple(n for n in on.names if n in keep),
        words=tuple(w for n, w in zip(on.names, on.words, strict=True) if n in keep),
        balls=on.balls[balls],
        ball_group=number[on.ball_group[balls]],
        solids=on.solids[solids],
        bounds=on.bounds[solids],
        solid_group=number[on.solid_group[solids]],
    )


def centres(m: Manifold) -> np.ndarray:
    """Points on every centreline 1 mm apart with the tube's radius, none within a radius of a run's end."""
    rows = []
    for run in m.runs:
        r = run.section.radius
        s = np.arange(r, run.path.length - r, 1.0)
        rows += [(*run.path.point(x), r) for x in s]
    for c in m.collectors:
        leg = c.merge_depth / math.cos(math.radians(c.half_angle))
        if c.kind == "merge":
            rows += [
                (*(np.array(p.at) + x * np.array(p.direction)), c.section.radius)
                for p in c.inlets
                for x in np.arange(-c.section.radius, leg - c.section.radius, 1.0)
            ]
    return np.array(rows)


def blocked_places(m: Manifold, all_torches) -> list[tuple[str, int]]:
    """Places of one-sided welds out of every torch's reach, at margin 0 too, for the torch itself."""
    bare = replace(m, limits=replace(m.limits, torch_margin=0.0))
    on = reaching.bench_of(m)
    every = on.everything
    left: dict[str, np.ndarray] = {}
    for torch in all_torches:
        todo = [name for name, flags in left.items() if flags.any()] if left else ()
        if left and not todo:
            break
        for name, reach in reaching.reaches(bare, torch, on, todo).items():
            if len(reach.sides) > 1:
                continue
            stuck = np.array([not any(s & every == 0 for s in sets) for sets in reach.sides[0].torch[-1]])
            left[name] = left.get(name, np.ones(len(stuck), bool)) & stuck
    return [(name, int(k)) for name, flags in left.items() for k in np.flatnonzero(flags)]


def frustum(rho, z, low, high):
    """Distance of points to a frustum (0 inside), from its outline as three edges; ends as (height, radius)."""
    (a, ra), (b, rb) = low, high
    best = np.full(rho.shape, np.inf)
    for (x0, y0), (x1, y1) in (((0.0, a), (ra, a)), ((ra, a), (rb, b)), ((rb, b), (0.0, b))):
        ex, ey = x1 - x0, y1 - y0
        t = np.clip(((rho - x0) * ex + (z - y0) * ey) / (ex * ex + ey * ey), 0, 1)
        best = np.minimum(best, np.hypot(rho - x0 - t * ex, z - y0 - t * ey))
    inside = (z >= a) & (z <= b) & (rho <= ra + (rb - ra) * (z - a) / (b - a))
    return np.where(inside, 0.0, best)


def free_poses(m: Manifold, place, all_torches, rng, metals) -> list[tuple[str, TorchPose]]:
    """Random poses that overlap nothing."""
    arc = torches.arc_length(m.tables)
    (p, tau, b), (solids, points) = place, metals
    tip = p + arc * b
    near = points[np.linalg.norm(points[:, :3] - tip, axis=1) < 300]
    across = np.cross(tau, b)
    found = []
    for torch in all_torches:
        n = POSES // len(all_torches) + 1
        travel, work = rng.uniform(-60, 60, n), rng.uniform(-45, 45, n)
        roll, stick = rng.uniform(0, 360, n), rng.uniform(0, torch.stick_out[-1], n)
        axis = b + np.tan(np.radians(travel))[:, None] * tau + np.tan(np.radians(work))[:, None] * across
        axis /= np.linalg.norm(axis, axis=1, keepdims=True)
        v = near[:, :3] - tip
        z = axis @ v.T
        rho = np.sqrt(np.maximum((v * v).sum(1) - z * z, 0))
        s1 = stick + torch.cup[2]
        s2, s3 = s1 + torch.head[1], s1 + torch.head[1] + torch.cap[1]
        gap = np.minimum(
            np.minimum(
                frustum(rho, z, (stick[:, None], torch.cup[0]), (s1[:, None], torch.cup[1])),
                frustum(rho, z, (s1[:, None], torch.head[0]), (s2[:, None], torch.head[0])),
            ),
            frustum(rho, z, (s2[:, None], torch.cap[0]), (s3[:, None], torch.cap[0])),
        )
        ok = (gap - near[:, 3] > 0).all(axis=1)
        for i in np.flatnonzero(ok):
            pose = TorchPose(float(travel[i]), float(work[i]), float(roll[i]), float(stick[i]))
            parts = torches.placed(torch, (p, tau, b), pose, arc)
            handle = parts[3]
            h0, h1 = np.array(handle.start), np.array(handle.end)
            u = h1 - h0
            t = np.clip((near[:, :3] - h0) @ u / (u @ u), 0, 1)
            if (np.linalg.norm(near[:, :3] - h0 - t[:, None] * u, axis=1) - handle.radius < near[:, 3]).any():
                continue
            meshes = [metal.shape(s) for s in parts]
            if all(metal.gap(meshes, solid, 1.0) > 1e-6 for solid in solids.values()):
                found.append((torch.name, pose))
    return found


def main(scenes: int = 30, seed: int = 1) -> int:
    """Judge; the number of faults."""
    print(f"seed {seed}, {scenes} scenes")
    faults = seen = tried = 0
    began = time.perf_counter()
    for scene in range(scenes):
        rng = np.random.default_rng([seed, scene])
        m = split(random_manifold(rng))
        every = torches.torches(m.tables)
        torch = every[int(rng.integers(len(every)))]
        for judge in (judge_poses, judge_merge_side):
            n, wrong = judge(m, rng, torch)
            seen, faults = seen + n, faults + len(wrong)
            for line in wrong:
                print(f"scene {scene} {torch.name}: {line}")
        if tried < WANTED:
            blocked = blocked_places(m, every)
            solids, points = metal.metal(m), centres(m)
            curves = reaching.welds(m)
            for i in rng.permutation(len(blocked))[: min(4, WANTED - tried)]:
                name, k = blocked[i]
                tried += 1
                w = curves[name][0]
                place = (w.points[k], w.along[k], w.bisector[k])
                for torch_name, pose in free_poses(m, place, every, rng, (solids, points))[:1]:
                    faults += 1
                    print(f"scene {scene} {name} place {k} is free: {torch_name} {pose}")
        print(
            f"scene {scene}: {seen} poses, {tried} blocked places, {faults} faults, {time.perf_counter() - began:.0f} s",
            flush=True,
        )
    return faults


if __name__ == "__main__":
    sys.exit(1 if main(*map(int, sys.argv[1:])) else 0)
