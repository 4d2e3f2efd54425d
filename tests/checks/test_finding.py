"""Findings: their order, their words, their keys; and that every one is explained."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
from pathlib import Path

import pytest

import manifoldgen.checks
from manifoldgen.checks import Finding, run_all, worst_first
from manifoldgen.checks.explain import EXPLANATIONS, explain
from manifoldgen.errors import ManifoldgenError, Where
from tests import factory

NAME = re.compile(r"[a-z]+(-[a-z]+)+")


def test_worst_first() -> None:
    """Errors before warnings before notes; within them the furthest off its limit first."""
    note = Finding("a", "note", "", "")
    warning = Finding("b", "warning", "", "", 90.0, 30.0, "deg")
    near = Finding("c", "error", "", "", 11.9, 12.0, "mm")
    far = Finding("d", "error", "", "", 4.0, 12.0, "mm")

    assert worst_first([note, near, warning, far]) == (far, near, warning, note)


def test_rounding_is_no_order() -> None:
    """Equal findings come by their parts, whatever the last digit of their values."""
    first = Finding("a", "error", "", "", 4.3, 5.0, "mm", ("hole S1",))
    second = Finding("a", "error", "", "", 4.3 - 1e-14, 5.0, "mm", ("hole S2",))

    assert worst_first([second, first]) == (first, second)


def test_a_finding_says_all_of_it_in_one_line_and_in_the_report() -> None:
    """The text holds severity, name, line, message and cure; the dict has the report's keys."""
    finding = Finding(
        "runner-gap", "error", "It is 4.2 mm.", "Move it.", 4.2, 12.0, "mm", ("runner 2",), ((0.0, 1.0, 2.0),), Where(40, 7),
    )  # fmt: skip

    assert str(finding) == "error runner-gap (line 40): It is 4.2 mm. Move it."
    assert finding.as_dict() == {
        "name": "runner-gap", "severity": "error", "message": "It is 4.2 mm.", "value": 4.2, "limit": 12.0,
        "unit": "mm", "parts": ["runner 2"], "points": [[0.0, 1.0, 2.0]], "where": {"line": 40, "column": 7},
        "do": "Move it.",
    }  # fmt: skip


@pytest.mark.parametrize("cylinders", [3, 4, 5])
def test_the_plain_bundle_is_clean(cylinders) -> None:
    """A job with nothing wrong has no finding at all, with a branch neither."""
    m = factory.manifold(cylinders)

    assert run_all(m) == ()
    assert run_all(factory.with_branch(m)) == ()


def test_every_name_that_is_emitted_is_explained() -> None:
    """All finding names in the checks' source have a text with means, why and what to do."""
    names = set()
    for file in Path(manifoldgen.checks.__file__).parent.glob("*.py"):
        if file.name == "explain.py":
            continue
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Constant) and isinstance(node.value, str) and NAME.fullmatch(node.value):
                names.add(node.value)
    assert {"runner-gap", "drain-fall"} <= names  # the walk finds them
    for name in names:
        assert "\n\nWhy: " in explain(name)
        assert "\n\nDo: " in explain(name)
    assert names <= set(EXPLANATIONS)
    with pytest.raises(ManifoldgenError, match="no finding runner-gop"):
        explain("runner-gop")


def test_checks_do_not_load_the_kernel() -> None:
    """A fresh interpreter that runs every check has neither cadquery nor OCP loaded."""
    code = (
        "import sys; sys.path.insert(0, sys.argv[1]); from tests import factory; from manifoldgen.checks import run_all; "
        "run_all(factory.manifold(3)); sys.exit('cadquery' in sys.modules or 'OCP' in sys.modules)"
    )
    root = str(Path(__file__).parents[2])
    assert subprocess.run([sys.executable, "-c", code, root], check=False).returncode == 0
