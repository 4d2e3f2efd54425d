"""What a notebook shows of the large things: a line, not all of it; findings as a table."""

from __future__ import annotations

from dataclasses import replace

import pytest

import manifoldgen as mg
from manifoldgen.checks.finding import Findings
from tests.worked import built, demo

JOB = "snow_groomer_tight"


def test_a_line_says_what_it_is() -> None:
    """Name and counts; never the 40 to 1 700 kB of what stands behind."""
    d = demo(JOB)
    m = d.manifold

    assert (
        repr(m)
        == f"<manifold {m.name}: 3 runners, 1 collector, {len(m.pieces)} pieces, {len(m.joints)} joints>"
    )
    assert repr(replace(m, pieces=(), joints=())) == f"<manifold {m.name}: 3 runners, 1 collector>"
    assert repr(d).startswith(f"<design of {m!r}: 1 error, ")
    assert repr(mg.page(d)).startswith("<page of ")
    assert all(len(repr(thing)) < 200 for thing in (m, d, mg.page(d)))


@pytest.mark.slow
def test_solids_say_whether_they_are_sound() -> None:
    """Parts and pieces counted; an error is counted instead."""
    solids = built("snow_groomer_three")
    broken = replace(solids, errors=(mg.SolidError("runner 1", "not closed"),))

    assert repr(solids) == f"<solids of {solids.name}: 7 parts, {len(solids.pieces)} pieces, sound>"
    assert repr(broken).endswith("1 error>")


def test_findings_are_a_table() -> None:
    """A row each with its sign, its name and what to do; what a file says is not read as HTML."""
    found = mg.check(demo(JOB).manifold)
    html = found._repr_html_()

    assert html.count("<tr>") == len(found) + 1
    assert "✕ error" in html
    assert "stud-out-of-reach" in html
    assert repr(found).splitlines()[0].startswith("✕ stud-out-of-reach: ")
    named = Findings([replace(found[0], message="<b>S4</b>")])
    assert "&lt;b&gt;S4" in named._repr_html_()
    assert Findings()._repr_html_() == repr(Findings()) == "no findings"
