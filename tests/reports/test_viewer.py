"""The page in a browser: it draws the job, goes where it is told by mouse, keys and fingers, asks for nothing."""

from __future__ import annotations

import json
import math
import subprocess
from dataclasses import replace
from pathlib import Path

import pytest

from manifoldgen.geometry.pose import BENCH
from manifoldgen.geometry.shapes import Box
from manifoldgen.manifold.model import Obstacle
from manifoldgen.mesh.parts import part_names
from manifoldgen.reports import report
from manifoldgen.reports.page import Page, made
from tests.browser import browser, changed, opened
from tests.surveys import within_two
from tests.worked import demo

pytestmark = pytest.mark.slow
JOB = Path(__file__).parents[2] / "cq_scripts" / "jobs" / "snow_groomer_tight.yaml"
HOSTILE = (
    '</script><script>window.pwned=1</script>"\'<img src=x onerror="window.pwned=1">\u202egnol ' + "y" * 10000
)


@pytest.fixture(scope="module")
def job(tmp_path_factory):
    """A job with errors, its report and its page."""
    design = demo("snow_groomer_tight")
    content = report(design)
    file = made(design, content).write(tmp_path_factory.mktemp("page") / "report.html")
    return design, json.loads(json.dumps(content)), file


@pytest.fixture(scope="module")
def running():
    """One browser for all of these."""
    with browser() as made:
        yield made


@pytest.fixture(scope="module")
def loaded(running, job):
    """The page, opened once; tests leave it as they found it."""
    with opened(running, job[2]) as made:
        yield made


@pytest.fixture
def view(loaded):
    """The page with nothing chosen, sawn or taken apart."""
    loaded.page.click("#clear")
    loaded.page.click('[data-look="corner"]')
    return loaded


def distance_from_middle(view, point) -> float:
    """Pixels between a point of the job and the middle of the view."""
    x, y = view.run("p => viewerReady.project(p)", point)
    box = view.page.locator("#frame").bounding_box()
    return math.hypot(x - box["width"] / 2, y - box["height"] / 2)


def test_it_draws_the_job_and_asks_for_nothing(view, job):
    """Parts are the job's, there are triangles, no complaint, no request but the file and what it makes itself."""
    design, _, file = job
    ready = view.run("({...viewerReady})")

    assert set(ready["parts"]) == set(part_names(design.manifold))
    assert ready["triangles"] > 5000
    assert ready["revision"] == "180"  # the pinned package's; a new one wants looking at
    assert view.complaints == []
    assert [r for r in view.requests if r != file.as_uri() and not r.startswith("blob:null/")] == []
    assert len(set(view.picture())) > 20


def test_the_policy_stops_what_is_not_ours(view):
    """A request, an image from elsewhere and a foreign script are all refused by the page itself."""
    refused = view.run("fetch('https://example.org/').then(() => 'went out', () => 'refused')")
    view.run(
        "(() => { const s = document.createElement('script'); s.textContent = 'window.pwned = 1'; document.body.append(s); })()"
    )

    assert refused == "refused"
    assert view.run("window.pwned") is None
    view.complaints.clear()  # the refusals themselves


def test_a_finding_flies_there_and_shows_its_move(view, job):
    """A click brings the finding's place well into the view and marks it."""
    _, content, _ = job
    number, finding = next((k, f) for k, f in enumerate(content["findings"]) if f["points"])
    before = view.run("viewerReady.look()")
    view.choose(f"finding:{number}")
    box = view.page.locator("#frame").bounding_box()

    assert view.run("viewerReady.look()") != before
    assert distance_from_middle(view, finding["points"][0]) < 0.45 * min(box["width"], box["height"])
    assert view.run("viewerReady.aids()") > 0
    assert view.page.locator("#said").inner_text().startswith(finding["message"][:20])


