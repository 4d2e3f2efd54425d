"""The arithmetic of a survey: slopes, the search, expected errors, doubtful readings, what to measure next."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats
from scipy.optimize import least_squares
from scipy.spatial.transform import Rotation

from manifoldgen.geometry.pose import Frame
from manifoldgen.manifold.survey.adjust import adjust
from manifoldgen.manifold.survey.answer import survey
from manifoldgen.manifold.survey.bound import radius
from manifoldgen.manifold.survey.form import form
from manifoldgen.manifold.survey.net import make_net
from manifoldgen.manifold.survey.plan import candidates
from manifoldgen.manifold.survey.result import SurveyResult
from manifoldgen.manifold.survey.rows import Rows, States
from tests.jobs import load_four
from tests.surveys import GAUGE, HOLES, KNOWN, TAPE, Truth, job, readings, truth


def noisy(seed: int) -> tuple[Truth, list[dict]]:
    """A random pose and its readings with errors."""
    rng = np.random.default_rng(seed)
    t = truth(rng)
    return t, readings(t, rng)[0]


def test_slopes_are_the_differences():
    """Closed form: each reading's derivative is its central difference, by place, turn and free point."""
    t, made = noisy(1)
    own = Truth(t.face, {"post": (20.0, 200.0, 150.0)})
    made += [own.distance(a, "post") for a in ("S1", "S5")] + [own.distance("post", "turbo.B3")]
    net = make_net(job(made), turbo_open=True)
    rows = Rows.of(net, net.readings)
    state = States(np.array([t.face.at]), t.face.matrix[None], np.array([[own.points["post"]]]))
    _, slope = rows.evaluate(state)
    for k in range(9):
        h = 1e-6 if 3 <= k < 6 else 1e-4
        step = np.zeros((1, 9))
        step[0, k] = h
        ahead, behind = (rows.evaluate(state.moved(s * step))[0] for s in (1, -1))
        assert np.allclose(slope[0, :, k], (ahead - behind)[0] / (2 * h), atol=2e-5)


def test_search_finds_what_another_solver_finds_from_the_truth():
    """An outside solver (scipy), with residuals of its own and started at the truth, ends in the same pose."""
    for seed in range(3):
        t, made = noisy(seed)

        def off(p, t=t, made=made):
            turned = Rotation.from_rotvec(p[3:]).as_matrix() @ t.face.matrix
            face = Truth(Frame(tuple(np.add(t.face.at, p[:3])), *map(tuple, turned.T)), {})
            told = [
                (face.distance(r["from"], r["to"])["mm"] - r["mm"]) / TAPE
                if "mm" in r
                else (face.angle(r["to"])["deg"] - r["deg"]) / GAUGE
                for r in made
            ]
            return np.array(told)

        known = least_squares(off, np.zeros(6), x_scale=[1, 1, 1, 0.02, 0.02, 0.02], xtol=1e-12, ftol=1e-12)
        found = adjust(make_net(job(made), turbo_open=True))
        if not found.left_out:
            assert np.allclose(found.state.at[0], np.add(t.face.at, known.x[:3]), atol=1e-2)
            assert (found.fit.off**2).sum() == pytest.approx(2 * known.cost, rel=1e-6)


@pytest.mark.parametrize(("count", "chi2"), [(1, 3.841), (2, 5.991), (3, 7.815)])
def test_radius_of_equal_errors(count, chi2):
    """NIST/SEMATECH Handbook, 1.3.6.7.4: upper 95 % values of chi square with 1, 2 and 3 degrees of freedom."""
    sizes = [4.0] * count + [0.0] * (3 - count)

    assert radius(np.diag(sizes)) == pytest.approx(2 * np.sqrt(chi2), rel=1e-4)


def test_radius_of_unequal_errors_holds_95_of_100():
    """200 000 drawn errors of a long thin covariance: the share inside is 95 % to half a per cent."""
    rng = np.random.default_rng(3)
    for sizes in ((9.0, 1.0, 1.0), (9.0, 9.0, 1.0), (25.0, 4.0, 1.0)):
        drawn = np.linalg.norm(rng.normal(size=(200_000, 3)) * np.sqrt(sizes), axis=1)
        assert (drawn < radius(np.diag(sizes))).mean() == pytest.approx(0.95, abs=0.005)


def test_residuals_larger_than_stated_widen_the_error():
    """All errors two and a half times the tape's: the level says so, the stated error grows, none is called wrong."""
    rng = np.random.default_rng(6)
    t = truth(rng)
    errors = [(a, b, rng.normal(0, TAPE)) for a in KNOWN for b in HOLES]
    fine = survey(job([t.distance(a, b, e) for a, b, e in errors]))
    rough = survey(job([t.distance(a, b, 2.5 * e) for a, b, e in errors]))

    assert rough.outliers == ()
    assert rough.level / fine.level == pytest.approx(2.5, rel=0.05)
    assert rough.turbo.expected_error_mm > 1.7 * fine.turbo.expected_error_mm
    assert any("times as much as tape and gauge explain" in w for w in rough.warnings)


