"""Draws the gallery: every demo job, every script beside this one, and the page, into docs/pictures/.

    python cq_scripts/gallery.py [NAME …]

Jobs are routed first where their paths are open, so a whole run takes some minutes. Without a browser the
picture of the page is left out.
"""

from __future__ import annotations

import sys
import tempfile
from dataclasses import replace
from pathlib import Path

from cadquery import cqgi

import manifoldgen as mg
from manifoldgen.designs import Design
from manifoldgen.mesh.parts import draw as meshes_of
from manifoldgen.mesh.triangles import Mesh
from manifoldgen.pictures import draw
from manifoldgen.solids import _occ
from manifoldgen.solids.tree import TUBES, colours

HERE = Path(__file__).parent
PICTURES = HERE.parent / "docs" / "pictures"
SIZE = (800, 600)
SCRIPTS = ("runner", "collector", "manifold")
PAGE_JOB = "sand_rail_four"
CHROMIUM = Path("/usr/bin/chromium")


def draw_job(name: str) -> None:
    """A demo job as it stands on the bench."""
    design = mg.design(HERE / "jobs" / f"{name}.yaml")
    colour_of = colours(design.manifold)
    drawn = meshes_of(design.manifold).drawn
    parts = tuple(replace(d.mesh, colour=colour_of[d.part]) for d in drawn)
    keep(name, draw(parts, size=SIZE))
    if name == PAGE_JOB and CHROMIUM.exists():
        draw_page(design)


def draw_script(name: str) -> None:
    """What a script shows in an editor."""
    result = cqgi.parse((HERE / f"{name}.py").read_text(encoding="utf-8")).build()
    parts = []
    for shown in result.results:
        shape = shown.shape
        for way in ("toCompound", "val"):  # an assembly, a workplane, or a shape as it is
            shape = getattr(shape, way)() if hasattr(shape, way) else shape
        points, triangles = _occ.triangulate(shape)
        parts.append(Mesh(name, points, triangles, TUBES[0]))
    keep(f"script-{name}", draw(tuple(parts), size=SIZE))


def draw_page(design: Design) -> None:
    """The page in a browser, its worst finding chosen."""
    from playwright.sync_api import sync_playwright

    page = mg.page(design)
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as play:
        file = page.write(Path(folder) / "report.html")
        browser = play.chromium.launch(
            executable_path=str(CHROMIUM),
            args=["--no-sandbox", "--use-angle=swiftshader", "--enable-unsafe-swiftshader"],
        )
        tab = browser.new_page(viewport={"width": 1280, "height": 800}, reduced_motion="reduce", offline=True)
        tab.goto(file.as_uri())
        while not tab.evaluate("Boolean(window.viewerReady || window.viewerFailed)"):
            tab.wait_for_timeout(50)
        tab.locator("#findings .go").first.click()
        tab.evaluate("window.scrollTo(0, 0)")
        tab.wait_for_timeout(200)
        PICTURES.joinpath("page.jpg").write_bytes(tab.screenshot(type="jpeg", quality=78))
        browser.close()


def keep(name: str, png: bytes) -> None:
    """Write one picture."""
    (PICTURES / f"{name}.png").write_bytes(png)
    print(f"{name}: {len(png) / 1000:.0f} kB")  # noqa: T201 - said to whoever runs it


if __name__ == "__main__":
    PICTURES.mkdir(parents=True, exist_ok=True)
    jobs = sorted(p.stem for p in (HERE / "jobs").glob("*.yaml"))
    for wanted in sys.argv[1:] or [*SCRIPTS, *jobs]:
        (draw_script if wanted in SCRIPTS else draw_job)(wanted)
