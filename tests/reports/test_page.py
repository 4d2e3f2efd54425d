"""The page's text: the report's numbers, everything escaped, what is missing said; no browser needed."""

from __future__ import annotations

import html
import json
import re
from dataclasses import replace
from pathlib import Path

import pytest

from manifoldgen.errors import MissingLibraryError
from manifoldgen.pieces import split
from manifoldgen.reports import library as library_module
from manifoldgen.reports import page as page_module
from manifoldgen.reports import plots, report
from manifoldgen.reports.page import Page, made, page, viewer_script
from manifoldgen.reports.shown import shown, worded
from tests import factory
from tests.reports.same_numbers import in_report, number_of, on_page
from tests.worked import demo

MOST_BYTES = 4_000_000
JOB = Path(__file__).parents[2] / "cq_scripts" / "jobs" / "snow_groomer_tight.yaml"


@pytest.fixture(scope="module")
def job():
    """A job with errors, its report and its page."""
    design = demo("snow_groomer_tight")
    content = json.loads(json.dumps(report(design)))
    return design, content, made(design, content)


def test_numbers_are_the_reports(job):
    """Every number that names a report key is that key's value, to the 0.1 shown (kg to 0.01, shares in %)."""
    _, content, text = job
    found = on_page(text.text)

    assert len(found) > 150
    assert {k.split(".")[0] for k in found} >= {
        "runners",
        "gaps",
        "studs",
        "welds",
        "pieces",
        "length",
        "collectors",
    }
    for key, texts in found.items():
        value = in_report(content, key) * (100 if key.endswith(".reach") else 1)
        for said in texts:
            assert abs(number_of(said) - value) <= (0.006 if key.endswith("_kg") else 0.051), key


def test_every_id_is_visible_text(job):
    """A stud, weld or piece that cannot be read cannot be found on the bench."""
    design, _, text = job
    plain = html.unescape(re.sub(r"<[^>]+>", " ", re.sub(r"(?s)<script.*?</script>", "", text.text)))
    words = set(plain.split())

    m = design.manifold
    assert {s.id for s in m.studs} | {j.id for j in m.joints} | {p.id for p in m.pieces} <= words


def test_no_foreign_word_gets_out_of_its_place(job):
    """Names and descriptions with tags, quotes, 10 000 characters or right-to-left letters are only text."""
    design, content, _ = job
    m = design.manifold
    bad = "</script><script>window.pwned=1</script>\"'<img src=x onerror=alert(1)>"
    rude = replace(
        m,
        description=bad + "\u202eknalb" + "x" * 10000,
        obstacles=tuple(replace(o, name=bad) for o in m.obstacles),
    )
    findings = [{**f, "message": bad, "do": bad, "parts": [bad]} for f in content["findings"]] or [
        {"name": "n", "severity": "error", "message": bad, "do": bad, "parts": [bad], "points": [],
         "value": None, "limit": None, "unit": None, "where": None}
    ]  # fmt: skip
    text = made(replace(design, manifold=rude), {**content, "findings": findings, bad: {bad: 1.0}}).text

    assert "<img" not in text
    assert "window.pwned=1</script>" not in text
    assert text.count("<script") == text.count("</script>") == 4


def test_policy_names_the_very_script(job):
    """Only the script and style whose sum the page names may run; a changed letter would stop them."""
    _, _, text = job
    policy = html.unescape(re.search(r'Content-Security-Policy" content="([^"]*)"', text.text)[1])
    script = re.search(r"(?s)<script>(.*?)</script>", text.text)[1]

    assert page_module._hash(script) in policy
    assert script == viewer_script()
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    assert "http" not in policy


def test_same_input_same_page_and_small_enough(job):
    """The page holds no time and no chance; a job of some runners is well under 4 MB."""
    design, content, text = job

    assert made(design, content) == text
    assert len(text.text.encode()) < MOST_BYTES


