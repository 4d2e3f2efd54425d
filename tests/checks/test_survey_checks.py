"""What the checks say of places that come from the survey: each limit with a job just inside and one just outside."""

from __future__ import annotations

from dataclasses import replace

import pytest

from manifoldgen.checks import survey_doubtful, survey_gap, survey_joint
from manifoldgen.checks.finding import Finding
from manifoldgen.checks.gaps import gap_table
from manifoldgen.geometry.path import Bend, Path, Straight
from manifoldgen.geometry.shapes import Cylinder
from manifoldgen.manifold.model import Manifold, Obstacle
from manifoldgen.manifold.survey.result import Next
from manifoldgen.pieces import split
from tests import factory
from tests.factory import TUBE, alone, runner
from tests.surveys import by_survey

NEAR = 0.02  # mm and degrees either side of a limit
EITHER = pytest.mark.parametrize("side", [-1, 1], ids=["outside", "inside"])


def beside(gap: float, asked: float, known: float, **more: object) -> Manifold:
    """A straight runner and a post beside it, wall to wall `gap` mm; the post stands on a point known to `known` mm."""
    x = TUBE.radius + gap + 10.0
    post = Obstacle("post", Cylinder((x, 0, 0), (x, 0, 400), 10.0), asked, surveyed=("foot",), **more)  # type: ignore[arg-type]
    m = replace(alone(factory.manifold(), runner(1, [Straight(200)])), obstacles=(post,))
    return by_survey(m, foot=known)


def unsure(m: Manifold) -> tuple[Finding, ...]:
    """The findings of `survey_gap`."""
    return survey_gap.check(m, gap_table(m))


@EITHER
def test_a_gap_has_to_be_there_wherever_the_survey_leaves_the_body(side) -> None:
    """Closed form: 14 mm with 12 required can take 2 mm (by hand: 14 - 2 = 12)."""
    found = unsure(beside(14.0, 12.0, 2.0 - side * NEAR))

    assert len(found) == (side < 0)
    for finding in found:
        assert (finding.name, finding.severity, finding.unit) == ("survey-gap", "warning", "mm")
        assert finding.value == pytest.approx(14.0 - 2.0 - NEAR, abs=2e-3)
        assert finding.limit == 12.0


def test_the_sentence_has_gap_limit_bound_and_promise() -> None:
    """14 mm, 12 required, known to 5: 9 can be promised; both parts, both points, and 3 mm to move (by hand)."""
    (finding,) = unsure(beside(14.0, 12.0, 5.0))

    assert finding.message == (
        "runner 1 to post is 14.0 mm, 12.0 mm required; post is known to ±5.0 mm there (95 %), so no more than 9.0 mm can "
        "be promised."
    )
    assert finding.value == pytest.approx(9.0, abs=2e-3)
    assert finding.parts == ("runner 1", "post")
    assert len(finding.points) == 2
    assert "move it at least 3.0 mm away" in finding.do


@EITHER
def test_what_may_touch_is_an_error(side) -> None:
    """6 mm of gap and a body that may be 6 mm nearer: by hand, nothing is left."""
    (finding,) = unsure(beside(6.0, 5.0, 6.0 - side * NEAR))

    assert finding.severity == ("error" if side < 0 else "warning")
    assert ("may touch" in finding.message) == (side < 0)


def test_a_gap_that_is_short_anyway_is_told_once() -> None:
    """11 mm with 12 required is `obstacle-gap`, whatever the survey says."""
    assert unsure(beside(11.0, 12.0, 5.0)) == ()


def test_heat_asks_for_its_gap_too() -> None:
    """51 mm to something that must not get hot, 50 required: 1 mm is open, 1.5 is not covered."""
    m = beside(51.0, 10.0, 1.5, heat_sensitive=True)
    m = replace(m, limits=replace(m.limits, heat_gap=50.0))
    (finding,) = unsure(m)

    assert (finding.limit, finding.value) == (50.0, pytest.approx(49.5, abs=2e-3))


def test_what_to_measure_next_is_said_and_whether_it_settles_it() -> None:
    """Two readings bring the foot to 1.9 mm, and 2 are harmless; of a gap of 13 none does, and all three are named."""
    more = tuple(Next("S1", b, "mm", mm, None) for b, mm in (("foot", 3.0), ("top", 1.9), ("heel", 1.5)))
    settled, open_ = (beside(gap, 12.0, 5.0) for gap in (14.0, 13.0))
    told = []
    for m in (settled, open_):
        foot = replace(m.survey.points["foot"], measure_next=more)
        told.append(unsure(replace(m, survey=replace(m.survey, points={"foot": foot})))[0].do)

    assert told[0].startswith(
        "Measure next S1 to foot, S1 to top: then foot is known to ±1.9 mm, which settles it."
    )
    assert told[1].startswith(
        "Measure next S1 to foot, S1 to top, S1 to heel: then foot is known to ±1.5 mm. Or"
    )


