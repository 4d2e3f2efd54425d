"""Tape and gauge: exact readings give the exact pose, errors stay inside what is stated, mistakes are named."""

from __future__ import annotations

import numpy as np
import pytest

from manifoldgen.errors import GeometryError
from manifoldgen.geometry.vectors import angle_between
from manifoldgen.manifold.assemble import assemble
from manifoldgen.manifold.survey.answer import survey
from manifoldgen.parameters import load_text
from tests.benchmarks.sweep_survey import sweep
from tests.jobs import FOUR, load_four
from tests.surveys import HOLES, KNOWN, PORTS, STUDS, UP, Truth, job, truth

FLANGE = {"opening": {"rectangle": [54, 44], "corner": 10}, "thickness": 12}


def every(t: Truth, starts: object) -> list[dict]:
    """A distance from each of `starts` to each bolt hole."""
    return [t.distance(a, b) for a in starts for b in HOLES]


@pytest.mark.parametrize("seed", range(4))
def test_exact_readings_give_the_exact_pose(seed):
    """Closed form: readings computed from a pose are fitted by that pose and leave nothing."""
    t = truth(np.random.default_rng(seed))
    found = survey(job(every(t, ["S1", "S2", "S5", "S8", "P1", "P4"])))

    assert found is not None
    assert found.turbo is not None
    assert np.allclose(found.turbo.at, t.face.at, atol=1e-5)
    assert angle_between(found.turbo.facing, t.face.z) < 1e-5
    assert max(abs(r.residual) for r in found.readings) < 1e-5
    assert found.warnings == ()
    assert found.spare == 24 - 6


def test_the_outlet_ends_on_the_surveyed_face():
    """The turbo flange's bolts stand where the surveyed bolt holes are, 12 mm upstream: at, facing and clock agree."""
    t = truth(np.random.default_rng(11))
    m = assemble(job(every(t, ["S1", "S2", "S5", "S8", "P1", "P4"])))
    bolts = {s.id: s.at for s in m.studs if s.flange == "turbo flange"}

    assert m.survey is not None
    assert "survey" not in m.unused
    for i in range(1, 5):
        expected = t.place(f"turbo.B{i}") - 12 * np.asarray(t.face.z)
        assert np.allclose(bolts[f"T{i}"], expected, atol=1e-4)


def test_points_of_ones_own_are_found_and_carry_shapes():
    """Points off the flange plane are measured from studs, the turbo from them; a cylinder hangs on one."""
    base = truth(np.random.default_rng(5))
    own = {"rail_end": (-60.0, 80.0, 240.0), "strut": (330.0, 120.0, 200.0), "bolt": (150.0, 380.0, 90.0)}
    t = Truth(base.face, own)
    made = [t.distance(a, b) for b in own for a in ("S1", "S4", "S8", "P1", "P4")] + every(t, own)
    made += [t.angle("x"), t.distance("S1", "turbo.B1"), t.distance("S8", "turbo.B1")]
    pipe = {"name": "rail", "cylinder": {"from": "rail_end", "to": [330, 400, 40], "radius": 8}}
    m = assemble(job(made, obstacles=[pipe]))

    assert m.survey is not None
    for name, at in own.items():
        assert np.allclose(m.survey.points[name].at, at, atol=1e-4)
    assert np.allclose(m.survey.turbo.at, t.face.at, atol=1e-4)
    assert np.allclose(
        next(o for o in m.obstacles if o.name == "rail").shape.start, own["rail_end"], atol=1e-4
    )
    assert not any("rail" in name for name in m.unused)


def test_mirror_image_is_said_when_all_points_lie_in_one_plane():
    """Closed form: distances from points with z = 38 are the same on the other side, at 76 - z."""
    t = truth(np.random.default_rng(2))
    found = survey(job(every(t, ["S1", "S2", "S5", "S8"])))

    assert found is not None
    assert found.turbo is not None
    assert np.allclose(found.turbo.at, t.face.at, atol=1e-4)  # the one in front of the flange
    assert found.other is not None
    x, y, z = t.face.at
    assert np.allclose(found.other.at, (x, y, 76 - z), atol=1e-3)
    assert "one the mirror image of the other" in found.warnings[0]
    assert "in front of the flange" in found.warnings[0]
    apart = np.linalg.norm(np.subtract(found.other.at, found.turbo.at))
    assert (
        found.turbo.expected_error_mm < apart / 2
    )  # nobody builds a turbo into the engine: it is no error of the place


@pytest.mark.parametrize("seed", range(6))
def test_of_two_mirror_images_the_one_in_front_is_taken(seed):
    """Both fit to the last digit; the engine fills what is behind the flange."""
    t = truth(np.random.default_rng(seed))
    found = survey(job(every(t, ["S2", "S3", "S6", "S7"])))

    assert np.allclose(found.turbo.at, t.face.at, atol=1e-3)
    assert found.other.at[2] < 0


