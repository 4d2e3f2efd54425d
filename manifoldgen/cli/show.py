"""A job and its findings as a fabricator reads them: table, findings worst first, what to do next, summary."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from manifoldgen.checks.finding import RANK, SIGNS, Finding, worst_first
from manifoldgen.cli.reach_text import reach_tables
from manifoldgen.cli.terminal import rendered
from manifoldgen.reports import counts
from manifoldgen.shop.cautions import in_all
from manifoldgen.wording import counted, fixed, size

if TYPE_CHECKING:
    from rich.console import RenderableType

    from manifoldgen.designs import Design

_STYLE = {"error": "bold red", "warning": "yellow", "note": "cyan"}
_SHOWN = 6  # findings of one name printed in full; report.json holds them all


def job_text(
    content: dict[str, Any], design: Design, findings: Sequence[Finding], file: Path, *, next_command: str
) -> str:
    """Everything `check` and `build` print, the summary last.

    Parameters
    ----------
    content : the report.
    findings : the design's own, and what a build has added.
    next_command : what to do when there is nothing to explain.
    """
    parts: list[RenderableType] = []
    if content["runners"]:
        parts.append(runner_table(content))
    if design.hands is not None:
        parts.extend(reach_tables(design.hands))
    if "prints" in content:
        parts.append(prints_table(content["prints"]["groups"]))
    parts.extend(_finding_lines(findings, file))
    text = rendered(*parts) if parts else ""
    following, outcome = _next(findings, next_command), summary(content["name"], findings)
    return f"{text}\nnext: {following}\n{outcome}\ncaution: {in_all(design.manifold.tables)}\n"


def summary(name: str, findings: Sequence[Finding]) -> str:
    """Count the findings in one line: ``sand-rail-four: 1 error, 2 warnings, no notes``."""
    words = [counted(number, severity) for severity, number in counts(findings).items()]
    return f"{name}: {', '.join(words)}"


def _next(findings: Sequence[Finding], otherwise: str) -> str:
    worst = worst_first(findings)
    if worst and worst[0].severity == "error":
        return f"manifoldgen explain {worst[0].name}"
    return otherwise


def runner_table(content: dict[str, Any]) -> RenderableType:
    """Show length, bends and end of every runner that has a path."""
    from rich import box
    from rich.table import Table

    table = Table(box=box.SIMPLE_HEAD, pad_edge=False)
    table.add_column("runner")
    for title in ("length mm", "bends", "bent °", "CLR mm", "end error mm"):
        table.add_column(title, justify="right")
    for number, runner in content["runners"].items():
        clrs = sorted(set(runner["clrs"]))
        table.add_row(
            number,
            f"{runner['length_mm']:.1f}",
            str(runner["bends"]),
            f"{runner['bend_deg']:.1f}",
            ", ".join(map(size, clrs)) or "-",
            fixed(runner["end_miss_mm"]),
        )
    if "length" in content:
        spread = content["length"]
        table.caption = (
            f"lengths {spread['shortest_mm']:.1f} to {spread['longest_mm']:.1f} mm, "
            f"spread {spread['spread_pct']:.2f} %"
        )
        table.caption_justify = "left"
    return table


def prints_table(groups: Sequence[dict[str, Any]]) -> RenderableType:
    """Show what each group of printed parts takes, and what it is worth."""
    from rich import box
    from rich.table import Table

    table = Table(box=box.SIMPLE_HEAD, pad_edge=False)
    table.add_column("printed parts", no_wrap=True)
    for title in ("parts", "g", "h"):
        table.add_column(title, justify="right")
    table.add_column("worth it because")
    for s in groups:
        table.add_row(s["group"], str(s["parts"]), f"{s['grams']:.0f}", f"{s['hours']:.0f}", s["why"])
    table.caption = (
        "print: {only: first}, in the job or the shop file, makes the first group alone; helps, the first two"
    )
    table.caption_justify = "left"
    return table


def _finding_lines(findings: Sequence[Finding], file: Path) -> Iterator[RenderableType]:
    from rich.padding import Padding
    from rich.text import Text

    ordered = worst_first(findings)
    for severity in RANK:
        of_this = [f for f in ordered if f.severity == severity]
        for name in dict.fromkeys(f.name for f in of_this):
            group = [f for f in of_this if f.name == name]
            yield Text.assemble((f"{SIGNS[severity]} {severity}", _STYLE[severity]), f"  {name}")
            for finding in group[:_SHOWN]:
                yield Padding(Text(finding.message), (0, 0, 0, 2), expand=False)
                yield from (
                    Padding(Text(line, style="dim"), (0, 0, 0, 4), expand=False)
                    for line in _help(finding, file)
                )
            if len(group) > _SHOWN:
                yield Padding(
                    Text(f"… and {len(group) - _SHOWN} more: --format json lists all"), (0, 0, 0, 2)
                )


def _help(finding: Finding, file: Path) -> Iterator[str]:
    if finding.do:
        yield f"→ {finding.do}"
    if finding.where is not None:
        named = Path(finding.where.file).name or file.name
        yield f"{named}:{finding.where.line}:{finding.where.column}"
