"""What a search came to, as a fabricator reads it and as report.json holds it."""

from __future__ import annotations

import math
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

from manifoldgen.cli.show import runner_table
from manifoldgen.cli.terminal import rendered
from manifoldgen.reports import report
from manifoldgen.wording import compass, some

if TYPE_CHECKING:
    from rich.console import RenderableType

    from manifoldgen.designs import Design
    from manifoldgen.routing.diagnose import Diagnosis
    from manifoldgen.routing.route import Routed

_SHOWN = 8  # limits that are named where an attempt is short


def routed_report(design: Design, routed: Routed, searched: list[int]) -> dict[str, Any]:
    """Give report.json's mapping with `route`: how the search went.

    searched : the cylinders whose path was ``auto``. ``ok`` is the search's: every limit is kept.
    """
    content = report(design)
    content["ok"] = routed.verified
    if routed.bound and "length" in content:  # 0 where nothing was searched
        content["length"]["lower_bound_mm"] = routed.bound
    content["route"] = {
        "seed": design.seed,
        "searched": searched,
        "verified": routed.verified,
        "stopped": routed.stopped,
        **({} if routed.diagnosis is None else {"diagnosis": _diagnosis(routed.diagnosis)}),
    }
    return content


def _diagnosis(d: Diagnosis) -> dict[str, Any]:
    return {
        "sentence": d.sentence,
        "binding": d.binding,
        "short_mm": d.short if math.isfinite(d.short) else None,
        "blocked": list(d.blocked),
        "short": [{"limit": g.group, "who": g.who, "mm": -g.mm} for g in d.worst if math.isfinite(g.mm)],
        "cures": [
            {"turbo_move": list(c.move)} if c.move is not None else {"limit": c.limit, "value": c.value}
            for c in d.cures
        ],
    }


def routed_text(content: dict[str, Any], routed: Routed, file: Path, out: Path | None) -> str:
    """Table of runners, the ring, what binds where nothing fits, what to do next, the outcome last."""
    parts: list[RenderableType] = []
    if content["runners"]:
        parts.append(runner_table(content))
    parts.extend(_ring(content))
    parts.extend(_above(content))
    if not routed.verified:
        parts.extend(_why(routed))
    text = rendered(*parts) if parts else ""
    return f"{text}\nnext: {_next(routed, file, out)}\n{content['name']}: {_outcome(routed)}\n"


def _ring(content: dict[str, Any]) -> Iterator[RenderableType]:
    from rich.text import Text

    for name, c in content["collectors"].items():
        order = "-".join(map(str, c["order"]))
        mirror = "true" if c["mirror"] else "false"
        yield Text(f"collector {name}: order {order}, clock {compass(c['clock_deg'])}°, mirror {mirror}")


def _above(content: dict[str, Any]) -> Iterator[RenderableType]:
    from rich.text import Text

    bound = content.get("length", {}).get("lower_bound_mm")
    lengths = [content["runners"][str(n)]["length_mm"] for n in content["route"]["searched"]]
    if bound and lengths:
        above = max(0.0, 100 * (sum(lengths) / len(lengths) / bound - 1))
        yield Text(f"{above:.1f} % above {bound:.1f} mm, which no layout is shorter than")


def _why(routed: Routed) -> Iterator[RenderableType]:
    from rich import box
    from rich.table import Table
    from rich.text import Text

    d = routed.diagnosis
    if d is None:
        for run in routed.manifold.runners:
            if run.trouble is not None and not routed.stopped:
                yield Text(f"{run.name}: {run.trouble}")
        return
    yield Text(f"\n{d.sentence}")
    if d.worst:
        table = Table(
            box=box.SIMPLE_HEAD, pad_edge=False, title="short at the nearest attempt", title_justify="left"
        )
        table.add_column("limit")
        table.add_column("between")
        table.add_column("short mm", justify="right")
        for g in d.worst[:_SHOWN]:
            table.add_row(g.group, g.who, some(-g.mm) if math.isfinite(g.mm) else "-")
        yield table


def _next(routed: Routed, file: Path, out: Path | None) -> str:
    if not routed.verified:
        cures = routed.diagnosis.cures if routed.diagnosis else ()
        return cures[0].words if cures else f"change {file.name} as said above, then the same again"
    if out is None:
        return f"manifoldgen route {file} --write OUT.yaml, or manifoldgen build {file}"
    return f"manifoldgen check {out}"


def _outcome(routed: Routed) -> str:
    if routed.bound is None:
        return "every path is there" if routed.verified else "a path could not be closed"
    if routed.verified:
        return "found, every limit is kept" + (", stopped early" if routed.stopped else "")
    return (
        "stopped before anything was clear" if routed.stopped else "not found, the nearest attempt is shown"
    )
