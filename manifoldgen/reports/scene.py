"""What the 3-D view shows: meshes by part and piece, joints, weld beads, studs, and where findings lie."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from manifoldgen.access.welds import curve_of
from manifoldgen.errors import ManifoldgenError
from manifoldgen.geometry.vectors import Array, array
from manifoldgen.manifold.model import Manifold
from manifoldgen.mesh import surroundings
from manifoldgen.mesh.parts import DrawnPart, DrawnScene, draw
from manifoldgen.mesh.triangles import Mesh
from manifoldgen.reports.packed import packed
from manifoldgen.reports.shown import against, finding_numbers, shown, unit_of
from manifoldgen.wording import some


@dataclass(frozen=True)
class PageScene:
    """The view's mapping, its packed triangles, and what could not be drawn, in words."""

    mapping: dict[str, Any]
    blob: str
    missing: tuple[str, ...]


def scene(m: Manifold, content: Mapping[str, Any]) -> PageScene:
    """Everything the view needs, numbers in mm and the bench frame."""
    drawing = draw(m)
    things, missing = _things(m, drawing)
    pack = packed(mesh for _, mesh in things)
    low, high = _box([d.mesh for d in drawing.drawn])
    mapping = {
        "low": low,
        "high": high,
        "grid": {"low": pack.low, "step": pack.step},
        "meshes": [{**told, "at": row} for (told, _), row in zip(things, pack.rows, strict=True)],
        "joints": [
            {
                "id": j.id,
                "kind": j.kind,
                "at": j.at,
                "along": j.direction,
                "radius": j.radius,
                "between": j.between,
            }
            for j in m.joints
        ],
        "beads": {j.id: bead for j in m.joints if (bead := _bead(m, j.id)) is not None},
        "studs": {s.id: {"at": s.at, "axis": s.axis} for s in m.studs},
        "findings": [_finding(f, content) for f in content.get("findings", [])],
        "gaps": [_gap(g) for g in content.get("gaps", [])],
        "reach": {s["id"]: _keep(s, _STUD) for s in content.get("studs", [])},
        "welds": {w["id"]: _keep(w, _WELD) for w in content.get("welds", [])},
        "stages": _stages(content),
        "places": _places(content),
    }
    return PageScene(mapping, pack.text, (*drawing.missing, *missing))


_STUD = ("at", "toward", "swing_deg", "shapes", "move", "reachable", "tool", "blocked_by")
_WELD = ("shapes", "stage", "blocked_at", "unit", "reach")


def _keep(row: Mapping[str, Any], names: Sequence[str]) -> dict[str, Any]:
    return {name: row[name] for name in names if name in row}


def _things(m: Manifold, drawing: DrawnScene) -> tuple[list[tuple[dict[str, Any], Mesh]], list[str]]:
    """Meshes with what is said of each, and a sentence for each that could not be drawn."""
    made = [(_part(m, d), d.mesh) for d in drawing.drawn]
    missing: list[str] = []
    for stud in m.studs:
        try:
            mesh = surroundings.nut(m, stud)
        except (ManifoldgenError, KeyError, ValueError):
            missing.append(f"{stud.id}: its nut is not in the catalogue")
            continue
        made.append(({"kind": "nut", "part": f"nuts and studs, {stud.flange}", "piece": stud.id}, mesh))
    reach = surroundings.width(tuple(d.mesh for d in drawing.drawn))
    for obstacle in m.obstacles:
        try:
            mesh, coarser = surroundings.obstacle(obstacle, reach)
        except (ManifoldgenError, ValueError) as error:
            missing.append(f"{obstacle.name}: {error}")
            continue
        if coarser:
            missing.append(
                f"{obstacle.name}: drawn coarser than it was measured, by up to {shown(coarser)} mm"
            )
        made.append(({"kind": "obstacle", "part": obstacle.name, "piece": obstacle.name}, mesh))
    return made, missing


def _part(m: Manifold, d: DrawnPart) -> dict[str, Any]:
    """What is said of a part's mesh; its role is ``flange`` or its owner's kind, its number a runner's, or 0."""
    run = m.run_of(d.owner) if d.owner else None
    return {
        "kind": "part",
        "part": d.part,
        "piece": d.piece,
        "role": d.owner.kind if d.owner else "flange",
        "number": run.number if run else 0,
    }


