"""The registry: every finding has its kind beside its check, listed once; explain, docs and page read it there."""

from __future__ import annotations

import ast
import importlib
from collections.abc import Iterator
from pathlib import Path

import pytest

import manifoldgen as mg
from manifoldgen.checks import Check, FindingKind, examine, handbook
from manifoldgen.checks.check import HandCheck
from manifoldgen.checks.registry import CHECKS, GAP_CHECKS, HAND_CHECKS, KINDS, by_name
from manifoldgen.reports import report
from manifoldgen.reports.page import made
from tests import factory
from tests.worked import demo

PACKAGE = Path(mg.__file__).parent
ROOT = Path(__file__).resolve().parents[2]
JOBS = sorted((ROOT / "cq_scripts" / "jobs").glob("*.yaml"))
# names and severities that programs and shops go by, written down by hand; a change here breaks somebody's script
STAY = {
    "path-misses-inlet": "error", "path-auto": "note", "runner-gap": "error", "self-gap": "error",
    "obstacle-gap": "error", "other-gap": "error", "heat-gap": "error", "bend-too-tight": "error",
    "bend-not-in-stock": "error", "order-not-firing": "error warning", "length-spread": "error",
    "flange-straight-short": "error", "flange-web-thin": "error", "wastegate-aim": "error warning",
    "wastegate-area": "error", "stud-out-of-reach": "error", "stud-no-ratchet": "warning",
    "nut-will-not-come-off": "error", "flange-will-not-slide-off": "error", "weld-stuck": "error warning",
    "weld-apart": "warning", "drain-fall": "error", "size-assumed": "note",
}  # fmt: skip


def kind(name: str = "nut-count", severities=("note",)) -> FindingKind:
    """A kind that is not ours."""
    return FindingKind(name=name, severities=severities, means="Nuts.", why="Because.", do="Count.")


def called(name: str) -> Iterator[tuple[Path, ast.Call]]:
    """Every call of a name in the package's source."""
    for path in sorted(PACKAGE.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == name:
                yield path.relative_to(PACKAGE), node


def test_names_and_severities_stay() -> None:
    """What scripts and shops go by is there, as severe as it was."""
    assert {name: " ".join(KINDS[name].severities) for name in STAY} == STAY


def test_every_kind_in_the_source_is_registered() -> None:
    """Each `FindingKind(…)` of the package is one of the registry's, and the registry holds nothing else."""
    written = [
        next(word.value.value for word in call.keywords if word.arg == "name")  # type: ignore[attr-defined]
        for _, call in called("FindingKind")
    ]

    assert sorted(written) == sorted(KINDS)
    assert all(name == k.name for name, k in KINDS.items())


def test_a_finding_is_made_from_its_kind_only() -> None:
    """Nothing in the package makes a `Finding` past its kind, where name and severity are held."""
    assert {path.as_posix() for path, _ in called("Finding")} == {"checks/finding.py"}


def test_every_check_that_is_written_is_asked() -> None:
    """A file of the room that ends in a `CHECK` is in the registry's list, once."""
    modules = [
        importlib.import_module(f"manifoldgen.checks.{p.stem}")
        for p in (PACKAGE / "checks").glob("[a-z]*.py")
    ]
    written = [m.CHECK for m in modules if hasattr(m, "CHECK")]

    assert len(written) == len(CHECKS) + len(GAP_CHECKS) + len(HAND_CHECKS) > 20
    assert all(check in (*CHECKS, *GAP_CHECKS, *HAND_CHECKS) for check in written)


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        ({"name": "gap"}, "called like runner-gap, not 'gap'"),
        ({"name": "Runner-Gap"}, "not 'Runner-Gap'"),
        ({"severities": ("fatal",)}, r"may be error, warning, note, the worst first, not \('fatal',\)"),
        ({"severities": ("note", "error")}, "the worst first"),
        ({"severities": ()}, "the worst first"),
        ({"why": ""}, "has to say what it means, why it matters and what to do"),
    ],
)
def test_a_kind_that_says_too_little_is_refused(wrong, told) -> None:
    """A name that no other looks like, severities that there are, all three texts."""
    with pytest.raises(ValueError, match=told):
        FindingKind(**{"name": "nut-count", "means": "Nuts.", "why": "Because.", "do": "Count.", **wrong})


def test_two_kinds_of_one_name_are_refused() -> None:
    """A name means one thing; the same kind may be found by several checks."""
    ours = KINDS["runner-gap"]

    assert by_name([ours, ours]) == {"runner-gap": ours}
    with pytest.raises(ValueError, match="there are two findings called runner-gap"):
        by_name([ours, kind("runner-gap")])


def test_a_check_finds_only_what_it_lists() -> None:
    """An unlisted kind would have no explanation: it is refused as it is found, whoever asks."""
    found = kind().finding(message="Six nuts.", do="Order seven.")
    m = factory.manifold(2)

    assert Check(kinds=(kind(),), ask=lambda _: [found])(m) == (found,)
    with pytest.raises(ValueError, match="the check may find runner-gap; nut-count is not listed"):
        Check(kinds=(KINDS["runner-gap"],), ask=lambda _: [found])(m)
    with pytest.raises(ValueError, match="may find nothing; nut-count is not listed"):
        HandCheck(kinds=(), ask=lambda *_: [found])(m, examine(m).hands)
    with pytest.raises(TypeError, match="answers with findings, not with 6"):
        Check(kinds=(kind(),), ask=lambda _: [6])(m)  # type: ignore[list-item]


@pytest.mark.parametrize("job", JOBS, ids=lambda path: path.stem)
def test_what_the_examples_find_is_registered(job) -> None:
    """All findings of the example jobs, read as `check` reads them."""
    found = demo(job.stem).findings

    assert found
    assert all(KINDS[f.name] is f.kind for f in found)


def test_docs_are_the_registrys() -> None:
    """docs/findings.md is what the registry says now: `python -m manifoldgen.checks.handbook docs/findings.md`."""
    kept = (ROOT / "docs" / "findings.md").read_text(encoding="utf-8")

    assert kept == handbook.text()
    assert [line.removeprefix("## ") for line in kept.splitlines() if line.startswith("## ")] == sorted(KINDS)


def test_the_page_says_what_its_findings_mean() -> None:
    """Each kind that was found is explained on the page once, the others are not."""
    near = KINDS["runner-gap"].finding(message="It is 4.2 mm.", do="Move it.")
    design = mg.design(factory.manifold(2), search=False)
    text = made(design, report(design, None, [near, near])).text

    assert text.count("Two runners are closer, wall to wall") == 1
    assert "<h3>runner-gap</h3>" in text
    assert "A tube comes back too close to itself" not in text