def test_a_run_without_a_path_is_said_and_the_rest_is_shown(tmp_path):
    """The page is what one looks at to see why something failed: it never fails with it."""
    m = factory.manifold()
    m = split(replace(m, runners=(replace(m.runners[0], path=None, todo="auto"), *m.runners[1:])))
    text = page(m).write(tmp_path / "report.html").read_text(encoding="utf-8")

    assert "runner 1: its path is not known yet" in text
    assert "1 path open" in text
    assert 'id="triangles"' in text


def test_without_the_library_the_rest_is_made(job, monkeypatch):
    """A missing 3-D library is one sentence that says what to do; tables and plots stand."""
    design, content, _ = job

    def gone() -> None:
        raise MissingLibraryError("the package nicegui is not installed; reinstall nicegui >= 3.18")

    monkeypatch.setattr(page_module, "library", gone)
    text = made(design, content).text

    assert (
        "report without 3-D view: the package nicegui is not installed; reinstall nicegui &gt;= 3.18" in text
    )
    assert 'id="library"' not in text
    assert "J1.1" in text


def test_the_library_is_what_the_viewer_needs():
    """Guard for the installed package: place, size, names used, nothing that would end its block, its notices."""
    path = library_module.place()
    held = library_module.library()

    assert path.as_posix().endswith("nicegui/elements/scene/dist/index.js")
    assert path.stat().st_size > 500_000
    assert set(library_module.USED) <= library_module.exports(held.text)
    assert "</script" not in held.text
    assert "<!--" not in held.text
    assert "sourceMappingURL" not in held.text
    assert "@license" in held.text
    assert "Permission is hereby granted" in held.notice
    assert [h.split(":")[0] for h in held.holders] == ["three.js", "tween.js", "stats.js", "nicegui"]


def test_a_library_without_our_names_is_refused(tmp_path, monkeypatch):
    """Another version with other names would leave an empty view: it is one sentence instead."""
    other = tmp_path / "index.js"
    other.write_text("const a=1;export{a as THREE};", encoding="utf-8")
    monkeypatch.setattr(library_module, "place", lambda: other)
    library_module.library.cache_clear()
    with pytest.raises(MissingLibraryError, match="no OrbitControls; reinstall nicegui"):
        library_module.library()
    library_module.library.cache_clear()


def test_a_notebook_shows_the_same_page():
    """The page of a manifold is a frame that holds the whole page as text, escaped."""
    made_here = page(factory.manifold())
    frame = made_here._repr_html_()

    assert isinstance(made_here, Page)
    assert html.unescape(re.search(r'srcdoc="([^"]*)"', frame)[1]) == made_here.text


def test_values_are_written_as_people_read_them():
    """0.1 steps, no minus before a nothing, words for yes and no."""
    assert [shown(v) for v in (12.34, -0.04, 3, None, True, False, float("nan"), "ring")] == [
        "12.3", "0.0", "3", "–", "yes", "no", "–", "ring",
    ]  # fmt: skip
    assert worded("merge_depth_mm") == ("merge depth", "mm")
    assert worded("in_firing_order") == ("in firing order", "")


def test_a_short_gap_is_marked_and_the_bound_drawn():
    """The plots hold what is asked beside what is: a tick at the asked gap, a line at the bound."""
    rows = [
        {"a": "a", "b": "b", "gap_mm": 6.0, "asked_mm": 12.0},
        {"a": "c", "b": "d", "gap_mm": 13.0, "asked_mm": 12.0},
    ]
    first, second = plots.gaps({"gaps": rows}).bars
    lengths = plots.lengths({"runners": {"1": {"length_mm": 500.0}}, "length": {"lower_bound_mm": 400.0}})

    assert (first.bad, second.bad) == (True, False)
    assert first.width / first.tick == pytest.approx(0.5)
    assert lengths.line / lengths.bars[0].width == pytest.approx(0.8)
    assert plots.lengths({"runners": {"1": {"length_mm": 500.0}}}).line is None


def test_no_script_of_ours_reaches_out():
    """Nothing in our own script asks for an address."""
    script = viewer_script()
    named = [line for line in script.splitlines() if "http" in line and "www.w3.org/2000/svg" not in line]

    assert named == []
    assert not re.search(r"fetch\(|XMLHttpRequest|WebSocket|innerHTML|eval\(", script)