def test_two_gross_errors_are_both_named_and_the_pose_is_right():
    """A tape read wrong by 100 mm and a stud mistaken for another are left out; the rest holds."""
    rng = np.random.default_rng(7)
    t = truth(rng)
    made = [t.distance(a, b, rng.normal(0, 0.5)) for a in KNOWN for b in list(HOLES)[:3]]
    made[3]["mm"] += 100
    made[20]["mm"] = t.distance("S4", made[20]["to"])["mm"]
    found = survey(job(made))

    assert {f"{made[i]['from']} to {made[i]['to']}" for i in (3, 20)} == set(found.outliers)
    assert np.linalg.norm(np.subtract(found.turbo.at, t.face.at)) < found.turbo.expected_error_mm
    assert f"{made[3]['mm']:.1f} mm cannot be right" in " ".join(found.warnings)


def test_one_spare_reading_shows_an_error_but_not_which():
    """Seven readings for six unknowns: any of them may be the wrong one, none is named alone, and the error allows for it."""
    t = truth(np.random.default_rng(12))
    pairs = [("S1", 1), ("S8", 2), ("P1", 3), ("S6", 4), ("P4", 1)]
    made = [t.distance(a, f"turbo.B{b}") for a, b in pairs]
    made[4]["mm"] += 12
    made += [t.angle("x"), t.angle("y")]
    found = survey(job(made))

    assert found.outliers == ()
    assert "P4 to turbo.B1" in found.torn[0]
    assert "P4 to turbo.B1" in found.warnings[0]
    assert "the others do not tell which" in found.warnings[0]
    assert np.linalg.norm(np.subtract(found.turbo.at, t.face.at)) < found.turbo.expected_error_mm


POST = Truth(Frame.facing((144, 373, 316), (0, 0.3, 0.95), (0, 1, 0)), {"post": (150.0, 180.0, 260.0)})


def post_by(readings_: list[tuple[str, float]]) -> SurveyResult:
    """A post measured from the head with these errors, mm; the turbo is typed."""
    made = [POST.distance(a, "post", error) for a, error in readings_]
    return survey(load_four(survey=made, obstacles=None))


def test_redundancy_numbers_make_the_spare_readings():
    """Baarda, from memory: the shares of their own error that readings show add up to how many are spare."""
    _, made = noisy(4)
    found = adjust(make_net(job(made), turbo_open=True))

    assert found.fit.share.sum() == pytest.approx(found.fit.spare) == pytest.approx(28 - 6)


def test_a_reading_taken_n_times_shows_all_but_an_nth_of_its_error():
    """Closed form for a mean of n: redundancy 1 - 1/n; an error shows from 4.13 standard deviations over its root.

    4.13 = 3.29 + 0.84, normal tables: 3.29 is passed by 0.1 % on both sides, 0.84 by 20 %.
    """
    found = post_by([(a, 0.0) for a in ("S1", "S4", "S7") for _ in range(4)])

    assert stats.norm.ppf(1 - 0.0005) + stats.norm.ppf(0.8) == pytest.approx(4.13, abs=0.005)
    assert [r.shows_from for r in found.readings] == pytest.approx(
        [4.13 * TAPE / math.sqrt(3 / 4)] * 12, rel=1e-6
    )


@pytest.mark.parametrize(("error", "told"), [(9.2, False), (9.4, True)])
def test_two_readings_of_one_distance_that_differ_cannot_be_told_apart(error, told):
    """Closed form: the test of both is d / (sigma root 2), and 3.29 is reached at d = 9.31 mm for a tape of 2 mm."""
    found = post_by([("S1", 0.0), ("S4", 0.0), ("S7", 0.0), ("S7", error)])

    assert found.outliers == ()
    assert found.torn == ((("S7 to post",) * 2,) if told else ())
    if told:
        there = POST.distance("S7", "post")["mm"]
        for mm in (there, there + error):
            assert f"S7 to post ({mm:.1f} mm)" in found.warnings[0]
        off = np.linalg.norm(np.subtract(found.points["post"].at, POST.points["post"]))
        assert off < found.points["post"].expected_error_mm


def test_of_three_readings_of_one_distance_the_odd_one_is_named():
    """The two that agree leave nothing to explain; with the odd one and either of them, much."""
    found = post_by([("S1", 0.0), ("S4", 0.0), ("S7", 0.0), ("S7", 0.5), ("S7", 30.0)])

    assert found.torn == ()
    assert [r.left_out for r in found.readings] == [False] * 4 + [True]
    assert np.allclose(found.points["post"].at, POST.points["post"], atol=1.0)