def test_points_alone_may_have_mirror_images():
    """The turbo is sure, but points measured from stud tips only lie at z or at 76 - z; closed form, each is told."""
    own = {f"bracket{i}": (60.0 * i, 150.0 - 10 * i, 66.0 + 2 * i) for i in range(5)}
    t = Truth(truth(np.random.default_rng(2)).face, own)
    made = every(t, ["S1", "S2", "S5", "S8", "P1", "P4"])
    made += [t.distance(a, name) for a in ("S1", "S2", "S5", "S8") for name in own]
    found = survey(job(made))

    assert np.allclose(found.turbo.at, t.face.at, atol=1e-3)
    assert len(found.warnings) == 5
    for name, (x, y, z) in own.items():
        warning = next(w for w in found.warnings if f"two places of {name}:" in w)
        assert f"[{x:.1f}, {y:.1f}, {z:.1f}]" in warning
        assert f"[{x:.1f}, {y:.1f}, {76 - z:.1f}]" in warning
        assert "which one cannot be told" in warning


def test_an_angle_settles_the_mirror_image_where_it_can():
    """The mirror image's facing is (-x, -y, z): an angle to x tells the two apart, one to z does not."""
    t = truth(np.random.default_rng(2))
    flat = every(t, ["S1", "S2", "S5", "S8"])

    assert survey(job([*flat, t.angle("x")])).other is None
    assert survey(job([*flat, t.angle("z")])).other is not None


def test_the_reading_named_to_settle_it_does():
    """What the sentence asks for is measured, and the second place is gone."""
    t = truth(np.random.default_rng(2))
    flat = every(t, ["S1", "S2", "S5", "S8"])
    asked = survey(job(flat)).warnings[0].partition("; measure ")[2].removesuffix(" to be sure").split(" to ")
    reading = t.angle(asked[1]) if asked[0] == "turbo.facing" else t.distance(*asked)

    assert survey(job([*flat, reading])).other is None


def test_numbering_changes_nothing():
    """The same readings in another order, studs and bolt holes numbered another way: the same pose."""
    rng = np.random.default_rng(8)
    t = truth(rng)
    made = [t.distance(a, b, rng.normal(0, 2)) for a in ("S1", "S3", "S6", "S8", "P2") for b in HOLES]
    studs, holes = list(STUDS), list(HOLES)
    order, turn = rng.permutation(len(studs)), rng.permutation(len(holes))
    names = {studs[k]: f"S{i + 1}" for i, k in enumerate(order)}
    names |= {holes[k]: f"turbo.B{i + 1}" for i, k in enumerate(turn)}
    renamed = [{**r, "from": names.get(r["from"], r["from"]), "to": names[r["to"]]} for r in made]
    rng.shuffle(renamed)
    positions = [STUDS[studs[k]][:2] for k in order]
    again = job(
        renamed,
        head_flange__studs={"thread": "M8", "length": 38, "positions": positions},
        turbo__flange={
            **FLANGE,
            "bolts": {"kind": "bolt", "thread": "M10", "positions": [HOLES[holes[k]] for k in turn]},
        },
    )
    first, second = survey(job(made)).turbo, survey(again).turbo

    assert np.allclose(first.at, second.at, atol=1e-3)
    assert angle_between(first.facing, second.facing) < 1e-3
    assert first.clock == pytest.approx(second.clock, abs=1e-3)
    assert first.expected_error_mm == pytest.approx(second.expected_error_mm, rel=1e-4)


def test_moving_everything_moves_the_pose_with_it():
    """Ports and studs shifted in the flange plane: the same readings give the pose shifted as far."""
    rng = np.random.default_rng(9)
    t = truth(rng)
    made = [t.distance(a, b, rng.normal(0, 2)) for a in KNOWN for b in HOLES]
    dx, dy = 55.0, -30.0
    ports = {n + 1: (x + dx, y + dy) for n, (x, y, _) in enumerate(PORTS.values())}
    shifted = job(
        made,
        head_flange__ports={"shape": {"round": 36}, "positions": ports},
        runners__paths=dict.fromkeys((1, 2, 3, 4), "auto"),
    )
    first, second = survey(job(made)).turbo, survey(shifted).turbo

    assert np.allclose(np.add(first.at, (dx, dy, 0)), second.at, atol=1e-3)
    assert np.allclose(first.facing, second.facing, atol=1e-5)


def test_truth_lies_inside_the_stated_error_and_gross_errors_are_named():
    """30 random surveys, normal errors of 2 mm and 0.5°: 27 inside their 95 %, 29 gross errors of 30 mm named."""
    seed = 20
    print(f"seed {seed}")
    tally = sweep(30, seed)

    assert tally.inside_mm >= 27
    assert tally.inside_deg >= 27
    assert tally.named >= 29