def test_a_gap_is_drawn_in_the_middle(view, job):
    """The two closest points lie round the middle of the view, with the gap written there."""
    _, content, _ = job
    gap = content["gaps"][0]
    view.choose("gap:0")
    middle = [(a + b) / 2 for a, b in zip(*gap["points"], strict=True)]

    assert distance_from_middle(view, middle) < 3
    assert f"{gap['gap_mm']:.1f} mm" in view.page.locator("#labels").inner_text()


def test_a_nut_out_of_reach_shows_tool_and_move(view, job):
    """Of a nut that no tool reaches the failing approach is drawn, its id and the move's length written beside it."""
    _, content, _ = job
    number, finding = next(
        (k, f) for k, f in enumerate(content["findings"]) if f["name"] == "stud-out-of-reach"
    )
    stud = next(s for s in content["studs"] if s["id"] == finding["parts"][0])
    view.choose(f"finding:{number}")
    labels = view.page.locator("#labels").inner_text()

    assert stud["id"] in labels
    assert f"move {math.hypot(*stud['move']):.1f} mm" in labels
    assert view.run("viewerReady.aids()") > 2 * len(stud["shapes"])
    view.page.click("#from-nut")
    look = view.run("viewerReady.look().from")
    assert sum(a * b for a, b in zip(look, stud["toward"], strict=True)) > 0.99


def test_a_weld_shows_its_bead_and_torch(view, job):
    """The chosen weld's line is drawn with the torch at it."""
    _, content, _ = job
    weld = next(w for w in content["welds"] if w["shapes"])
    view.choose(f"weld:{weld['id']}")

    assert weld["id"] in view.page.locator("#labels").inner_text()
    assert view.run("viewerReady.aids()") > 2 * len(weld["shapes"])


@pytest.mark.parametrize("axis", ["x", "y", "z"])
def test_sawing_changes_the_picture(view, axis):
    """A plane along any axis takes half of the manifold away, its slider moves it, and off is off."""
    slide = (
        "v => (e => { e.value = v; e.dispatchEvent(new Event('input')); })(document.getElementById('cut-at'))"
    )
    whole = view.picture()
    view.page.select_option("#cut-axis", axis)
    view.run(slide, 500)
    half = view.picture()
    view.run(slide, 250)
    other = view.picture()
    view.page.select_option("#cut-axis", "")

    assert changed(whole, half) > 50
    assert changed(half, other) > 20
    assert changed(whole, view.picture()) == 0


def test_a_part_is_hidden_and_comes_back(view):
    """Parts by name: what is unticked is gone from the picture."""
    whole = view.picture()
    view.page.uncheck('[data-part="runner 1"]')
    without = view.picture()
    view.page.check('[data-part="runner 1"]')

    assert changed(whole, without) > 20
    assert changed(whole, view.picture()) == 0


def test_pieces_come_together_stage_by_stage(view, job):
    """All apart each piece stands off; welded none does; the words tell the stage."""
    m = job[0].manifold
    slide = (
        "v => (e => { e.value = v; e.dispatchEvent(new Event('input')); })(document.getElementById('stage'))"
    )
    view.run(slide, 0)
    apart = [math.hypot(*view.run("id => viewerReady.at(id)", p.id)) for p in m.pieces]
    view.run(slide, 1)
    words = view.page.locator("#said").inner_text()
    view.run(slide, 99)
    together = [math.hypot(*view.run("id => viewerReady.at(id)", p.id)) for p in m.pieces]

    assert min(apart) > 0
    assert max(apart) > 50
    assert words.startswith("Stage 1. ")
    assert max(together) == 0


