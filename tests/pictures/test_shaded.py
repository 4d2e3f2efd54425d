"""Pictures: there is something in them, the right way up, and a system that cannot draw gets one sentence."""

from __future__ import annotations

import struct
import subprocess
import zlib

import numpy as np
import pytest

from manifoldgen.errors import MissingLibraryError, OutputError
from manifoldgen.mesh.triangles import Mesh
from manifoldgen.pictures import draw

SIZE = (160, 120)


def box(
    low: tuple[float, float, float], high: tuple[float, float, float], colour: tuple[float, float, float]
) -> Mesh:
    """A closed box between two corners."""
    corners = np.array(
        [[x, y, z] for x in (low[0], high[0]) for y in (low[1], high[1]) for z in (low[2], high[2])]
    )
    faces = [(0, 1, 3, 2), (4, 6, 7, 5), (0, 4, 5, 1), (2, 3, 7, 6), (0, 2, 6, 4), (1, 5, 7, 3)]
    triangles = [t for a, b, c, d in faces for t in ((a, b, c), (a, c, d))]
    return Mesh("box", corners, np.array(triangles), colour)


def pixels(png: bytes) -> np.ndarray:
    """Decode an 8-bit RGB PNG that is not interlaced (PNG specification, filter types 0 to 4)."""
    assert png.startswith(b"\x89PNG\r\n\x1a\n")
    width, height, depth, kind = struct.unpack(">IIBB", png[16:26])
    assert (depth, kind) == (8, 2)
    data, place = b"", 8
    while place < len(png):
        (length,) = struct.unpack(">I", png[place : place + 4])
        if png[place + 4 : place + 8] == b"IDAT":
            data += png[place + 8 : place + 8 + length]
        place += 12 + length
    rows = np.frombuffer(zlib.decompress(data), np.uint8).reshape(height, 1 + 3 * width)
    image = np.zeros((height, width, 3), int)
    for y, row in enumerate(rows):
        above = image[y - 1] if y else np.zeros((width, 3), int)
        left, corner = np.zeros(3, int), np.zeros(3, int)
        for x, raw in enumerate(row[1:].reshape(width, 3).astype(int)):
            guess = predicted(int(row[0]), left, above[x], corner)
            left = (raw + guess) % 256
            corner = above[x]
            image[y, x] = left
    return image


def predicted(filter_type: int, a: np.ndarray, b: np.ndarray, c: np.ndarray) -> np.ndarray:
    """What a PNG filter adds, from the pixels left, above and above left."""
    if filter_type == 4:
        p = a + b - c
        nearest = np.argmin([abs(p - a), abs(p - b), abs(p - c)], axis=0)
        return np.choose(nearest, [a, b, c])
    return [np.zeros(3, int), a, b, (a + b) // 2][filter_type]


@pytest.mark.slow
def test_a_box_is_drawn_where_it_stands():
    """Seen from the side, a red box below and a blue one above: up is up, the background is white, nothing is cut."""
    red, blue = box((0, 0, 0), (40, 10, 10), (0.9, 0.1, 0.1)), box((0, 0, 20), (40, 10, 30), (0.1, 0.1, 0.9))
    image = pixels(draw((red, blue), view="y", size=SIZE))
    reddish = (image[..., 0] > 1.5 * image[..., 2]) & (image[..., 0] > 60)
    bluish = (image[..., 2] > 1.5 * image[..., 0]) & (image[..., 2] > 60)
    middle = slice(SIZE[0] // 3, None)  # right of the axes mark
    rows_red, rows_blue = (np.nonzero(where[:, middle])[0] for where in (reddish, bluish))

    assert image.shape == (SIZE[1], SIZE[0], 3)
    assert (image[0] == 255).all()
    assert (image[-1, middle] == 255).all()
    assert rows_blue.max() < rows_red.min()
    # the picture is as high as the two boxes (30 mm) and 8 % more: each box is 10 / 30 / 1.08 of 120 rows
    assert np.ptp(rows_red) + 1 == pytest.approx(120 * 10 / 30 / 1.08, abs=3)


@pytest.mark.parametrize("code", [-11, -6, 139])
def test_a_crash_is_one_sentence_with_the_packages(monkeypatch, code):
    """Without EGL the drawing library crashes the process it runs in: that must not be ours, nor silent."""
    crashed = subprocess.CompletedProcess([], code, b"", b"")
    monkeypatch.setattr(subprocess, "run", lambda *a, **k: crashed)

    with pytest.raises(MissingLibraryError, match="libegl1 libegl-mesa0 libgl1-mesa-dri"):
        draw((box((0, 0, 0), (1, 1, 1), (0.5, 0.5, 0.5)),))


def test_another_failure_says_its_last_line(monkeypatch):
    """Whatever else goes wrong in the drawing process is told, not swallowed."""
    failed = subprocess.CompletedProcess([], 1, b"", b"Traceback\nMemoryError: too large\n")
    monkeypatch.setattr(subprocess, "run", lambda *a, **k: failed)

    with pytest.raises(OutputError, match="could not be drawn: MemoryError: too large"):
        draw((box((0, 0, 0), (1, 1, 1), (0.5, 0.5, 0.5)),))
