"""Which sizes nobody measured: tools, torch, screws, taken from the catalogue at low confidence."""

from __future__ import annotations

from manifoldgen.access.hands import Hands
from manifoldgen.checks.finding import Finding
from manifoldgen.manifold.model import Manifold


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
        Finding(
            "size-assumed",
            "note",
            f"Sizes assumed, not measured: {', '.join(_gathered(assumed))}.",
            "Measure your own and write them into the shop file (`tools`, `torch`), bolt lengths into the job.",
            parts=assumed,
        ),
    )


def _gathered(names: tuple[str, ...]) -> list[str]:
    """The names with those of several studs drawn together: ``bolt length T1, T2``."""
    studs: dict[str, list[str]] = {}
    for name in names:
        what, _, last = name.rpartition(" ")
        of_stud = bool(what) and last[:1].isupper() and last[1:].isdigit()
        studs.setdefault(what if of_stud else name, []).extend([last] if of_stud else [])
    return [f"{what} {', '.join(ids)}".strip() for what, ids in studs.items()]
