"""The file to start from reads as it stands, for every number of cylinders."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

import manifoldgen as mg
from manifoldgen.errors import ParameterError
from manifoldgen.parameters import Parameters, load_text
from manifoldgen.parameters.engine import Engine
from manifoldgen.parameters.meant import SHAPES
from manifoldgen.parameters.starter import ORDERS, Answers, starter
from manifoldgen.parameters.turbo import Turbo
from manifoldgen.parameters.wastegate import Wastegate

SECTION = re.compile(r"( *)#(?=[a-z0-9]|  )")  # a line that waits for its # to be taken away
TETRAHEDRON = """solid bay
facet normal 0 0 -1\nouter loop\nvertex -200 0 0\nvertex -200 9 0\nvertex -209 0 0\nendloop\nendfacet
facet normal 0 -1 0\nouter loop\nvertex -200 0 0\nvertex -209 0 0\nvertex -200 0 9\nendloop\nendfacet
facet normal 1 0 0\nouter loop\nvertex -200 0 0\nvertex -200 0 9\nvertex -200 9 0\nendloop\nendfacet
facet normal -1 1 1\nouter loop\nvertex -200 9 0\nvertex -200 0 9\nvertex -209 0 0\nendloop\nendfacet
endsolid bay
"""


def blocks(text: str) -> list[range]:
    """The lines of every section; one that begins deeper than its own key goes on with the section before it."""
    found: list[range] = []
    lines = text.splitlines()
    k = 0
    while k < len(lines):
        first = k
        while k < len(lines) and SECTION.match(lines[k]):
            k += 1
        if k > first:
            goes_on = lines[first].startswith("#  ")
            found.append(range(found[-1].start if goes_on else first, k))
        k += 1
    return found


def in_use(text: str, block: range) -> str:
    """The text with one section in use, in place of the line that the words above it name."""
    lines = text.splitlines()
    used = [SECTION.sub(r"\1", line) if k in block else line for k, line in enumerate(lines)]
    if instead := re.search(r"in place of (\w+)", lines[block.start - 1]):
        indent = SECTION.match(lines[block.start])[1]  # type: ignore[index]
        used.remove(next(line for line in lines if line.startswith(f"{indent}{instead[1]}: ")))
    return "\n".join(used) + "\n"


@pytest.mark.parametrize("cylinders", ORDERS)
def test_starter_reads(cylinders: int) -> None:
    """It is a job of that name and number; no placeholder is left."""
    text = starter("my-first", Answers(cylinders))
    job = load_text(text)

    assert (job.name, job.cylinders) == ("my-first", cylinders)
    assert "<" not in text


@pytest.mark.parametrize("cylinders", ORDERS)
def test_every_section_reads(cylinders: int, tmp_path: Path) -> None:
    """Each section alone with its # taken away is a job, and says something that the job did not say before."""
    (tmp_path / "bay.stl").write_text(TETRAHEDRON, "utf-8")
    (tmp_path / "my-shop.yaml").write_text("limits: {gap: 11}\n", "utf-8")
    text = starter("my-first", Answers(cylinders))
    plain = load_text(text)
    found = blocks(text)

    assert len(found) > 12
    for block in found:
        used = in_use(text, block)
        assert load_text(used, tmp_path / "job.yaml") != plain, text.splitlines()[block.start]
    (survey,) = [in_use(text, b) for b in found if text.splitlines()[b.start] == "#survey:"]
    surveyed = mg.assemble(load_text(survey))
    assert surveyed.survey is not None
    assert surveyed.survey.warnings == ()  # what it reads is where the turbo stands


def test_every_section_is_shown() -> None:
    """Every key of the job, and of the blocks named here, stands in the file, in use or ready to be."""
    text = starter("my-first")
    whole = "\n".join(SECTION.sub(r"\1", line) for line in text.splitlines())

    def missing(model: type, indent: str) -> list[str]:
        keys = [info.alias or name for name, info in model.model_fields.items()]
        return [key for key in keys if not re.search(rf"^{indent}{key}:", whole, re.MULTILINE)]

    assert missing(Parameters, "") == []
    assert missing(Engine, "  ") == missing(Turbo, "  ") == missing(Wastegate, "  ") == []
    assert all(f"{shape}:" in whole for shape in SHAPES)


@pytest.mark.slow
@pytest.mark.parametrize("cylinders", [2, 3, 4, 5])  # the others: tests/benchmarks/sweep_jobs.py
def test_starter_is_clean(cylinders: int) -> None:
    """Its runners find their inlets and no check complains."""
    manifold = mg.split(mg.route(mg.assemble(load_text(starter("my-first", Answers(cylinders))))))

    assert [finding for finding in mg.check(manifold) if finding.severity == "error"] == []


def test_starter_refuses() -> None:
    """A name or a number that cannot be is one sentence."""
    with pytest.raises(ParameterError, match="small letters"):
        starter("My First")
    with pytest.raises(ParameterError, match="take 2 to 8"):
        starter("first", Answers(12))
