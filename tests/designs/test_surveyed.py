"""One job by three surveys: known to 2 mm, with a gross error, and too thin; what check, sheets, lists, page and report say."""

from __future__ import annotations

import csv
import io
import json
import math
import re

import pytest

from manifoldgen.designs import Design
from manifoldgen.drawing.sheets.check import check_words
from manifoldgen.manifold.known import end_error
from manifoldgen.manifold.rates import rate
from manifoldgen.reports import report
from manifoldgen.reports.page import made
from manifoldgen.shop.lists import cut_csv
from tests.reports.same_numbers import in_report, number_of, on_page
from tests.surveys import RAIL, every_reading, few_readings, sand_rail, within_two
from tests.worked import demo

TRIM = 4.0  # mm, the catalogue's: common practice, no source


@pytest.fixture(scope="module")
def fine() -> Design:
    """Known to some 2 mm."""
    return within_two()


def of(design: Design, *names: str) -> list[tuple[str, str]]:
    """Name and severity of the findings with these names."""
    return [(f.name, f.severity) for f in design.findings if f.name in names]


def closing_row(design: Design):
    """The cut list's row of the piece that closes on the turbo."""
    (row,) = [row for row in design.shop.cuts if "JT.1" in row.joints]
    return row


def test_a_survey_of_two_millimetres_is_all_well(fine) -> None:
    """Turbo and cross tube known to 2 to 3 mm: no error, nothing unsure, a note on the joint that closes."""
    survey = fine.manifold.survey

    assert 1.5 < survey.turbo.expected_error_mm < 2.5
    assert all(1.5 < survey.points[p].expected_error_mm < 2.5 for p in ("tube_left", "tube_right"))
    assert fine.ok
    assert of(fine, "survey-gap", "survey-doubtful", "survey-joint") == [("survey-joint", "note")]


def test_the_piece_that_closes_is_longer_by_what_is_open(fine) -> None:
    """By hand: 4 mm of the shop and what the survey leaves open; where the turbo is typed the piece has neither."""
    row, plain = closing_row(fine), closing_row(demo("sand_rail_four"))
    mm, _ = end_error(fine.manifold, fine.manifold.outlet)

    assert (row.piece, plain.trim, plain.survey) == ("O-P3", 0.0, 0.0)
    assert row.trim == pytest.approx(TRIM + mm)
    assert row.cut == pytest.approx(plain.cut + TRIM + mm)
    assert row.comes_off == pytest.approx((TRIM, TRIM + 2 * mm))  # the turbo mm further off, mm nearer
    assert {r.trim for r in fine.shop.cuts if r.part.startswith("runner")} == {0.0, TRIM}


def test_saw_stock_lists_and_report_have_that_length(fine) -> None:
    """One number: cut list, what the saw takes, the slice of the bar, CSV and report.json."""
    row = closing_row(fine)
    slices = {s.piece: s for taken in fine.shop.stock.taken for s in taken.slices}
    listed = {r["piece"]: r for r in csv.DictReader(io.StringIO(cut_csv(fine.shop)))}
    (told,) = [p for p in report(fine)["pieces"] if p["piece"] == row.piece]

    assert fine.shop.sawn[row.piece].before == pytest.approx(row.cut)
    assert slices[row.piece].legs[0] == pytest.approx(row.cut)
    assert float(listed[row.piece]["trim_mm"]) == pytest.approx(row.trim, abs=0.05)
    assert told["trim_mm"] == row.trim


def test_check_boxes_ask_for_no_more_than_was_measured(fine) -> None:
    """Every run of the job ends where the survey puts it; as many tenths as asked are at least what is open."""
    m = fine.manifold
    for run in m.runs:
        words = " ".join(check_words(fine, run))
        mm, deg = (float(x) for x in re.search(r"within ([\d.]+) mm; .* within ([\d.]+)°", words).groups())
        open_mm, open_deg = end_error(m, run)
        assert open_mm > rate(m, "end_point")
        assert open_mm <= mm <= open_mm + 0.1 + 1e-9
        assert max(open_deg, rate(m, "end_angle")) <= deg <= max(open_deg, rate(m, "end_angle")) + 0.1
        assert f"±{open_mm:.1f} mm and ±{open_deg:.1f}°" in words
    typed = demo("sand_rail_four")
    assert all("within 1 mm; " in " ".join(check_words(typed, r)) for r in typed.manifold.runs)
    assert not any("survey" in w for r in typed.manifold.runs for w in check_words(typed, r))


