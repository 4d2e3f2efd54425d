"""Which sizes nobody measured: tools, torch, screws, taken from the catalogue at low confidence."""

from __future__ import annotations

from manifoldgen.access.hands import Hands
from manifoldgen.checks.check import HandCheck
from manifoldgen.checks.finding import Finding, FindingKind
from manifoldgen.manifold.model import Manifold

SIZE_ASSUMED = FindingKind(
    name="size-assumed",
    severities=("note",),
    means="Reach was worked out with sizes from memory: tool heads, torch, bolt lengths.",
    why="Your ratchet and torch may be larger. A millimetre decides now and then.",
    do="Measure yours once and write them into the shop file; every job then uses them.",
)


def check(_m: Manifold, hands: Hands) -> tuple[Finding, ...]:
    """`size-assumed`: one note that names them all."""
    names = [name for stud in hands.studs for name in stud.assumed]
    names += list(hands.removal.assumed)
    if hands.welding is not None:
        names += [name for weld in hands.welding.welds for name in weld.assumed]
    assumed = tuple(sorted(dict.fromkeys(names)))
    if not assumed:
        return ()
    return (
        SIZE_ASSUMED.finding(
            message=f"Sizes assumed, not measured: {', '.join(_gathered(assumed))}.",
            do="Measure your own and write them into the shop file (`tools`, `torch`), bolt lengths into the job.",
            parts=assumed,
        ),
    )


CHECK = HandCheck(kinds=(SIZE_ASSUMED,), ask=check)


def _gathered(names: tuple[str, ...]) -> list[str]:
    """The names with those of several studs drawn together: ``bolt length T1, T2``."""
    studs: dict[str, list[str]] = {}
    for name in names:
        what, _, last = name.rpartition(" ")
        of_stud = bool(what) and last[:1].isupper() and last[1:].isdigit()
        studs.setdefault(what if of_stud else name, []).extend([last] if of_stud else [])
    return [f"{what} {', '.join(ids)}".strip() for what, ids in studs.items()]
