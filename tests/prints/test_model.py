"""The test-fit model: pieces that print, go together one way, and are the manifold."""

from __future__ import annotations

import math

import numpy as np
import pytest

from manifoldgen.errors import SolidError
from manifoldgen.geometry.vectors import array, rotated
from manifoldgen.manifold.seams import touch_depth
from manifoldgen.prints import bodies
from manifoldgen.prints.limbs import THINNEST
from manifoldgen.prints.model import model_parts
from manifoldgen.prints.plan import plan
from manifoldgen.prints.skin import back_at
from manifoldgen.prints.splits import SPIGOT
from manifoldgen.solids import build
from tests.prints.aids import in_place, job, overlap
from tests.prints.models import (
    REACH,
    THREE,
    asked,
    on_bed,
    overlaps,
    pieces,
    plain_pieces,
    thin_places,
    trespassing,
)

pytestmark = pytest.mark.slow
SEED = 61


def test_every_piece_is_one_body_on_the_bed():
    """What the slicer gets is closed, in one piece and inside the bed's margin."""
    assert list(trespassing(pieces(), job(THREE))) == []
    assert {p.name for p in pieces()} >= {"model-head-1", "model-r2-1", "model-collector", "model-turbo"}


def test_pieces_go_together_without_sharing_space():
    """Back in their places no two pieces overlap."""
    assert list(overlaps(pieces())) == []


def test_spigots_are_free_by_the_fit_all_round():
    """At every split the bore stands the printer's `fit` off the spigot; the facets of both take 0.04 mm at most."""
    m = job(THREE)
    made = plan(m)
    by_name = {p.name: in_place(p) for p in pieces()}
    checked = 0
    for run in m.runners:
        limb, (first, *_) = made.limbs[run.name], made.splits[run.name]
        s = first.s + SPIGOT / 2
        at, t = limb.path.point(s), limb.path.tangent(s)
        head = next(n for n, g in zip(sorted(by_name), made.groups, strict=False) if "head" in n and g)
        owner = f"model-head-{next(k for k, g in enumerate(made.groups, 1) if run.number in [p.number for p in g])}"
        assert head.startswith("model")
        for turn in range(30, 360, 37):
            ray = rotated(back_at(limb.path, s), t, float(turn))
            spigot = (
                max(h.distance for h in by_name[owner].ray_cast(tuple(at), tuple(at + 30.0 * ray))) * 30.0
            )
            bore = (
                min(
                    h.distance
                    for h in by_name[f"model-r{run.number}-1"].ray_cast(tuple(at), tuple(at + 30.0 * ray))
                )
                * 30.0
            )
            assert bore - spigot == pytest.approx(m.workshop.fit, abs=0.04)
            checked += 1
    assert checked == 27


def test_the_key_lets_a_piece_in_one_way_only():
    """Turned by 5° about its tube a piece would run into the other's key; 0.2° is inside the fit."""
    m = job(THREE)
    limb, split = plan(m).limbs["runner 2"], plan(m).splits["runner 2"][0]
    by_name = {p.name: in_place(p) for p in pieces()}
    head = next(s for n, s in by_name.items() if "head" in n and overlap_box(s, limb.path.point(split.s)))
    at, t = array(limb.path.point(split.s)), limb.path.tangent(split.s)

    def turned(degrees: float) -> float:
        axes = np.column_stack([rotated(v, t, degrees) for v in np.eye(3)])
        moved = by_name["model-r2-1"].transform(np.column_stack([axes, at - axes @ at]))
        return overlap(head, moved)

    assert turned(0.2) < 0.5
    assert turned(5.0) > 10.0
    assert turned(-5.0) > 10.0


def overlap_box(solid: bodies.Body, point: np.ndarray) -> bool:
    """Whether a point lies in a solid's box, a millimetre wider."""
    b = array(solid.bounding_box())
    return bool(np.all(point > b[:3] - 1) and np.all(point < b[3:] + 1))


def test_walls_are_as_thick_as_a_printer_needs():
    """No wall under 1.2 mm (common practice for a 0.4 nozzle) but the edge where two bores of the collector meet."""
    m = job(THREE)
    c = m.collectors[0]
    begins = touch_depth(c, c.section.radius - m.workshop.wall)
    half = 180.0 / len(c.order)
    thin = []
    for part in plain_pieces():
        for through, at in thin_places(part, THINNEST - 0.02, 250, SEED):
            x, y, z = c.frame.into(at)
            ring = math.degrees(math.atan2(-x, y)) - c.ring_angles[0] - half
            off = abs((ring + half) % (2 * half) - half)  # from the nearest seam's plane
            seam = math.hypot(x, y) * math.sin(math.radians(off)) < 3.0
            if not (part.name == "model-collector" and z > begins - 5.0 and seam):
                thin.append((part.name, round(through, 2), at.round(1).tolist()))

    assert thin == []


