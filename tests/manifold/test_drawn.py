"""Drawings named in the parameter file give outline, ports and bolts, and the finding says what was taken for what."""

from __future__ import annotations

import copy
import math
from pathlib import Path

import pytest
import yaml

import manifoldgen as mg
from manifoldgen.checks import dxf_read
from manifoldgen.errors import ManifoldgenError, ParameterError
from tests.readers.gaskets import HOLES, OVAL_AREA, PLATE_AREA, PORTS, draw, loose, saved

JOB = Path(__file__).parents[2] / "cq_scripts" / "jobs" / "orchard_sprayer_three.yaml"
WRITTEN = yaml.safe_load(JOB.read_text("utf-8"))


def job(folder: Path, **head) -> Path:
    """The demo with three ports, its head flange changed, beside the gasket."""
    made = copy.deepcopy(WRITTEN)
    for key, value in head.items():
        made["head_flange"][key] = value
    made["runners"]["paths"] = {1: "auto", 2: "auto", 3: "auto"}
    path = folder / "job.yaml"
    path.write_text(yaml.safe_dump(made, sort_keys=False), "utf-8")
    return path


def studs(**keys):
    """The demo's studs, placed otherwise."""
    block = {k: v for k, v in WRITTEN["head_flange"]["studs"].items() if k not in {"per_port", "positions"}}
    return {**block, **keys}


def test_ports_studs_and_outline_come_from_one_drawing(tmp_path):
    """The leftmost opening comes to (0, 0); everything else of the drawing moves with it; the file's place is told."""
    saved(tmp_path, lambda doc: draw(doc.modelspace(), shift=(333.0, -44.0)))
    path = job(
        tmp_path, ports={"dxf": "gasket.dxf"}, studs=studs(dxf="gasket.dxf"), outline={"dxf": "gasket.dxf"}
    )
    m = mg.assemble(mg.load(path))
    assert [v for p in m.ports for v in p.at[:2]] == pytest.approx([v for p in PORTS for v in p], abs=1e-5)
    assert [p.opening.kind for p in m.ports] == ["oval"] * 3
    assert m.ports[0].opening.contour.area == pytest.approx(OVAL_AREA, rel=1e-6)
    assert m.head.outline.area == pytest.approx(PLATE_AREA, rel=1e-6)
    assert [v for h in m.head.holes for v in h.at] == pytest.approx(
        [v for p in sorted(HOLES) for v in p], abs=1e-5
    )
    assert {h.diameter for h in m.head.holes} == {9.0}  # ISO 273 medium for M8, not the gasket's 8.5
    assert [h.id for h in m.head.holes] == ["S1", "S2", "S3", "S4", "S5", "S6"]
    (found,) = dxf_read.check(m)
    assert found.severity == "note"
    for words in (
        "gasket.dxf",
        "3 openings",
        "6 small circles",
        "leftmost opening is port 1",
        "seen looking upstream",
    ):
        assert words in found.message
    line = path.read_text("utf-8").splitlines()[found.where.line - 1]
    assert "gasket.dxf" in line
    assert not [u for u in m.unused if "dxf" in u]


def test_port_1_on_the_right_and_a_drawing_from_the_other_side(tmp_path):
    """`first: right` numbers to −x; `mirror` turns the drawing over first: the two together swap left and right."""
    saved(tmp_path, lambda doc: draw(doc.modelspace()))
    right = mg.assemble(mg.load(job(tmp_path, ports={"dxf": "gasket.dxf", "first": "right"})))
    assert [p.at[0] for p in right.ports] == pytest.approx([0, -100, -200], abs=1e-5)
    drawing = {"dxf": "gasket.dxf", "mirror": True}
    turned = mg.assemble(mg.load(job(tmp_path, ports=drawing, studs=studs(**drawing))))
    assert [p.at[0] for p in turned.ports] == pytest.approx([0, 100, 200], abs=1e-5)
    mirrored = sorted((200 - x, y) for x, y in HOLES)
    assert [v for h in turned.head.holes for v in h.at] == pytest.approx(
        [v for p in mirrored for v in p], abs=1e-5
    )


def test_an_outline_goes_with_the_written_ports(tmp_path):
    """Ports written out: the drawing is shifted so that its opening of port 1 lies on port 1; a misfit is told."""
    saved(tmp_path, lambda doc: draw(doc.modelspace(), shift=(9.0, 9.0)))
    ports = {k: v for k, v in WRITTEN["head_flange"]["ports"].items() if k != "positions"}
    m = mg.assemble(mg.load(job(tmp_path, outline={"dxf": "gasket.dxf"}, ports={**ports, "pitch": 100})))
    assert m.head.outline.bounds == pytest.approx((-50, -40, 250, 40), abs=1e-5)
    assert "opening of port 1 put on port 1" in m.drawn[0][0]
    assert "stands" not in m.drawn[0][0]
    m = mg.assemble(mg.load(job(tmp_path, outline={"dxf": "gasket.dxf"}, ports={**ports, "pitch": 96})))
    assert "another of its openings then stands 8.0 mm from the port that is written" in m.drawn[0][0]


def test_an_outline_alone_keeps_its_own_origin(tmp_path):
    """A drawing without openings: its origin is port 1's middle."""

    def fill(doc):
        loose(doc.modelspace(), (100.0, 0.0), (320.0, 90.0), 20.0)

    saved(tmp_path, fill)
    m = mg.assemble(mg.load(job(tmp_path, outline={"dxf": "gasket.dxf"})))
    assert m.head.outline.bounds == pytest.approx((-60, -45, 260, 45))
    assert "its origin taken for the middle of port 1" in m.drawn[0][0]