@EITHER
@pytest.mark.parametrize(("mm", "deg"), [(10.0, 1.0), (1.0, 3.0)], ids=["place", "facing"])
def test_a_turbo_known_too_badly_is_an_error(mm, deg, side) -> None:
    """Catalogue: 10 mm and 3° at 95 %."""
    loose = (mm - side * NEAR, deg) if mm == 10.0 else (mm, deg - side * NEAR)
    found = survey_doubtful.check(by_survey(factory.manifold(), turbo=loose))

    assert [(f.name, f.severity) for f in found] == [("survey-doubtful", "error")] * (side < 0)
    for finding in found:
        assert (finding.value, finding.limit) == ((loose[0], 10.0) if mm == 10.0 else (loose[1], 3.0))
        assert finding.unit == ("mm" if mm == 10.0 else "deg")


@EITHER
def test_a_point_counts_where_an_obstacle_hangs_on_it(side) -> None:
    """10 mm for the post's foot; the same of a point that only helps to measure is nobody's error."""
    m = beside(100.0, 12.0, 10.0 - side * NEAR)
    alone_ = by_survey(replace(m, obstacles=()), foot=10.0 - side * NEAR)

    assert [f.severity for f in survey_doubtful.check(m)] == ["error"] * (side < 0)
    assert survey_doubtful.check(alone_) == ()


def test_gaps_to_a_place_known_too_badly_are_not_judged() -> None:
    """The place itself is the error; a sentence for each gap beside it would bury that."""
    assert unsure(beside(14.0, 12.0, 12.0)) == ()
    assert len(survey_doubtful.check(beside(14.0, 12.0, 12.0))) == 1


def closed(mm: float, deg: float = 0.0, straight: float = 20.0) -> Manifold:
    """A job in pieces whose outlet ends with a straight of this length on a surveyed turbo."""
    m = factory.manifold()
    elements = (Straight(30), Bend(90, 76.2, 0), *((Straight(straight),) if straight else ()))
    m = replace(m, outlet=replace(m.outlet, path=Path(m.outlet.start, elements)))
    return split(by_survey(m, turbo=(mm, deg)))


@EITHER
@pytest.mark.parametrize("limit", ["mm", "deg"])
def test_an_end_is_promised_no_better_than_the_turbo_is_known(limit, side) -> None:
    """Catalogue: 1 mm and 0.5°; the note has the wider of the two."""
    known = (1.0 - side * NEAR, 0.0) if limit == "mm" else (0.0, 0.5 - side * NEAR)
    found = survey_joint.check(closed(*known))

    assert len(found) == (side < 0)
    for finding in found:
        assert (finding.name, finding.severity, finding.unit) == ("survey-joint", "note", limit)
        assert finding.value == pytest.approx(known[limit == "deg"], rel=1e-4)
        assert finding.limit == (1.0 if limit == "mm" else 0.5)
        assert finding.parts == ("outlet", "turbo flange")


@EITHER
def test_the_last_straight_has_to_be_long_enough_to_be_trimmed(side) -> None:
    """If the turbo is 8 mm nearer, 8 mm of the straight go: 8.02 mm are enough, 7.98 are not."""
    (finding,) = survey_joint.check(closed(8.0, straight=8.0 + side * NEAR))

    assert finding.severity == ("warning" if side < 0 else "note")
    assert ("O-P3 is left 12.0 mm longer" in finding.do) == (
        side > 0
    )  # catalogue: 4 mm of trim, and 8 of the survey


def test_where_the_outlet_ends_with_a_bend_the_runners_close() -> None:
    """Each of the three runners ends with a straight of 200 mm: three notes."""
    found = survey_joint.check(closed(8.0, straight=0.0))

    assert [f.severity for f in found] == ["note"] * 3
    assert [f.parts[0] for f in found] == ["runner 1", "runner 2", "runner 3"]


def test_a_typed_turbo_has_no_such_finding() -> None:
    """Nothing is open where the place was typed."""
    m = split(factory.manifold())

    assert survey_joint.check(m) == survey_doubtful.check(m) == survey_gap.check(m, gap_table(m)) == ()
    assert all("known_to_mm" not in p.as_dict() for p in gap_table(m))


def test_gaps_between_what_is_made_on_the_bench_are_exact() -> None:
    """Runner, collector and head flange are made in the bench frame: only gaps to the turbo's flange are open."""
    m = by_survey(factory.manifold(), turbo=(9.0, 2.0))
    open_ = {(p.a, p.b) for p in gap_table(m) if p.known_to}

    assert open_
    assert all("turbo flange" in pair for pair in open_)
