"""An independent slicer, headless: what it makes of a printed part. Its settings are common practice."""

from __future__ import annotations

import re
import shutil
import subprocess
from dataclasses import dataclass
from pathlib import Path

import pytest

from manifoldgen.export.stl import write_stl
from manifoldgen.prints.part import PrintedPart

PROGRAM = "prusa-slicer"
_SLICE = [
    "-g",
    "--layer-height",
    "0.2",
    "--nozzle-diameter",
    "0.4",
    "--filament-diameter",
    "1.75",
    "--filament-density",
    "1.24",
    "--perimeters",
    "3",
    "--fill-density",
    "15%",
    "--skirts",
    "0",
    "--bed-shape",
    "0x0,220x0,220x220,0x220",
    "--max-print-height",
    "250",
    "--loglevel",
    "2",
]
_SUPPORT = ["--support-material", "--support-material-auto", "--support-material-threshold", "45"]

needed = pytest.mark.skipif(shutil.which(PROGRAM) is None, reason=f"{PROGRAM} is not installed")


@dataclass(frozen=True)
class Sliced:
    """What the slicer said: exit codes, words, grams and hours without support, grams with it, parts, manifold, mm³."""

    codes: tuple[int, int]
    said: str
    grams: float
    grams_supported: float
    parts: int
    manifold: bool
    volume: float
    hours: float

    @property
    def support_share(self) -> float:
        """Grams of support over grams of the part."""
        return self.grams_supported / self.grams - 1.0


def sliced(part: PrintedPart, folder: Path) -> Sliced:
    """Slice a part in its print pose, without support and with, and ask for its properties."""
    stl = folder / f"{part.name}.stl"
    write_stl(stl, part.mesh)
    codes, words, grams, hours = [], "", [], []
    for extra in ([], _SUPPORT):
        code = folder / "part.gcode"
        done = subprocess.run(
            [PROGRAM, *_SLICE, *extra, "-o", str(code), str(stl)], capture_output=True, text=True, check=False
        )
        codes.append(done.returncode)
        words += done.stdout + done.stderr
        found = re.search(r"filament used \[g\] = ([\d.]+)", code.read_text()) if code.is_file() else None
        grams.append(float(found[1]) if found else 0.0)
        took = re.search(r"printing time \(normal mode\) = (.*)", code.read_text()) if found else None
        spans = {unit: int(n) for n, unit in re.findall(r"(\d+)([dhm])", took[1] if took else "")}
        hours.append(24 * spans.get("d", 0) + spans.get("h", 0) + spans.get("m", 0) / 60)
    info = subprocess.run([PROGRAM, "--info", str(stl)], capture_output=True, text=True, check=False).stdout
    facts = dict(re.findall(r"(\w+) *= *(\S+)", info))
    return Sliced(
        (codes[0], codes[1]),
        words,
        grams[0],
        grams[1],
        int(facts["number_of_parts"]),
        facts["manifold"] == "yes",
        float(facts["volume"]),
        hours[0],
    )
