"""A copy with the paths written in: what it holds, and that every other byte stays."""

from __future__ import annotations

import random
import re
from pathlib import Path

import pytest

from manifoldgen.errors import ParameterError
from manifoldgen.parameters import document, load_text
from manifoldgen.parameters.rebase import rebased
from manifoldgen.parameters.splice import BOM, FoundPaths, flow, number, spliced
from tests.jobs import FOUR
from tests.mutations import spoilt

HERE = Path("here")
STEPS = [{"straight": 30.0}, {"bend": 45.12345678, "clr": 63.6, "roll": -1e-9}, {"straight": 20.5}]
HELD = [
    {"straight": 30},
    {"bend": 45.1235, "clr": 63.6, "roll": 0},
    {"straight": 20.5},
]  # the same, four digits


def copy(text: str, found: FoundPaths) -> str:
    """The copy of a text beside it."""
    return spliced(text.encode(), found, HERE, HERE).decode()


def test_block_style() -> None:
    """Comments stay where they were; what is missing in the collector is added below what is there."""
    text = """\
collector:   # where they meet
  kind: merge
  half_angle: 12   # as drawn
  path: [{straight: 25}]
runners:
  paths:
    1: auto        # the hard one
    2:
      - {straight: 40}   # past the rail
      - close   # found
    # the end
"""
    found = FoundPaths({1: STEPS, 2: STEPS}, {2: 1}, {"clock": 75.60004, "mirror": False})
    assert (
        copy(text, found)
        == """\
collector:   # where they meet
  kind: merge
  half_angle: 12   # as drawn
  clock: 75.6
  mirror: false
  path: [{straight: 25}]
runners:
  paths:
    1:         # the hard one
      - {straight: 30}
      - {bend: 45.1235, clr: 63.6, roll: 0}
      - {straight: 20.5}
    2:
      - {straight: 40}   # past the rail
      - {bend: 45.1235, clr: 63.6, roll: 0}
      - {straight: 20.5}   # found
    # the end
"""
    )


def test_braces_and_an_alias() -> None:
    """In braces the list stands in brackets; an aliased path is written out only where it is used."""
    text = "collector: {kind: merge, order: free, clock: 'auto'} # c\nrunners: {paths: {1: &p [{straight: 9}, close], 2: *p}}"
    found = FoundPaths({1: STEPS, 2: STEPS}, {1: 1, 2: 0}, {"order": [2, 1], "clock": 7.0, "mirror": True})
    tail = "{bend: 45.1235, clr: 63.6, roll: 0}, {straight: 20.5}]"
    assert copy(text, found) == (
        "collector: {kind: merge, order: [2, 1], mirror: true, clock: 7} # c\n"
        f"runners: {{paths: {{1: &p [{{straight: 9}}, {tail}, 2: [{{straight: 30}}, {tail}}}}}"
    )


def test_anchor_that_goes() -> None:
    """What referred to a value that was replaced is written out instead of left hanging."""
    text = "runners:\n  paths:\n    1: [&s {straight: 9}, {bend: 1, clr: 2}, close]\n    2: [*s, close]\n"
    made = document.read(copy(text, FoundPaths({1: STEPS, 2: STEPS}, {1: 0, 2: 1}))).data
    assert made == {"runners": {"paths": {1: HELD, 2: [{"straight": 9}, *HELD[1:]]}}}


def test_straight_that_grew() -> None:
    """A straight before `close` that became longer is rewritten in its place; the comments beside it stay."""
    text = "runners:\n  paths:\n    1:\n      - {straight: 9} # a\n      # b\n      - close # c\n"
    made = copy(text, FoundPaths({1: STEPS}, {1: 0}))
    assert made.splitlines()[3:6] == [
        "      - {straight: 30} # a",
        "      # b",
        "      - {bend: 45.1235, clr: 63.6, roll: 0}",
    ]


