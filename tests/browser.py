"""Debian's Chromium for tests of the page: offline, drawn in software; tests skip where it is not installed."""

from __future__ import annotations

import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest

CHROMIUM = Path("/usr/bin/chromium")
ARGS = ["--no-sandbox", "--use-angle=swiftshader", "--enable-unsafe-swiftshader"]
READY_S = 30.0


@dataclass
class Opened:
    """A page in the browser, with all it complained of and asked for."""

    page: Any
    complaints: list[str] = field(default_factory=list)
    requests: list[str] = field(default_factory=list)

    def run(self, script: str, argument: object = None) -> Any:
        """The value of a script in the page."""
        return self.page.evaluate(script, argument)

    def choose(self, go: str) -> None:
        """Press the button that shows something in the view."""
        self.page.locator(f'.go[data-go="{go}"]').first.click()
        self.settle()

    def settle(self) -> None:
        """Until what was asked for has been drawn."""
        self.run("new Promise(done => requestAnimationFrame(() => requestAnimationFrame(() => done(1))))")

    def picture(self) -> list[int]:
        """The view in a coarse raster of grey steps, 96 × 72."""
        self.settle()
        return self.run(
            """() => { const c = document.createElement('canvas'); c.width = 96; c.height = 72;
            const g = c.getContext('2d'); g.drawImage(document.getElementById('canvas'), 0, 0, 96, 72);
            const d = g.getImageData(0, 0, 96, 72).data;
            return Array.from({ length: 96 * 72 }, (_, k) => d[4 * k] + d[4 * k + 1] + d[4 * k + 2]); }"""
        )


def changed(one: list[int], other: list[int]) -> int:
    """Number of places of two pictures that differ by more than what smoothing does."""
    return sum(abs(a - b) > 30 for a, b in zip(one, other, strict=True))


@contextmanager
def browser() -> Iterator[Any]:
    """A running browser; skips the test where there is none."""
    if not CHROMIUM.exists():
        pytest.skip(f"the page is tested with Debian's chromium ({CHROMIUM}), which is not installed")
    sync = pytest.importorskip("playwright.sync_api", reason="the page is tested with playwright")
    with sync.sync_playwright() as play:
        made = play.chromium.launch(executable_path=str(CHROMIUM), args=ARGS)
        yield made
        made.close()


@contextmanager
def opened(running: Any, file: Path, **context: object) -> Iterator[Opened]:
    """A file in a context of its own: no network, no animation unless asked for."""
    wanted = {"viewport": {"width": 1024, "height": 768}, "offline": True, "reduced_motion": "reduce"}
    held = running.new_context(**{**wanted, **context})
    page = held.new_page()
    made = Opened(page)
    page.on("console", lambda m: made.complaints.append(f"{m.type}: {m.text}"))
    page.on("pageerror", lambda e: made.complaints.append(f"error: {e}"))
    page.on("dialog", lambda d: (made.complaints.append(f"dialog: {d.message}"), d.dismiss()))
    page.on("request", lambda r: made.requests.append(r.url))
    page.goto(file.as_uri())
    _wait(made)
    yield made
    held.close()


def _wait(view: Opened) -> None:
    """Until the view stands; asked again and again, since the page lets nobody else's script wait in it."""
    until = time.monotonic() + READY_S
    while time.monotonic() < until:
        if view.run(
            "Boolean(window.viewerReady || window.viewerFailed || !document.getElementById('library'))"
        ):
            return
        view.page.wait_for_timeout(20)
    raise TimeoutError(f"the view did not start within {READY_S:g} s: {view.complaints}")