def test_a_tape_between_two_nuts_reads_their_distance(view, job):
    """Measured by two lines of a list, as the keyboard does it; and by two clicks on metal."""
    m = job[0].manifold
    first, second = m.studs[:2]
    view.page.click("#measure")
    view.choose(f"stud:{first.id}")
    view.choose(f"stud:{second.id}")
    said = view.page.locator("#said").inner_text()

    assert said.startswith(f"{math.dist(first.at, second.at):.1f} mm; x ")
    view.page.click("#clear")
    view.page.click('[data-look="z"]')
    view.page.click("#measure")
    view.run("document.getElementById('frame').scrollIntoView({ block: 'end' })")
    box = view.page.locator("#frame").bounding_box()
    picked = []
    for stud in (s for s in m.studs if s.axis[2] > 0.9):  # from above, those that nothing covers
        x, y = view.run("p => viewerReady.project(p)", stud.at)
        view.page.mouse.click(box["x"] + x, box["y"] + y)
        told = view.page.locator("#said").inner_text()
        if not picked and told.startswith("from") and float(told.split()[6].rstrip(":")) < stud.tip + 13:
            picked.append(stud)
        elif picked and "mm; x" in told:
            assert float(told.split()[0]) == pytest.approx(math.dist(picked[0].at, stud.at), abs=3)
            break
    else:
        pytest.fail("no second nut could be picked")
    view.page.click("#clear")


def test_looks_along_the_axes(view):
    """x, y, z look along an axis; the same again from the other side."""
    for key, way in (("x", [1, 0, 0]), ("y", [0, -1, 0]), ("z", [0, 0, 1])):
        for sign in (1, -1):
            view.page.click(f'[data-look="{key}"]')
            seen = view.run("viewerReady.look().from")
            assert sum(a * b * sign for a, b in zip(seen, way, strict=True)) > 0.999


def test_keys_alone_are_enough(view):
    """From a list by arrow and Enter to its place; in the view arrows turn, plus zooms, Escape clears."""
    page = view.page
    page.locator("#findings .go").first.focus()
    page.keyboard.press("ArrowDown")
    name = view.run("document.activeElement.dataset.go")
    page.keyboard.press("Enter")
    view.settle()
    chosen = view.run("document.querySelector('.go[aria-current]').dataset.go")
    ring = view.run("getComputedStyle(document.activeElement).outlineStyle")
    page.locator("#canvas").focus()
    start = view.run("viewerReady.look()")
    page.keyboard.press("ArrowLeft")
    turned = view.run("viewerReady.look()")
    page.keyboard.press("+")
    nearer = view.run("viewerReady.look()")
    page.keyboard.press("Escape")

    assert name == chosen == "finding:1"
    assert ring == "solid"
    assert turned["from"] != start["from"]
    assert nearer["mm"] < turned["mm"]
    assert view.run("viewerReady.aids()") == 0


def test_tab_reaches_everything_in_order(view):
    """Tab walks from the top through the view to the findings; nothing catches it."""
    view.page.locator(".skip").focus()
    seen = []
    for _ in range(60):
        view.page.keyboard.press("Tab")
        seen.append(
            view.run(
                "document.activeElement.id || document.activeElement.className || document.activeElement.tagName"
            )
        )
        if seen[-1] == "go":
            break

    assert (
        seen.index("theme")
        < seen.index("canvas")
        < seen.index("cut-axis")
        < seen.index("filter")
        < seen.index("go")
    )


def test_the_filter_keeps_what_is_about_a_part(view, job):
    """Choosing a part leaves its findings, nothing else."""
    _, content, _ = job
    part = content["findings"][0]["parts"][0]
    view.page.select_option("#filter", part)
    shown = view.page.locator(".tag:visible").count()
    view.page.select_option("#filter", "")

    assert shown == sum(part in f["parts"] for f in content["findings"]) > 0


@pytest.mark.parametrize(("wide", "high", "scheme"), [(360, 640, "light"), (3840, 2160, "dark")])
def test_nothing_runs_out_of_the_window(running, job, wide, high, scheme):
    """On a phone and on a wall: no sideways scrolling, the view is there, in light and dark."""
    with opened(running, job[2], viewport={"width": wide, "height": high}, color_scheme=scheme) as view:
        assert view.complaints == []
        assert view.run("document.documentElement.scrollWidth") <= wide
        assert view.run("document.documentElement.dataset.theme") == scheme
        assert view.page.locator("#canvas").bounding_box()["width"] > 0.3 * wide


