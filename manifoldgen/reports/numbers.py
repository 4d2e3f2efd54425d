"""report.json: the keys that stay, the numbers not rounded, a key whose part was not built left out."""

from __future__ import annotations

import json
import math
from collections.abc import Iterable
from typing import Any

from manifoldgen.catalogue import Catalogue
from manifoldgen.checks.finding import RANK, Finding, Severity, worst_first
from manifoldgen.checks.firing_order import in_firing_order
from manifoldgen.designs import Design
from manifoldgen.geometry.corners import to_corners
from manifoldgen.geometry.path import Path, Straight
from manifoldgen.manifold.model import Collector, Manifold, Run
from manifoldgen.public import public
from manifoldgen.reports import pieces
from manifoldgen.reports.mass import mass_kg

SCHEMA_VERSION = 1


@public
def report(
    design: Design,
    solids: dict[str, Any] | None = None,
    found_later: Iterable[Finding] = (),
    prints: dict[str, Any] | None = None,
) -> dict[str, Any]:
    """Everything known about a job, as report.json holds it.

    Parameters
    ----------
    solids : the acceptance numbers of the solid, where one was built.
    found_later : findings of a build, beside those of the checks.
    prints : the printed parts and what each group of them takes, where they were made.

    >>> import manifoldgen as mg
    >>> numbers = mg.report(mg.design("cq_scripts/jobs/snow_groomer_three.yaml"))
    >>> sorted(numbers["runners"])
    ['1', '2', '3']
    """
    m = design.manifold
    found = worst_first((*design.findings, *found_later))
    content: dict[str, Any] = {
        "schema_version": SCHEMA_VERSION,
        "name": m.name,
        "ok": counts(found)["error"] == 0,
        "findings": [f.as_dict() for f in found],
        "collectors": {c.name: _collector(c, m.engine.firing_order) for c in m.collectors},
        "runners": runners(m),
    }
    lengths = [r.path.length for r in m.runners if r.path is not None]
    if lengths and len(lengths) == len(m.runners):
        content["length"] = {**_spread(lengths), **_bound(design)}
    content["gaps"] = [pair.as_dict() for pair in design.gaps]
    if design.hands is not None:
        content.update(design.hands.as_dict())
    if m.survey is not None:
        content["survey"] = m.survey.as_dict()
    if m.pieces:
        content["pieces"] = pieces.entries(design.shop)
    if solids is not None:
        content["solids"] = solids
    if prints is not None:
        content["prints"] = prints
    return content


def runners(m: Manifold) -> dict[str, Any]:
    """Every runner that has a path, by its number."""
    return {str(r.number): _runner(m.tables, r, r.path) for r in m.runners if r.path is not None}


def counts(findings: Iterable[Finding]) -> dict[Severity, int]:
    """How many findings there are of each severity, in the order error, warning, note."""
    found = [f.severity for f in findings]
    return {severity: found.count(severity) for severity in RANK}


def dump(content: dict[str, Any]) -> str:
    """Return the report as JSON text; refuses numbers that are not finite."""
    return json.dumps(content, indent=2, allow_nan=False, ensure_ascii=False) + "\n"


def _collector(c: Collector, firing: tuple[int, ...]) -> dict[str, Any]:
    return {
        "order": list(c.order),
        "in_firing_order": in_firing_order(c.order, firing),
        "clock_deg": c.clock % 360.0,
        "mirror": c.mirror,
        "length_mm": c.length,
        "merge_depth_mm": c.merge_depth,
        "cone_half_angle_deg": c.cone_half_angle,
        "true_gap_mm": c.true_gap,
    }


def _runner(tables: Catalogue, run: Run, path: Path) -> dict[str, Any]:
    section = run.section
    # Pappus: section area x centreline length
    volume = math.pi * (section.radius**2 - section.bore_radius**2) * path.length
    mass = mass_kg(tables, section.material, volume)
    points, clrs = to_corners(path)
    return {
        "length_mm": path.length,
        "bends": len(path.bends),
        "bend_deg": path.bend_deg,
        "volume_mm3": volume,
        **({} if mass is None else {"mass_kg": mass}),
        "path": [
            {"straight": e.length}
            if isinstance(e, Straight)
            else {"bend": e.angle, "clr": e.clr, "roll": e.roll}
            for e in path.elements
        ],
        "corners": [list(p) for p in points],
        "clrs": clrs,
        "end_miss_mm": run.miss_mm,
        "end_miss_deg": run.miss_deg,
        "snapped_mm": run.snapped_mm,
    }


def _bound(design: Design) -> dict[str, float]:
    return {} if design.bound is None else {"lower_bound_mm": design.bound}


def _spread(lengths: list[float]) -> dict[str, float]:
    mean = math.fsum(lengths) / len(lengths)
    return {
        "spread_pct": 100.0 * (max(lengths) - min(lengths)) / mean,
        "longest_mm": max(lengths),
        "shortest_mm": min(lengths),
    }
