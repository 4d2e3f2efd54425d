"""A fabricator who has only the work list: reads line after line, does what it says, and notes what cannot be done.

Nothing here knows the program; what a line does not say is not done, and what is then missing is noted.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from pathlib import Path

Row = dict[str, str]

PIECE = r"[A-Z]+\d*-P\d+"
CAPPED = re.compile(r"cap (.+?); ")
OPENINGS = re.compile(r"argon in at (.+?), (?:vent at (.+?)|(no second opening: drill .+?)); [\d.]+ l,")
INNER = {"inner seam", "centre point"}  # held by the valleys beside them


def rows(path: Path) -> list[Row]:
    """A list of the shop, line by line."""
    with path.open(encoding="utf-8-sig", newline="") as file:
        return list(csv.DictReader(file))


@dataclass
class Bench:
    """What has come about so far.

    joints : by id its kind and what it joins.  tubes : pieces of tube.  made : by piece or flange what was done to it.
    held : by joint how.  welded : in order.  purged : the joints of the volume that is purged now.  wrong : sentences.
    """

    joints: dict[str, tuple[str, str, str]]
    tubes: set[str]
    made: dict[str, set[str]] = field(default_factory=dict)
    holes: set[str] = field(default_factory=set)
    held: dict[str, str] = field(default_factory=dict)
    welded: list[str] = field(default_factory=list)
    purged: tuple[str, ...] | None = None
    tried: bool = False
    marked: bool = False
    wrong: list[str] = field(default_factory=list)

    @property
    def inlets(self) -> set[str]:
        """Pieces that other inlets are fitted to."""
        return {name for kind, *both in self.joints.values() if kind == "outer valley" for name in both}

    def shaped(self, name: str) -> set[str]:
        """What the ends of a tube need besides a square cut."""
        foot = any(kind == "saddle" and second == name for kind, _, second in self.joints.values())
        return {*(["inlet end"] if name in self.inlets else []), *(["saddle end"] if foot else [])}

    def joined(self, joint: str) -> set[str]:
        """What a joint joins; a transition plate goes on all inlets."""
        kind, first, second = self.joints[joint]
        merged = kind in {"inlets to transition plate", "centre point"} and first in self.inlets
        return {first, second} | (self.inlets if merged else set())

    def do(self, row: Row) -> None:
        """One line of the list."""
        for pattern, act in ACTS:
            if found := re.match(pattern, row["what"]):
                act(self, row, found)
                return

    def note(self, row: Row, sentence: str) -> None:
        """Something that cannot be done as it is written."""
        self.wrong.append(f"{row['number']} {row['id']}: {sentence}")

    def did(self, row: Row, name: str, what: str, *before: str) -> None:
        """An operation on a part, after others on it."""
        done = self.made.setdefault(name, set())
        for other in before:
            if other not in done:
                self.note(row, f"{name} is not {other} yet")
        done.add(what)

    def ready(self, row: Row, name: str) -> None:
        """Whether a part can be fitted."""
        done = self.made.get(name, set())
        asked = {"cut", "deburred", "clean"}
        if name in self.tubes:
            asked |= {"true", "marked"} | self.shaped(name)
        elif re.fullmatch(PIECE, name):
            asked |= {"marked"}
        else:
            asked = {"deburred", "clean"}
        for what in sorted(asked - done):
            self.note(row, f"{name} is fitted and not {what}")
        for joint, (kind, first, _) in self.joints.items():
            if kind == "saddle" and first == name and joint not in self.holes:
                self.note(row, f"{name} is fitted without the hole for {joint}")

    def hold(self, row: Row, joint: str, how: str) -> None:
        """A joint that is held from now on."""
        if joint not in self.joints:
            self.note(row, f"there is no joint {joint}")
            return
        if joint in self.held or joint in self.welded:
            self.note(row, f"{joint} is held already: {self.held.get(joint, 'welded')}")
        for name in self.joined(joint):
            self.ready(row, name)
        self.held[joint] = how

    def loose(self, row: Row, joint: str, how: str) -> None:
        """A joint that is set free."""
        if self.held.pop(joint, None) != how:
            self.note(row, f"{joint} is freed of {how} that are not there")

    def whole(self, row: Row) -> None:
        """Everything hangs together, each joint held or welded."""
        for joint, (kind, *_) in self.joints.items():
            if kind not in INNER and joint not in self.held and joint not in self.welded:
                self.note(row, f"{joint} is not held")

    def weld(self, row: Row, joint: str) -> None:
        """A joint welded: once, marked after the trial, held, inside its purged volume."""
        kind = self.joints[joint][0]
        if joint in self.welded:
            self.note(row, "welded twice")
        if not self.marked:
            self.note(row, "not tried on and marked yet")
        here = {
            j
            for j, (k, *_) in self.joints.items()
            if k == "outer valley" and self.joined(j) & self.joined(joint)
        }
        held_by = here if kind in INNER else {joint}
        if not all(j in self.held or j in self.welded for j in held_by):
            self.note(row, f"{joint} is not held")
        elif any(self.held.get(j, "tacks") != "tacks" for j in held_by):
            self.note(row, f"{joint} is not tacked")
        for other, (of, *_) in self.joints.items():
            shut = of == "inlets to transition plate" and self.joined(other) & self.joined(joint)
            if kind in INNER and shut and (other in self.held or other in self.welded):
                self.note(row, f"{joint} is shut in by {other}")
        if self.purged is not None and joint not in self.purged:
            self.note(row, f"{joint} is not purged")
        self.welded.append(joint)
        self.held.pop(joint, None)

    def purge(self, row: Row, joints: Iterable[str]) -> None:
        """A volume filled with argon: in and out by two openings that are not capped."""
        self.purged = tuple(joints)
        found = OPENINGS.search(row["what"])
        caps = CAPPED.search(row["what"])
        capped = set(caps[1].split(", ")) if caps else set()
        if found is None:
            self.note(row, "argon does not go in and out")
        elif {found[1], found[2]} & capped or found[1] == found[2] or "nothing" in found.groups():
            self.note(row, f"in at {found[1]}, out at {found[2]}, capped {', '.join(sorted(capped))}")


Act = Callable[[Bench, Row, re.Match[str]], None]


def _listed(text: str) -> list[str]:
    return re.split(r", ", text)


def _end_cut(b: Bench, row: Row, found: re.Match[str]) -> None:
    b.did(row, found[1], "saddle end" if "saddle" in found[0] else "inlet end", "marked")
    if "deburr" not in row["what"]:
        b.note(row, "the new edge is not deburred")


def _plate(b: Bench, row: Row, found: re.Match[str]) -> None:
    b.did(row, found[1], "deburred", "cut")
    b.did(row, found[1], "clean")


def _cone(b: Bench, row: Row, found: re.Match[str]) -> None:
    b.did(row, found[1], "clean", "cut", "deburred", "rolled", "seamed")


def _cut_sheet(b: Bench, row: Row, found: re.Match[str]) -> None:
    b.did(row, found[1], "cut")
    if "mark its id" in row["what"]:
        b.did(row, found[1], "marked")
    if "deburr it" in row["what"]:
        b.did(row, found[1], "deburred")


def _flange(b: Bench, row: Row, found: re.Match[str]) -> None:
    b.did(row, found[1], "deburred", "cut")
    if "clean it" in row["what"]:
        b.did(row, found[1], "clean")


def _vband(b: Bench, row: Row, found: re.Match[str]) -> None:
    b.did(row, found[1], "deburred")
    b.did(row, found[1], "clean")


def _hole(b: Bench, row: Row, found: re.Match[str]) -> None:
    b.did(row, found[2], "holed", "cut")
    b.holes.add(found[1])
    if "deburr" not in row["what"] or "clean" not in row["what"]:
        b.note(row, "the hole is neither deburred nor clean")


def _clean(b: Bench, row: Row, found: re.Match[str]) -> None:
    b.did(row, found[1], "clean", "cut", "true", "deburred", "marked", *sorted(b.shaped(found[1])))


def _trial(b: Bench, row: Row, found: re.Match[str]) -> None:
    b.tried = True
    b.whole(row)
    said = {
        j: how
        for text, how in re.findall(r"([A-Z][\w.]*(?:, [A-Z][\w.]*)*) held by (small tacks|straps)", found[0])
        for j in _listed(text)
    }
    for joint, how in b.held.items():
        if said.pop(joint, "tacks") != how:
            b.note(row, f"{joint} is held by {how}, which is not said")
    for joint in said:
        b.note(row, f"{joint} is held otherwise than it says")


def _marked(b: Bench, row: Row, _: re.Match[str]) -> None:
    if not b.tried:
        b.note(row, "marked before it was tried on")
    b.marked = True


def _free(b: Bench, row: Row, found: re.Match[str]) -> None:
    for kind, text in re.findall(r"(?:cut the|take the) (small tacks of|straps off) ([^;]+?)(?: and grind them off)?(?:;|$)", found[0]):  # fmt: skip
        for joint in _listed(text):
            b.loose(row, joint, "small tacks" if "tacks" in kind else "straps")


def _apart(b: Bench, row: Row, found: re.Match[str]) -> None:
    for joint in _listed(found[1]):
        b.loose(row, joint, "tacks")


def _together(b: Bench, row: Row, found: re.Match[str]) -> None:
    for again in re.findall(r"fit ([^;]+?) by the marks and tack again", found[0]):
        for joint in _listed(again):
            b.hold(row, joint, "tacks")


def _end(b: Bench, row: Row, _: re.Match[str]) -> None:
    for joint in b.joints:
        if joint not in b.welded:
            b.note(row, f"{joint} is not welded")


def _trim(b: Bench, row: Row, found: re.Match[str]) -> None:
    b.did(row, found[1], "trimmed", "cut", "clean")
    for word in ("true", "deburr", "clean"):
        if word not in found[0]:
            b.note(row, f"trimmed without {word}")


ACTS: tuple[tuple[str, Act], ...] = (
    (rf"saw ({PIECE}) from", lambda b, r, f: b.did(r, f[1], "cut")),
    (rf"square and true .* of ({PIECE})$", lambda b, r, f: b.did(r, f[1], "true", "cut")),
    (rf"bevel .* of ({PIECE})$", lambda b, r, f: b.did(r, f[1], "bevelled", "true")),
    (rf"deburr, inside and outside, .* of ({PIECE})$", lambda b, r, f: b.did(r, f[1], "deburred", "true")),
    (rf"mark ({PIECE}): its id", lambda b, r, f: b.did(r, f[1], "marked", "deburred")),
    (rf"(?:mill the inlet end|inlet end|cut the saddle end) of ({PIECE})", _end_cut),
    (rf"clean both ends of ({PIECE})", _clean),
    (rf"cut the (?:transition plate|plate|cone) ({PIECE}) from", _cut_sheet),
    (rf"(?:transition plate|plate) ({PIECE}): .*deburr it, clean both sides", _plate),
    (rf"roll the cone ({PIECE})", lambda b, r, f: b.did(r, f[1], "rolled", "cut", "deburred")),
    (rf"tack and weld the long seam of the cone ({PIECE})", lambda b, r, f: b.did(r, f[1], "seamed", "rolled")),
    (rf"cone ({PIECE}): .*deburr both ends, clean them", _cone),
    (r"have the (\w+ flange) cut from", lambda b, r, f: b.did(r, f[1], "cut")),
    (r"deburr the (\w+ flange), flatten", _flange),
    (r"have the (\w+ flange) \(V-band\) .*clean it", _vband),
    (rf"scribe the hole for (\S+) on ({PIECE})", _hole),
    (rf"trim ({PIECE}) .*$", _trim),
    (r"fit (\S+), .* and tack it", lambda b, r, f: b.hold(r, f[1], "tacks")),
    (r"for the trial fit, set .+? at (\S+) \(.* small tacks", lambda b, r, f: b.hold(r, f[1], "small tacks")),
    (r"for the trial fit, set .+? at (\S+) \(.* straps", lambda b, r, f: b.hold(r, f[1], "straps")),
    (r"trial fit on the cold engine.*$", _trial),
    (r"mark across every joint", _marked),
    (r"(?:cut the small tacks|take the straps).*$", _free),
    (r"take apart for stage \d+: cut the tacks of (.+?), grind", _apart),
    (r"(?:put together again|bolt the head flange to the plate again).*$", _together),
    (r"purge for (.+?): ", lambda b, r, f: b.purge(r, _listed(f[1]))),
    (r"weld (\S+) \(", lambda b, r, f: b.weld(r, f[1])),
    (r"leak test", _end),
)  # fmt: skip


def worked(folder: Path) -> Bench:
    """The list of a shop folder worked to its end."""
    joints = {r["joint"]: (r["kind"], r["first"], r["second"]) for r in rows(folder / "joints.csv")}
    bench = Bench(joints, {r["piece"] for r in rows(folder / "cut-list.csv")})
    listed = rows(folder / "work-list.csv")
    if any(row["what"].startswith("purge for ") for row in listed):
        bench.purged = ()
    for row in listed:
        bench.do(row)
    return bench
