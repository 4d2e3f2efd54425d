"""`manifoldgen survey FILE`: the form of what to measure, in the order that helps most."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Annotated

import typer

from manifoldgen.cli import terminal
from manifoldgen.cli.options import Format, FormatOption, JobFile
from manifoldgen.wording import fixed, signed, turn

if TYPE_CHECKING:
    from rich.console import RenderableType

    from manifoldgen.manifold.survey.form import Form
    from manifoldgen.manifold.survey.result import ReadingResult, SurveyResult

Count = Annotated[
    int | None, typer.Option("--next", min=0, max=200, help="How many readings to list.", show_default=False)
]
_BASIS = {
    "readings": "what the readings give",
    "typed": "the pose typed in the job",
    "nominal": "a nominal place in front of the flange: nothing better is known yet",
}
_LINE = "_" * 10


def survey(file: JobFile, count: Count = None, format_: FormatOption = Format.TEXT) -> None:
    """Print what to measure by tape and angle gauge.

    And how good the readings are so far.
    """
    from manifoldgen.errors import ManifoldgenError
    from manifoldgen.manifold.survey.form import form
    from manifoldgen.parameters import load
    from manifoldgen.reports import SCHEMA_VERSION, dump

    if not file.exists():
        raise ManifoldgenError(f"there is no file {file}; manifoldgen init NAME writes one that builds")
    job = load(file)
    made = form(job, count)
    if format_ is Format.JSON:
        content = {"schema_version": SCHEMA_VERSION, "name": job.name, "survey": made.as_dict()}
        terminal.emit(dump(content))
    else:
        terminal.emit(_text(job.name, made, job.tables.defaults("survey")))


def _text(name: str, made: Form, most: Mapping[str, float]) -> str:
    from rich.text import Text

    parts: list[RenderableType] = [Text(f"{name}: survey")]
    if made.found.readings:
        parts.append(_taken(made))
    parts.append(Text(_state(made)))
    if (loose := _loose(made, most)) is not None:
        parts.append(Text(loose, style="bold red"))
    parts.extend(Text(f"! {warning}", style="yellow") for warning in made.found.warnings)
    if made.next:
        parts += [Text(""), Text(f"measure next, the most useful first ({_BASIS[made.basis]}):"), _next(made)]
        parts.append(
            Text(
                "S = stud tip, P = port centre at the head's face, turbo.B = bolt hole centre on the turbine's own face, "
                "in the order they are written. Skip what tape or gauge cannot reach, write the rest under survey: and "
                "run this again."
            )
        )
    return terminal.rendered(*parts)


def _state(made: Form) -> str:
    """What is known now, in a line or two."""
    found, told = made.found, []
    if found.turbo:
        pose = found.turbo
        told.append(
            f"turbo at {_vector(pose.at, 1)}, facing {_vector(pose.facing, 3)}, clock {turn(pose.clock)}°; expected "
            f"error now {pose.expected_error_mm:.1f} mm and {pose.expected_error_deg:.1f}° (95 %), worst along "
            f"{_vector(pose.worst_axis, 2)}, {found.spare} readings spare"
        )
    else:
        told.append("the turbo's pose is not fixed yet")
    told += [
        f"{name} at {_vector(point.at, 1)}, expected error {point.expected_error_mm:.1f} mm, worst along "
        f"{_vector(point.worst_axis, 2)}"
        for name, point in found.points.items()
    ]
    return "\n".join(told)


def _loose(made: Form, most: Mapping[str, float]) -> str | None:
    """What is said of a pose that is not good enough to build on."""
    pose = made.found.turbo
    if pose is None or (
        pose.expected_error_mm <= most["most_mm"] and pose.expected_error_deg <= most["most_deg"]
    ):
        return None
    return f"not good enough to build on: at most {most['most_mm']:g} mm and {most['most_deg']:g}°"


def _vector(v: tuple[float, float, float], digits: int) -> str:
    return "[" + ", ".join(f"{round(x, digits) + 0.0:.{digits}f}" for x in v) + "]"


def _taken(made: Form) -> RenderableType:
    from rich import box
    from rich.table import Table

    table = Table(box=box.SIMPLE_HEAD, pad_edge=False)
    table.add_column("measured")
    for title in ("read", "unit", "fits to", "an error shows from"):
        table.add_column(title, justify="right")
    table.add_column("")
    for r in made.found.readings:
        unit = "mm" if r.unit == "mm" else "°"
        least = "" if r.shows_from is None else fixed(r.shows_from)
        remark = _remark(r, made.found)
        table.add_row(r.label, fixed(r.value), unit, signed(r.residual), least, remark)
    return table


def _remark(r: ReadingResult, found: SurveyResult) -> str:
    """What the others say of a reading."""
    if r.label in found.outliers and r.left_out:
        return "cannot be right, left out"
    group = next((group for group in found.torn if r.label in group), ())
    if group:
        return ("one of these cannot be right" if len(group) > 1 else "does not fit") + (
            ", left out" if r.left_out else ""
        )
    return "" if r.doubt is not None else "not checked by any other"


def _next(made: Form) -> RenderableType:
    from rich import box
    from rich.table import Table

    table = Table(box=box.SIMPLE_HEAD, pad_edge=False)
    table.add_column("", justify="right")
    table.add_column("measure")
    table.add_column("reading")
    table.add_column("then expected mm", justify="right")
    table.add_column("°", justify="right")
    for i, n in enumerate(made.next, start=1):
        unit = "mm" if n.unit == "mm" else "°"
        errors = ["open" if e is None else f"{e:.1f}" for e in (n.expected_error_mm, n.expected_error_deg)]
        table.add_row(str(i), n.label, f"{_LINE} {unit}", *errors)
    return table