def test_together_they_are_the_manifold():
    """Printed solid, the pieces fill what the kernel's solids and their gas fill: outside and flanges are the true ones.

    The kernel's volumes are exact; what may differ is the fit in laps, pegs and holes.
    """
    m = job(THREE)
    solids = build(m)
    filled = sum(s.Volume() for s in (solids.solid, solids.lumen))
    printed = sum(p.mesh.volume for p in plain_pieces(fill="solid"))

    assert printed == pytest.approx(filled, rel=0.005)


def test_a_hollow_piece_weighs_what_its_tube_does():
    """A runner's piece is pi (R² - r²) L by Pappus, its spigot and key on top (closed form)."""
    m = job(THREE)
    made = plan(m)
    limb, splits = made.limbs["runner 1"], made.splits["runner 1"]
    big, bore, fit = limb.radius(0.0), limb.bore_radius(0.0), m.workshop.fit
    tube = math.pi * (big**2 - bore**2) * (splits[-1].s - splits[0].s)
    ring = math.pi * ((bore - fit) ** 2 - (bore - fit - 2.0) ** 2)
    spigot = ring * (14.0 - 0.5) - (4.0 + 2 * fit) * 2.0 * 14.0  # lead-in and slot
    root = math.pi * (bore**2 - (bore - fit - 2.0) ** 2) * (6.0 - (fit + 2.0) / 2)
    rib = 4.0 * (2.0 + fit) * 13.5
    piece = next(p for p in plain_pieces() if p.name == "model-r1-1")

    assert piece.mesh.volume == pytest.approx(tube + spigot + root + rib, rel=0.01)


def test_splits_leave_mitres_mouths_and_flanges_alone():
    """Every split lies in plain tube: off the head's face, before the inlets touch, its socket of one curvature."""
    for name in (THREE, "sand_rail_four"):
        m = job(name)
        if any(r.path is None for r in m.runners):
            continue
        made = plan(m)
        for limb in made.limbs.values():
            marks = np.cumsum([0.0, *(s.length for s in limb.path.segments)])
            for split in made.splits[limb.name]:
                a, b = (split.s, split.s + SPIGOT) if split.socket == "down" else (split.s - SPIGOT, split.s)
                inside = [m for m in marks if a + 1e-6 < m < b - 1e-6]
                straight = limb.name == "trunk" and b <= m.collectors[0].length + 60.0
                assert not inside or straight, (name, limb.name, split)
                assert limb.start + 5.9 <= split.s <= limb.end - 5.9


def test_other_ways_to_print_it():
    """One runner alone, no flange, a lattice: fewer or lighter pieces, each sound."""
    m = job(THREE)
    one = model_parts(asked(m, runner=2))
    bare = model_parts(asked(m, flange=False))
    open_ = model_parts(asked(m, fill="lattice"))

    for parts in (one, bare, open_):
        assert list(trespassing(parts, m)) == []
        assert list(overlaps(parts)) == []
    assert [p.name for p in one] == ["model-head", "model-r2-1"]
    assert not [p.name for p in bare if "head" in p.name]
    heavy = {p.name: p.grams for p in pieces()}
    assert all(p.grams < 0.8 * heavy[p.name] for p in open_ if "-r" in p.name)


def test_a_smaller_bed_takes_more_pieces_and_a_tiny_one_none():
    """The same job on 170 mm takes more pieces that all fit; on 80 mm one sentence says what does not."""
    m = on_bed(job(THREE), 170.0, 170.0, 170.0)
    more = model_parts(m)

    assert len(more) > len(pieces())
    assert list(trespassing(more, m)) == []
    with pytest.raises(SolidError, match=r"give a larger print\.bed"):
        model_parts(on_bed(job(THREE), 80.0, 80.0, 80.0))


def test_progress_names_every_piece():
    """Whoever waits is told piece by piece."""
    told: list[str] = []
    made = model_parts(asked(job(THREE), runner=1), told.append)

    assert len(told) == len(made)
    assert told[-1].startswith(f"test-fit model: piece {len(made)} of {len(made)}, {made[-1].name}")
    assert REACH > 0


def test_a_runner_that_is_not_there():
    """print.runner must name a cylinder; the sentence lists those there are."""
    with pytest.raises(SolidError, match=r"no runner 9.*1, 2, 3"):
        plan(asked(job(THREE), runner=9))
