"""Sizes that are bought read in every output as the job has them, angles within one turn: sheets, page, terminal."""

from __future__ import annotations

import html
import json
import re
from functools import cache
from pathlib import Path

import pytest

import manifoldgen as mg
from manifoldgen.cli.show import job_text
from manifoldgen.drawing.papers import write_papers
from manifoldgen.parameters import load_text
from manifoldgen.reports.page import made
from tests.agreement.paper import sheets
from tests.worked import JOBS

# 1-1/2 in tube of 16 ga (1.65 mm), 2-1/4 in CLR: 57.15 mm; the ring a whole turn further than it was written
INCH = (
    ("clr: 57,", "clr: 57.15,"),
    ("od: 38.0, wall: 1.5,", "od: 38.1, wall: 1.65,"),
    ("clock: 57.5", "clock: 417.5"),
)


@cache
def job() -> mg.Design:
    """A demo job in inch sizes."""
    text = (JOBS / "snow_groomer_three.yaml").read_text("utf-8")
    for old, new in INCH:
        assert old in text
        text = text.replace(old, new)
    return mg.design(load_text(text), search=False)


@pytest.fixture(scope="module")
def outputs(tmp_path_factory) -> dict[str, str]:
    """The words of every output."""
    folder = tmp_path_factory.mktemp("inch")
    write_papers(folder, job())
    content = json.loads(json.dumps(mg.report(job())))
    page = re.sub(r"(?s)<script.*?</script>|<style.*?</style>|<[^>]+>", " ", made(job(), content).text)
    return {
        "sheets": " ".join(sheet.words for sheet in sheets(folder / "build-sheets.pdf")),
        "templates": " ".join(sheet.words for sheet in sheets(folder / "templates.pdf")),
        "page": " ".join(html.unescape(page).split()),
        "terminal": job_text(content, job(), job().findings, Path("job.yaml"), next_command="build"),
    }


def test_sizes_are_not_rounded(outputs) -> None:
    """57.15 and 1.65 stand there; nowhere does the radius read as 57.1 or 57.2, nor the wall as 1.6 or 1.7."""
    assert "CLR 57.15 mm" in outputs["sheets"]
    assert "57.15" in outputs["page"]
    assert "57.15" in outputs["terminal"]
    assert "38.1 x 1.65 mm" in outputs["sheets"]
    assert "38.1 x 1.65 mm" in outputs["templates"]
    for name, words in outputs.items():
        assert not re.search(r"CLR (mm )?57\.[12](?!\d)", words), name
        assert not re.search(r"38\.1 x 1\.[67](?!\d)", words), name


def test_angles_stay_within_a_turn(outputs) -> None:
    """417.5° reads 57.5; no angle anywhere is more than 360."""
    assert json.loads(json.dumps(mg.report(job())))["collectors"]["A"]["clock_deg"] == pytest.approx(57.5)
    assert "417.5" not in " ".join(outputs.values())
    for name, words in outputs.items():
        assert all(float(a) <= 360.0 for a in re.findall(r"(?<!\d)(\d+(?:\.\d+)?) ?°(?!C)", words)), name
