"""Pages as pixels, by a program that is not ours; at 254 dpi a pixel is a tenth of a millimetre."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import numpy as np
import pytest

DPI = 254
needs_poppler = pytest.mark.skipif(
    shutil.which("pdftoppm") is None, reason="pdftoppm (poppler-utils) is not installed"
)


def pixels(pdf: Path, page: int, dpi: int = DPI) -> np.ndarray:
    """Grey levels of one page, 0 black … 255 white, rows from the top."""
    root = pdf.with_suffix("")
    where = ["-r", str(dpi), "-f", str(page), "-l", str(page), "-singlefile"]
    subprocess.run([_tool("pdftoppm"), "-gray", *where, str(pdf), str(root)], check=True)
    raw = root.with_suffix(".pgm").read_bytes()
    kind, size, top, body = raw.split(b"\n", 3)
    assert (kind, top) == (b"P5", b"255")
    width, height = map(int, size.split())
    return np.frombuffer(body, np.uint8).reshape(height, width)


def longest_run(levels: np.ndarray) -> int:
    """Length in pixels of the longest dark run in any row."""
    best = 0
    for row in levels < 128:
        edges = np.flatnonzero(np.diff(np.concatenate(([0], row.astype(np.int8), [0]))))
        best = max(best, int(np.max(edges[1::2] - edges[::2], initial=0)))
    return best


def said(pdf: Path, tool: str, *options: str) -> str:
    """What a poppler tool prints about a file."""
    to_screen = ["-"] if tool == "pdftotext" else []
    call = [_tool(tool), *options, str(pdf), *to_screen]
    return subprocess.run(call, check=True, capture_output=True, text=True).stdout


def _tool(name: str) -> str:
    found = shutil.which(name)
    assert found is not None
    return found
