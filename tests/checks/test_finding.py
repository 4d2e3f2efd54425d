"""Findings: their order, their words, their keys, what they are made from."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from manifoldgen.checks import Finding, FindingKind, run_all, worst_first
from manifoldgen.errors import Where
from tests import factory

GAP = FindingKind(
    name="some-gap", severities=("error", "warning", "note"), means="Near.", why="Rubs.", do="Move."
)


def found(severity="error", value=None, limit=None, parts=()) -> Finding:
    """A finding of which only this matters."""
    return GAP.finding(severity=severity, message="Near.", do="Move.", value=value, limit=limit, parts=parts)


def test_worst_first() -> None:
    """Errors before warnings before notes; within them the furthest off its limit first."""
    note = found("note")
    warning = found("warning", 90.0, 30.0)
    near = found("error", 11.9, 12.0)
    far = found("error", 4.0, 12.0)

    assert worst_first([note, near, warning, far]) == (far, near, warning, note)


def test_rounding_is_no_order() -> None:
    """Equal findings come by their parts, whatever the last digit of their values."""
    first = found("error", 4.3, 5.0, ("hole S1",))
    second = found("error", 4.3 - 1e-14, 5.0, ("hole S2",))

    assert worst_first([second, first]) == (first, second)


def test_a_finding_says_all_of_it_in_one_line_and_in_the_report() -> None:
    """The text holds severity, name, line, message and cure; the dict has the report's keys."""
    finding = GAP.finding(
        severity="error", message="It is 4.2 mm.", do="Move it.", value=4.2, limit=12.0, unit="mm", parts=("runner 2",),
        points=((0.0, 1.0, 2.0),), where=Where(40, 7),
    )  # fmt: skip

    assert str(finding) == "error some-gap (line 40): It is 4.2 mm. Move it."
    assert finding.as_dict() == {
        "name": "some-gap", "severity": "error", "message": "It is 4.2 mm.", "value": 4.2, "limit": 12.0,
        "unit": "mm", "parts": ["runner 2"], "points": [[0.0, 1.0, 2.0]], "where": {"line": 40, "column": 7},
        "do": "Move it.",
    }  # fmt: skip


@pytest.mark.parametrize("cylinders", [3, 4, 5])
def test_the_plain_bundle_is_clean(cylinders) -> None:
    """A job with nothing wrong has no finding at all, with a branch neither."""
    m = factory.manifold(cylinders)

    assert run_all(m) == ()
    assert run_all(factory.with_branch(m)) == ()


def test_the_severity_is_one_of_its_kinds() -> None:
    """A kind of one severity needs no word; another one, or none where there are several, is refused."""
    note = FindingKind(name="nut-count", severities=("note",), means="Nuts.", why="Because.", do="Count.")

    assert note.finding(message="Six.", do="Order.").severity == "note"
    with pytest.raises(ValueError, match="nut-count is of severity note, not 'error'"):
        note.finding(severity="error", message="Six.", do="Order.")
    with pytest.raises(ValueError, match="some-gap may be error or warning or note: say which"):
        GAP.finding(message="Near.", do="Move.")


def test_a_name_alone_makes_no_finding() -> None:
    """Name and severity come from a kind; and nothing is told apart by its place in a row of arguments."""
    with pytest.raises(ValueError, match="a finding is made from its kind, not from 'runner-gop'"):
        Finding(kind="runner-gop", severity="error", message="Near.", do="Move.")  # type: ignore[arg-type]
    with pytest.raises(TypeError, match="positional"):
        Finding(GAP, "error", "Near.", "Move.")  # type: ignore[call-arg,misc]


def test_checks_do_not_load_the_kernel() -> None:
    """A fresh interpreter that runs every check has neither cadquery nor OCP loaded."""
    code = (
        "import sys; sys.path.insert(0, sys.argv[1]); from tests import factory; from manifoldgen.checks import run_all; "
        "run_all(factory.manifold(3)); sys.exit('cadquery' in sys.modules or 'OCP' in sys.modules)"
    )
    root = str(Path(__file__).parents[2])
    assert subprocess.run([sys.executable, "-c", code, root], check=False).returncode == 0