def _styled(rng: random.Random) -> tuple[str, FoundPaths]:
    """A job's skeleton as people may write it, and what was found for it."""
    gap, note = " " * rng.randint(1, 4), lambda: rng.choice(["", "  # auto, close: {é}", " # 'x", ""])
    paths, kept = {}, {}
    braces = rng.random() < 0.3
    lines = []
    for n in range(1, rng.randint(2, 5)):
        paths[n] = STEPS
        form = rng.choice(["auto", "close", "block", "alias" if n > 1 and not braces else "auto", "fixed"])
        quoted = rng.choice(["auto", '"auto"', "'auto'", "&w auto"])
        if form == "fixed":
            del paths[n]
            lines.append(f"{n}: [{{straight: 1}}]")
        elif form == "alias":
            lines.append(f"{n}: *a1")
        elif form == "auto":
            lines.append(f"{n}:{gap}{'&a1 auto' if n == 1 else quoted}")
        else:
            kept[n] = rng.choice([0, 1])
            anchor = "&a1 " if n == 1 else ""
            if form == "close" or braces:
                lines.append(f"{n}: {anchor}[{{straight: 40}}, close]")
            else:
                pad = rng.choice(["  ", "    ", ""])
                lines.append(f"{n}: {anchor}{note()}\n{pad}- {{straight: 40}}{note()}\n{pad}-{gap}close")
    if not any("&a1" in line for line in lines):
        lines = [line for line in lines if "*a1" not in line]
        paths = {n: s for n, s in paths.items() if any(line.startswith(f"{n}:") for line in lines)}
    ring = {"clock": 12.5, "mirror": True, "order": [1, 2]}
    given = rng.sample(["clock: auto", "mirror: 'auto'", "order: free", "gap: 2"], rng.randint(0, 4))
    inner = " " * rng.choice([1, 2, 4])
    if braces:
        text = f"collector: {{{', '.join(['kind: merge', *given])}}}{note()}\nrunners:\n{inner}paths: {{{', '.join(lines)}}}{note()}\n"
    else:
        collector = "".join(f"{inner}{line}{note()}\n" for line in ["kind: merge", *given])
        body = "".join(inner * 2 + part + "\n" for line in lines for part in (line + note()).split("\n"))
        text = (
            f"# top\ncollector:{note()}\n{collector}\nrunners:\n{inner}paths:{note()}\n{body}{inner}# end\n"
        )
    text += rng.choice(["", "obstacles: [{mesh: a.stl}]\n", "last: x"])
    return text, FoundPaths(paths, kept, ring)


@pytest.mark.parametrize("seed", range(60))
def test_any_style(seed: int) -> None:
    """However the file is written, the copy holds what was found, and comments, line ends and the rest stay."""
    rng = random.Random(seed)  # noqa: S311 - no secrets here
    text, found = _styled(rng)
    before = document.read(text).data
    newline = rng.choice(["\n", "\r\n"])
    raw = rng.choice([b"", BOM]) + text.replace("\n", newline).encode()
    print(text)
    made = spliced(raw, found, HERE, HERE)
    after = made.decode("utf-8-sig")
    print(after)

    held = document.read(after).data
    for n in before["runners"]["paths"]:
        if n not in found.paths:
            assert held["runners"]["paths"][n] == before["runners"]["paths"][n]
        elif n in found.kept and found.kept[n] == 1 and "*a1" not in text:
            assert held["runners"]["paths"][n] == [{"straight": 40}, *HELD[1:]]
        elif n not in found.kept:
            assert held["runners"]["paths"][n] == HELD
    assert {k: held["collector"][k] for k in found.ring} == found.ring
    assert {k: v for k, v in held.items() if k not in {"runners", "collector"}} == {
        k: v for k, v in before.items() if k not in {"runners", "collector"}
    }
    assert made.startswith(BOM) == raw.startswith(BOM)
    assert "\n" not in after.replace("\r\n", "") or newline == "\n"
    untouched = [
        line for line in text.split("\n") if not re.search("auto|close|free|kind|straight|\\*a1", line)
    ]
    rest = iter(after.split(newline))
    assert all(line in rest for line in untouched), "lines that nothing was found for have changed"