def test_fingers_turn_and_choose(running, job):
    """On a tablet: a tap on a finding flies, a finger drawn over the view turns it."""
    with opened(running, job[2], has_touch=True, is_mobile=True) as view:
        view.page.locator('.go[data-go="finding:0"]').tap()
        view.settle()
        assert view.run("document.querySelector('.go[aria-current]').dataset.go") == "finding:0"
        before = view.run("viewerReady.look().from")
        view.run("window.scrollTo(0, 0)")
        box = view.page.locator("#canvas").bounding_box()
        x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
        touch = view.page.context.new_cdp_session(view.page)
        for kind, shift in (("touchStart", 0), ("touchMove", 40), ("touchMove", 90), ("touchEnd", None)):
            points = [] if shift is None else [{"x": x + shift, "y": y}]
            touch.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})
        view.settle()
        after = view.run("viewerReady.look().from")
        assert math.dist(before, after) > 0.1
        assert view.complaints == []


def test_hostile_names_do_no_harm(running, job, tmp_path):
    """Tags, quotes, 10 000 letters and right-to-left in description and obstacle names run nothing, break nothing."""
    design, content, _ = job
    m = design.manifold
    obstacle = Obstacle(HOSTILE, Box(BENCH, (10.0, 10.0, 10.0)), 5.0)
    rude = replace(m, description=HOSTILE, obstacles=(*m.obstacles, obstacle))
    findings = [{**content["findings"][0], "message": HOSTILE, "do": HOSTILE, "parts": [HOSTILE]}]
    file = tmp_path / "rude.html"
    made(replace(design, manifold=rude), {**content, "findings": findings}).write(file)
    with opened(running, file, viewport={"width": 360, "height": 640}) as view:
        view.choose("finding:0")
        view.page.uncheck('[data-part^="</script>"]')
        assert view.run("window.pwned") is None
        assert view.complaints == []
        assert view.run("document.images.length") == 0
        assert view.run("document.documentElement.scrollWidth") <= 360


def test_it_prints(view, tmp_path):
    """On paper stands what is on the page, every id readable, no buttons."""
    file = tmp_path / "page.pdf"
    view.page.pdf(path=str(file), format="A4")
    told = subprocess.run(
        ["/usr/bin/pdftotext", "-layout", str(file), "-"], capture_output=True, text=True, check=True
    ).stdout

    assert "J1.1" in told
    assert "R1-P1" in told
    assert "dark / light" not in told


def test_a_notebook_frame_draws_too(running, job, tmp_path):
    """In a notebook the page stands in a frame without an address of its own: the view starts there as well."""
    file = tmp_path / "notebook.html"
    frame = Page(job[2].read_text(encoding="utf-8"))._repr_html_()
    file.write_text(f"<!doctype html><body>{frame}", encoding="utf-8")
    with opened(running, file) as view:
        inside = view.page.frames[1]
        for _ in range(400):
            if inside.evaluate("Boolean(window.viewerReady)"):
                break
            view.page.wait_for_timeout(25)
        assert inside.evaluate("window.viewerReady.triangles") > 5000
        assert view.complaints == []


def test_a_surveyed_place_is_flown_to_and_marked_with_its_error(running, tmp_path):
    """The row of a place brings it into the middle of the view, in the ball that it is in."""
    design = within_two()
    pose = design.manifold.survey.turbo
    with opened(running, made(design, report(design)).write(tmp_path / "surveyed.html")) as view:
        view.choose("place:turbo")

        assert distance_from_middle(view, pose.at) < 3
        assert view.page.locator(".label.big").all_inner_texts() == [
            f"turbo ± {pose.expected_error_mm:.1f} mm"
        ]
        assert view.complaints == []