def test_too_few_readings_say_what_stays_open():
    """Closed form: three angles fix the facing; place and clock stay open, and the place in the file is said."""
    text = (
        FOUR.split("survey:\n")[0]
        .replace("inlet: {at: [144, 373, 316], facing: [0, 0.3, 0.95], clock: 0}", "inlet: {at: survey}")
        .replace("from: rail_end", "from: [0, 0, 300]")
    )
    angles = "".join(
        f"  - {{angle: turbo.facing, to: {a}, deg: {d}}}\n" for a, d in (("x", 80), ("y", 60), ("z", 33))
    )
    with pytest.raises(GeometryError) as told:
        assemble(load_text(f"{text}survey:\n{angles}"))

    message = str(told.value)
    assert "3 readings do not fix the turbo's pose" in message
    assert "the turbo's place along x, y, z and its clock stay open" in message
    assert "facing and" not in message.partition("stay open")[0]
    assert "measure next" in message


def test_a_turbo_hanging_on_one_hole_is_not_fixed():
    """Any number of distances to one hole leave three turns open."""
    t = truth(np.random.default_rng(1))
    with pytest.raises(GeometryError, match=r"12 readings do not fix .* its facing and its clock stay open"):
        assemble(job([t.distance(a, "turbo.B1") for a in KNOWN]))


@pytest.mark.parametrize(
    ("reading", "told"),
    [
        ({"from": "S99", "to": "turbo.B1", "mm": 300}, "there is no point 'S99': there are 8, S1 to S8"),
        ({"from": "P5", "to": "turbo.B1", "mm": 300}, "there is no point 'P5': there are 4, P1 to P4"),
        ({"from": "S1", "to": "turbo.B5", "mm": 300}, r"there are 4, turbo.B1 to turbo.B4"),
        ({"from": "S1", "to": "turbo.inlet", "mm": 300}, "there is no point 'turbo.inlet'"),
        ({"angle": "turbo.axis", "to": "z", "deg": 30}, "an angle is read on turbo.facing"),
    ],
)
def test_points_that_are_not_there_are_told(reading, told):
    """A slip in a name must not become a point of its own."""
    with pytest.raises(GeometryError, match=told):
        assemble(job([reading]))


def test_vband_and_missing_block_are_told():
    """No holes to measure to, or nothing measured at all: one sentence each."""
    vband = {
        "opening": {"round": 50},
        "vband": {"od": 84, "thickness": 14, "clamp_od": 104, "clamp_width": 20},
    }
    reading = [{"angle": "turbo.facing", "to": "z", "deg": 30}]
    with pytest.raises(GeometryError, match="a survey needs bolt holes"):
        assemble(job(reading, turbo__flange=vband))
    with pytest.raises(GeometryError, match="needs the block survey"):
        assemble(job([]))


def test_a_typed_pose_is_held_against_the_readings():
    """With a typed pose each reading checks it: a distance that the pose contradicts is named with both numbers."""
    t = Truth(assemble(load_four()).turbo.frame, {})
    far = {"from": "S1", "to": "turbo.B1", "mm": 412}
    m = assemble(load_four(survey=[far], obstacles=None))
    at = np.asarray(t.face.at) + 12 * np.asarray(t.face.z)
    true = np.linalg.norm(at - 37 * np.asarray(t.face.x) - 32 * np.asarray(t.face.y) - KNOWN["S1"])

    assert m.survey.turbo is None
    assert m.survey.readings[0].residual == pytest.approx(true - 412, abs=1e-6)
    assert m.survey.warnings == (f"S1 to turbo.B1: 412.0 mm is {true - 412:.1f} mm off: measure it again",)


def test_circle_of_bolts_counts_from_the_flange_axes():
    """Holes on a circle stand from +y towards -x, as the flange's own bolts do."""
    t = truth(np.random.default_rng(4))
    x, y = np.asarray(t.face.x), np.asarray(t.face.y)
    spots = [52.5 * y, -52.5 * x, -52.5 * y, 52.5 * x]
    made = [
        {"from": a, "to": f"turbo.B{i}", "mm": float(np.linalg.norm(t.face.at + spot - np.asarray(KNOWN[a])))}
        for a in ("S1", "S4", "S8", "P1", "P3")
        for i, spot in enumerate(spots, start=1)
    ]
    bolts = {"kind": "bolt", "thread": "M10", "circle": 105, "count": 4}
    found = survey(job(made, turbo__flange={**FLANGE, "bolts": bolts}))
    plain = type(t.face).facing(t.face.at, t.face.z, UP, found.turbo.clock)

    assert np.allclose(found.turbo.at, t.face.at, atol=1e-5)
    assert np.allclose(plain.y, t.face.y, atol=1e-6)