def test_spoilt_files_that_still_read() -> None:
    """A file that was damaged and still reads is copied as it is meant."""
    found = FoundPaths({1: STEPS, 4: STEPS}, {}, {"clock": 3.0})
    read = 0
    for seed in range(400):
        raw = spoilt(FOUR, seed)
        try:
            load_text(raw)
        except ParameterError:
            continue
        read += 1
        made = document.read(spliced(raw, found, HERE, HERE).decode("utf-8-sig")).data
        assert made["runners"]["paths"][4] == HELD, seed
        assert made["collector"]["clock"] == 3, seed
    assert read > 5


def test_file_names_are_led_from_the_copy(tmp_path: Path) -> None:
    """Scans, drawings and the shop file are found from the copy's folder; absolute names and quotes stay."""
    jobs, out = tmp_path / "my jobs", tmp_path / "out" / "deep"
    jobs.mkdir()
    out.mkdir(parents=True)
    text = (
        "shop: shop.yaml # s\nhead_flange: {outline: {dxf: 'it''s.dxf'}}\n"
        'obstacles:\n  - {mesh: "scans/bay.stl"}\n  - {mesh: /abs/bay.stl}\n'
    )
    made = spliced(text.encode(), FoundPaths(), jobs, out).decode()
    assert made == (
        "shop: ../../my jobs/shop.yaml # s\nhead_flange: {outline: {dxf: '../../my jobs/it''s.dxf'}}\n"
        'obstacles:\n  - {mesh: "../../my jobs/scans/bay.stl"}\n  - {mesh: /abs/bay.stl}\n'
    )
    assert spliced(text.encode(), FoundPaths(), jobs, jobs) == text.encode()


def test_every_drawing_is_led_from_the_copy(tmp_path: Path) -> None:
    """Ports, studs and bolts read from a drawing find it from the copy too."""
    text = (
        "head_flange: {ports: {dxf: g.dxf}, studs: {dxf: g.dxf}}\n"
        "turbo: {flange: {bolts: {dxf: t.dxf}, outline: {dxf: t.dxf}}}\n"
    )
    made = spliced(text.encode(), FoundPaths(), tmp_path / "jobs", tmp_path).decode()
    assert made == text.replace("g.dxf", "jobs/g.dxf").replace("t.dxf", "jobs/t.dxf")


def test_names_through_a_link(tmp_path: Path) -> None:
    """A folder that is a link is followed first: .. leads out of the real one."""
    (tmp_path / "real" / "jobs").mkdir(parents=True)
    (tmp_path / "jobs").symlink_to(tmp_path / "real" / "jobs")
    (tmp_path / "real" / "bay.stl").write_text("scan")
    name = rebased("../bay.stl", tmp_path / "jobs", tmp_path)
    assert (tmp_path / name).read_text() == "scan"


def test_refused_where_it_cannot_be_edited() -> None:
    """A form that the editing does not meet ends in one sentence, not in a wrong file."""
    with pytest.raises(ParameterError, match="cannot be written into this file"):
        copy(
            "collector:\n  ? kind\n  : merge\nrunners:\n  paths: {1: auto}\n",
            FoundPaths({1: STEPS}, {}, {"clock": 1.0}),
        )


def test_numbers_and_values_on_one_line() -> None:
    """No digits that are not needed, no minus before nothing; words that would read as something else are quoted."""
    assert [number(v) for v in (30.0, 1 / 3, -1e-9, 100.0, 0.00004)] == ["30", "0.3333", "0", "100", "0"]
    value = {"a": [1, 2.5, True, None], "b": "no: 1", "c": "true", "d": "plain word"}
    assert document.read(flow(value)).data == value