def test_a_tube_flange_takes_outline_and_bolts(tmp_path):
    """The opening's middle comes to the flange's middle; bolts are numbered from the left."""
    made = copy.deepcopy(WRITTEN)
    flange = {
        "opening": {"round": 50},
        "thickness": 12,
        "outline": {"dxf": "gasket.dxf"},
        "bolts": {"kind": "bolt", "thread": "M10", "dxf": "gasket.dxf"},
    }
    made["turbo"]["flange"] = flange

    def fill(doc):
        space = doc.modelspace()
        loose(space, (40.0, 50.0), (110.0, 90.0), 20.0)
        space.add_circle((40, 50), 25)
        for dx, dy in ((-40, -30), (40, -30), (40, 30), (-40, 30)):
            space.add_circle((40 + dx, 50 + dy), 5.5)

    saved(tmp_path, fill)
    path = tmp_path / "job.yaml"
    path.write_text(yaml.safe_dump(made, sort_keys=False), "utf-8")
    m = mg.assemble(mg.load(path))
    assert m.turbo.outline.bounds == pytest.approx((-55, -45, 55, 45))
    assert [h.at for h in m.turbo.holes] == [(-40, -30), (-40, 30), (40, -30), (40, 30)]
    assert [s.id for s in m.studs if s.flange == "turbo flange"] == ["T1", "T2", "T3", "T4"]


@pytest.mark.parametrize(
    ("head", "words"),
    [
        (
            {"ports": {"dxf": "gasket.dxf"}, "cut": 2},
            r"has 2 large openings, engine.firing_order 3 cylinders",
        ),
        ({"studs": "dxf", "holes": False}, r"head_flange.studs: there are no small circles"),
        (
            {"outline": {"dxf": "gasket.dxf"}, "open": True},
            r"head_flange.outline: gasket.dxf: a line ends alone",
        ),
    ],
)
def test_what_does_not_fit_the_job_is_refused_with_its_line(head, words, tmp_path):
    """file:line:column, the key and both sides."""

    def fill(doc):
        space = doc.modelspace()
        loose(space, (100.0, 0.0), (300.0, 80.0), 15.0)
        for port in PORTS[: head.get("cut", 3)]:
            space.add_circle(port, 18)
        if head.get("open"):
            space.add_line((0, 0), (5, 5))

    saved(tmp_path, fill)
    keys = {k: v for k, v in head.items() if k in {"ports", "studs", "outline"}}
    if keys.get("studs") == "dxf":
        keys["studs"] = studs(dxf="gasket.dxf")
    with pytest.raises(ManifoldgenError, match=words) as refused:
        mg.assemble(mg.load(job(tmp_path, **keys)))
    assert str(refused.value).startswith(f"{tmp_path / 'job.yaml'}:")


@pytest.mark.parametrize(
    ("head", "words"),
    [
        ({"outline": {"dxf": "none.dxf"}}, "there is no file"),
        ({"ports": {"dxf": "."}}, "is a folder"),
        ({"studs": studs(dxf="/dev/null")}, "device or a pipe"),
        ({"outline": {"margin": 9, "scale": 25.4}}, "scale belongs to a drawing"),
        ({"ports": {"pitch": 90, "dxf": "gasket.dxf"}}, "give one of the three"),
        ({"ports": {"pitch": 90}}, "'shape' is missing"),
        ({"studs": studs(dxf="gasket.dxf", per_port=[[1, 2]])}, "give one of the three"),
        ({"ports": {**WRITTEN["head_flange"]["ports"], "first": "right"}}, "first belongs to a drawing"),
    ],
)
def test_the_loader_refuses_what_cannot_be_meant(head, words, tmp_path):
    """Missing files, devices, keys that do not go together: file:line:column and a sentence."""
    saved(tmp_path, lambda doc: draw(doc.modelspace()))
    with pytest.raises(ParameterError, match=words):
        mg.load(job(tmp_path, **head))


def test_a_port_of_another_shape_is_kept_as_drawn(tmp_path):
    """A D-shaped port is no oval: it stays the drawn outline, and a formed transition tube is refused."""

    def fill(doc):
        space = doc.modelspace()
        loose(space, (100.0, 0.0), (300.0, 90.0), 15.0)
        for x, y in PORTS:
            space.add_lwpolyline(
                [(x, y - 18, 0), (x + 18, y - 18, 0), (x + 18, y + 18, 0), (x, y + 18, 1)],
                format="xyb",
                close=True,
            )

    saved(tmp_path, fill)
    m = mg.assemble(mg.load(job(tmp_path, ports={"dxf": "gasket.dxf"}, outline={"dxf": "gasket.dxf"})))
    port = m.ports[0].opening
    assert port.kind == "drawn"
    assert (port.width, port.height) == pytest.approx((36, 36))
    assert port.contour.area == pytest.approx(18 * 36 + math.pi * 18**2 / 2, rel=1e-6)
    with pytest.raises(ManifoldgenError, match="formed transition tube"):
        mg.assemble(
            mg.load(job(tmp_path, ports={"dxf": "gasket.dxf"}, transition="tube", transition_length=40))
        )


@pytest.mark.slow
def test_the_kernel_builds_a_flange_of_drawn_ports(tmp_path):
    """A head flange with D-shaped ports becomes one sound solid of the volume in closed form."""
    from manifoldgen.solids.flange import flange_solid, flange_volume

    test_a_port_of_another_shape_is_kept_as_drawn(tmp_path)
    m = mg.assemble(mg.load(job(tmp_path, ports={"dxf": "gasket.dxf"}, outline={"dxf": "gasket.dxf"})))
    solid = flange_solid(m.head)
    assert solid.isValid()
    assert solid.Volume() == pytest.approx(flange_volume(m.head), rel=1e-6)