def test_the_check_box_says_how_the_last_piece_is_trimmed(fine) -> None:
    """On the engine, to the turbo itself, with both ends of what may come off; the runners' on the jig."""
    row = closing_row(fine)
    least, most = TRIM, TRIM + 2 * row.survey
    outlet, runner = (
        " ".join(check_words(fine, r)) for r in (fine.manifold.outlet, fine.manifold.runners[0])
    )

    assert (
        f"O-P3 is {row.trim:.1f} mm longer, {row.survey:.1f} of it for the survey: trim it on the engine"
        in outlet
    )
    assert f"{least:.1f} to {most:.1f} mm come off" in outlet
    assert "is 4 mm longer: trim it on the jig" in runner


def test_the_joint_that_closes_is_fitted_and_tacked_last_on_the_engine(fine) -> None:
    """After everything else that is tacked in place, before the trial fit; the turbo flange is on the turbo, not on its post."""
    steps = {s.id: n for n, s in enumerate(fine.shop.steps)}
    trim = fine.shop.steps[steps["trim-O-P3"]]
    first_weld = min(n for i, n in steps.items() if i.startswith("weld-"))

    assert trim.station == "engine"
    assert "the turbo flange bolted to the turbo itself" in trim.what
    assert steps["trim-O-P3"] + 1 == steps["tack-JT.1"] == steps["trial-fit"] - 1
    assert {"tack-JO.3", "tack-J1.1", "tack-JW.2"} <= set(trim.needs)
    assert steps["tack-JT.1"] < first_weld
    assert "trim-O-P3" not in {s.id for s in demo("sand_rail_four").shop.steps}


def test_report_and_page_carry_the_bounds(fine) -> None:
    """Of each surveyed place ± mm, ± degrees, the worst axis; every number on the page is the report's."""
    content = json.loads(json.dumps(report(fine)))
    survey, found = content["survey"], on_page(made(fine, content).text)
    pose = fine.manifold.survey.turbo

    assert survey["turbo"]["expected_error_mm"] == pose.expected_error_mm
    assert survey["turbo"]["expected_error_deg"] == pose.expected_error_deg
    assert math.hypot(*survey["turbo"]["worst_axis"]) == pytest.approx(1.0)
    assert "covariance" not in survey["turbo"]
    keys = [k for k in found if k.startswith("survey.") and k.endswith(("error_mm", "error_deg", "axis_mm"))]
    assert len(keys) == 3 + 2 * len(RAIL.points)
    for key in keys:
        assert all(abs(number_of(said) - in_report(content, key)) <= 0.051 for said in found[key])
    open_ = {g["b"]: g["known_to_mm"] for g in content["gaps"] if "known_to_mm" in g}
    assert {"turbo flange", "turbine housing", "cross tube"} <= set(open_)
    assert open_["cross tube"] >= survey["points"]["tube_left"]["expected_error_mm"]


def test_a_gross_error_is_named_and_the_rest_holds() -> None:
    """One of 139 readings is 40 mm off: it is named with what the rest gives, and the job is as well as without it."""
    readings = every_reading()
    true = readings[5]["mm"]
    readings[5] = {**readings[5], "mm": true + 40.0}
    label = f"{readings[5]['from']} to {readings[5]['to']}"
    design = sand_rail(readings, 0.5)

    assert design.manifold.survey.outliers == (label,)
    assert design.ok
    assert of(design, "survey-doubtful") == [("survey-doubtful", "warning")]
    (told,) = [f.message for f in design.findings if f.name == "survey-doubtful"]
    assert told == (
        f"{label}: {true + 40:.1f} mm cannot be right, the rest gives {true:.1f} mm: measure it again (it is left out)."
    )


def test_a_thin_survey_is_an_error_with_what_to_measure_next() -> None:
    """24 distances from four places and two angles: beyond 10 mm; the readings named make it better, as foretold."""
    design = sand_rail(few_readings())
    places = {f.message.split(" is known")[0]: f for f in design.findings if f.severity == "error"}

    assert set(places) == {"the turbo", "tube_left", "tube_right"}
    turbo = places["the turbo"]
    assert (turbo.name, turbo.unit, turbo.limit) == ("survey-doubtful", "mm", 10.0)
    assert turbo.value == design.manifold.survey.turbo.expected_error_mm > 10.0
    assert turbo.do.startswith("Measure next ")
    more = design.manifold.survey.turbo.measure_next
    extra = [RAIL.angle(n.b) if n.unit == "deg" else RAIL.distance(n.a, n.b) for n in more]
    again = sand_rail([*few_readings(), *extra]).manifold.survey.turbo
    assert again.expected_error_mm == pytest.approx(more[-1].expected_error_mm, rel=0.02)
