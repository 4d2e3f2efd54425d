"""Which sizes nobody measured: tools, torch, screws, taken from the catalogue at low confidence."""

from __future__ import annotations

from manifoldgen.access.fasteners import Assumed
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
    sizes = [size for stud in hands.studs for size in stud.assumed]
    sizes += list(hands.removal.assumed)
    if hands.welding is not None:
        sizes += [Assumed(name) for weld in hands.welding.welds for name in weld.assumed]
    assumed = sorted(dict.fromkeys(sizes), key=lambda size: size.words)
    if not assumed:
        return ()
    return (
        SIZE_ASSUMED.finding(
            message=f"Sizes assumed, not measured: {', '.join(_gathered(assumed))}.",
            do="Measure your own and write them into the shop file (`tools`, `torch`), bolt lengths into the job.",
            parts=tuple(size.words for size in assumed),
        ),
    )


CHECK = HandCheck(kinds=(SIZE_ASSUMED,), ask=check)


def _gathered(sizes: list[Assumed]) -> list[str]:
    """The sizes in words, those of several studs drawn together: ``bolt length T1, T2``."""
    studs: dict[str, list[str]] = {}
    for size in sizes:
        studs.setdefault(size.what, []).extend([size.stud] if size.stud else [])
    return [f"{what} {', '.join(ids)}".strip() for what, ids in studs.items()]