def test_a_wrong_reading_is_named_alone_only_where_it_can_be():
    """Few readings and large errors: of 40 surveys none names a sound reading, and each has the wrong one in its list."""
    rng = np.random.default_rng(70)
    print("seed 70")
    named = torn = 0
    for _ in range(40):
        t = truth(rng)
        made, label = readings(t, rng, 9, spoilt=60.0)
        found = survey(job(made))
        told = [*((label,) for label in found.outliers), *found.torn]
        assert not told or any(label in group for group in told)
        named += label in found.outliers
        torn += any(label in group for group in found.torn)

    assert named + torn >= 36
    assert named >= 20


def test_a_second_place_in_front_of_the_flange_counts_as_error():
    """Posts measured from stud tips only lie at z or at 76 - z (closed form): 20 mm apart, and the error takes both in."""
    t = Truth(truth(np.random.default_rng(2)).face, {"post": (60.0, 150.0, 28.0)})
    made = [t.distance(a, b) for a in ("S1", "S2", "S5", "S8", "P1", "P4") for b in HOLES]
    made += [t.distance(a, "post") for a in ("S1", "S2", "S5", "S8")]
    found = survey(job(made))
    sure = survey(job([*made, t.distance("P1", "post")]))

    assert any("two places of post" in w for w in found.warnings)
    assert found.points["post"].expected_error_mm >= 20.0
    assert sure.points["post"].expected_error_mm < found.points["post"].expected_error_mm
    assert not any("two places" in w for w in sure.warnings)


def test_what_to_measure_next_helps_the_thing_it_is_asked_for():
    """The readings named for a point, taken exactly, give the expected error foretold; none is named that hardly helps."""
    taken = [(a, 0.0) for a in ("S1", "S4", "S7", "turbo.B1")]
    point = post_by(taken).points["post"]
    more = [(n.a if n.b == "post" else n.b, 0.0) for n in point.measure_next]
    again = post_by([*taken, *more])

    assert len(more) == 3
    assert all("post" in (n.a, n.b) for n in point.measure_next)
    assert again.points["post"].expected_error_mm == pytest.approx(
        point.measure_next[-1].expected_error_mm, rel=0.02
    )


def test_no_spare_reading_is_said():
    """Six readings for six unknowns: nothing checks anything, and it is told so."""
    t = truth(np.random.default_rng(12))
    made = [
        t.distance(*p)
        for p in (("S1", "turbo.B1"), ("S4", "turbo.B2"), ("P4", "turbo.B3"), ("S6", "turbo.B4"))
    ]
    made += [t.angle("x"), t.angle("y")]
    found = survey(job(made))

    assert found.spare == 0
    assert all(r.doubt is None for r in found.readings)
    assert any("no reading is spare" in w for w in found.warnings)


def test_the_form_is_ordered_by_what_helps():
    """Nothing measured: an order is given from a nominal pose, each reading once, errors never growing."""
    made = form(job([]))
    errors = [
        (n.expected_error_mm, n.expected_error_deg) for n in made.next if n.expected_error_mm is not None
    ]

    assert made.basis == "nominal"
    assert len({n.label for n in made.next}) == len(made.next) == 27
    assert sum(n.expected_error_mm is None for n in made.next[:6]) >= 4  # six unknowns
    assert errors == sorted(errors, reverse=True)
    assert errors[-1][0] < errors[0][0] / 3


def test_the_form_keeps_its_promise():
    """The readings it asks for, taken exactly, give the expected error it foretold."""
    asked = form(load_four(survey=[], obstacles=None))
    typed = Truth(Frame.facing((144, 373, 316), (0, 0.3, 0.95), (0, 1, 0)), {})
    taken = [typed.angle(n.b) if n.unit == "deg" else typed.distance(n.a, n.b) for n in asked.next]
    found = survey(job(taken))

    assert asked.basis == "typed"
    assert found.turbo.expected_error_mm == pytest.approx(asked.next[-1].expected_error_mm, rel=0.02)
    assert found.turbo.expected_error_deg == pytest.approx(asked.next[-1].expected_error_deg, rel=0.02)


def test_what_is_measured_is_not_asked_again():
    """A reading in the file, whichever way round it is written, is no candidate."""
    t = truth(np.random.default_rng(1))
    back = {"from": "turbo.B2", "to": "S3", "mm": 300.0}
    net = make_net(job([t.distance("S1", "turbo.B1"), back, t.angle("y")]), turbo_open=True)
    state = States(np.array([t.face.at]), t.face.matrix[None], np.zeros((1, 0, 3)))
    labels = {r.label for r in candidates(net, state)}

    assert "S2 to turbo.B1" in labels
    assert not labels & {"S1 to turbo.B1", "S3 to turbo.B2", "turbo.facing to y"}