def _box(meshes: Sequence[Mesh]) -> tuple[list[float], list[float]]:
    if not meshes:
        return [0.0, 0.0, 0.0], [100.0, 100.0, 100.0]
    points: Array = np.concatenate([mesh.vertices for mesh in meshes])
    return points.min(axis=0).tolist(), points.max(axis=0).tolist()


def _bead(m: Manifold, joint: str) -> dict[str, Any] | None:
    """The line a weld follows; None where it cannot be worked out."""
    try:
        curve = curve_of(m, next(j for j in m.joints if j.id == joint))[0]
    except (ManifoldgenError, ValueError, StopIteration, IndexError):
        return None
    return {
        "points": np.round(curve.points, 2).tolist(),
        "closed": curve.closed,
        "length": round(curve.length, 2),
    }


def _places(content: Mapping[str, Any]) -> dict[str, Any]:
    """Surveyed places with the radius of the ball that each is in."""
    survey = content.get("survey", {})
    found = {"turbo": survey.get("turbo"), **survey.get("points", {})}
    return {
        name: {
            "at": place["at"],
            "within": place["expected_error_mm"],
            "said": f"{name} ± {shown(place['expected_error_mm'])} mm",
        }
        for name, place in found.items()
        if place
    }


def _gap(row: Mapping[str, Any]) -> dict[str, Any]:
    short = row["gap_mm"] < row["asked_mm"] - 1e-3
    told = against(row["gap_mm"], row["asked_mm"], short=short)
    known = f" ± {shown(row['known_to_mm'])}" if "known_to_mm" in row else ""
    return {
        "points": row["points"],
        "parts": [row["a"], row["b"]],
        "said": f"{told.value}{known} mm, asked {told.limit} mm",
        "pair": True,
        "short": short,
    }


def _finding(f: Mapping[str, Any], content: Mapping[str, Any]) -> dict[str, Any]:
    """Where a finding lies, what stands beside the gap, and the move that mends it."""
    points = f["points"]
    pair = len(points) == 2 and f["unit"] == "mm" and f["value"] is not None
    made: dict[str, Any] = {"points": points, "parts": f["parts"], "name": f["name"], "pair": pair}
    if f["value"] is not None:
        unit = unit_of(f)
        value, limit = finding_numbers(f)
        made["said"] = f"{value}{unit}" + (f", asked {limit}{unit}" if limit else "")
    move = _move(f, content) if points else None
    if move is not None:
        made["move"], made["move_said"] = move, f"move {some(math.dist(*move))} mm"
    return made


def _move(f: Mapping[str, Any], content: Mapping[str, Any]) -> list[list[float]] | None:
    """From and to of the move that mends a finding, where one is known."""
    a = array(f["points"][0])
    stud = next((s for s in content.get("studs", []) if f["parts"] and s["id"] == f["parts"][0]), None)
    if stud is not None:
        if stud.get("move") is None or f["name"] != "stud-out-of-reach":
            return None
        return [a.tolist(), (a + array(stud["move"])).tolist()]
    if len(f["points"]) != 2 or f["unit"] != "mm" or f["value"] is None or f["limit"] is None:
        return None
    b = array(f["points"][1])
    way, apart = a - b, float(np.linalg.norm(a - b))
    if apart < 1e-9:
        return None
    if f["value"] > f["limit"]:  # a miss: what is apart belongs together
        return [a.tolist(), b.tolist()]
    sign = 1.0 if f["value"] >= 0 else -1.0  # of an overlap the points lie the other way round
    return [a.tolist(), (a + sign * way / apart * (f["limit"] - f["value"])).tolist()]


def _stages(content: Mapping[str, Any]) -> list[dict[str, Any]]:
    """The stages of welding, each once, with all that is welded in it."""
    made: dict[int, dict[str, Any]] = {}
    for row in content.get("weld_order", []):
        stage = made.setdefault(row["stage"], {"stage": row["stage"], "joints": [], "held": []})
        stage["joints"] += row["joints"]
        stage["held"].append(_purged(row))
    return [made[number] for number in sorted(made)]


def _purged(row: Mapping[str, Any]) -> str:
    purge = row.get("purge", {})
    words: Iterator[str] = (
        text
        for text in (
            f"{', '.join(row['joints'])}: held together {', '.join(row['fitted'])}",
            f"argon in at {purge['gas_in']}" if purge.get("gas_in") else "",
            f"vent at {purge['vent']}" if purge.get("vent") else "",
            f"cap {', '.join(purge['cap'])}" if purge.get("cap") else "",
        )
        if text
    )
    return "; ".join(words)
