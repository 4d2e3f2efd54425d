"""Marks of compiled routines: what is listed is what is there, and each mark is borne by what it is meant for."""

from __future__ import annotations

import ast
import re
from collections import Counter
from importlib import import_module
from pathlib import Path

import pytest
from numba.core.dispatcher import Dispatcher

from manifoldgen.compiled import modules

ROUTINES = [
    path for path in sorted(modules.PACKAGE.rglob("*.py")) if re.search(r"^@(kernel|part|inlined)\b", path.read_text("utf-8"), re.M)
]  # fmt: skip


def named(path: Path) -> str:
    """A module as the lists name it."""
    return path.relative_to(modules.PACKAGE).with_suffix("").as_posix().replace("/", ".")


def mark_of(node: ast.stmt) -> str | None:
    """The mark of a routine, None where it has none."""
    if isinstance(node, ast.FunctionDef):
        for mark in node.decorator_list:
            name = mark.func if isinstance(mark, ast.Call) else mark
            if isinstance(name, ast.Name) and name.id in {"kernel", "part", "inlined"}:
                return name.id
    return None


def calls() -> Counter[tuple[str, str]]:
    """How many places in marked routines call each marked routine, by module and name."""
    trees = {named(path): ast.parse(path.read_text("utf-8")) for path in ROUTINES}
    marked = {(module, node.name) for module, tree in trees.items() for node in tree.body if mark_of(node)}
    found: Counter[tuple[str, str]] = Counter()
    for module, tree in trees.items():
        at_hand = {name: (home, name) for home, name in marked if home == module}
        for node in tree.body:
            if isinstance(node, ast.ImportFrom):
                home = (node.module or "").removeprefix("manifoldgen.")
                at_hand |= {a.name: (home, a.name) for a in node.names if (home, a.name) in marked}
        for node in tree.body:
            if mark_of(node):
                for call in ast.walk(node):
                    if (
                        isinstance(call, ast.Call)
                        and isinstance(call.func, ast.Name)
                        and call.func.id in at_hand
                    ):
                        found[at_hand[call.func.id]] += 1
    return found


def test_the_lists_hold_every_module_with_compiled_routines():
    """What is in no list would not be made ready, and a change in it would not be seen."""
    assert sorted(modules.ALL) == sorted(named(path) for path in ROUTINES)


@pytest.mark.parametrize("module", modules.ALL)
def test_kernels_are_read_off_the_text_as_the_compiler_sees_them(module):
    """The names that are counted are those of the routines with one fixed set of types."""
    there = import_module(f"manifoldgen.{module}")
    fixed = [
        name for name, value in vars(there).items()
        if isinstance(value, Dispatcher) and value.__module__ == there.__name__ and not value._can_compile
    ]  # fmt: skip

    assert modules.kernels(module) == [f"{module}.{name}" for name in fixed]
    assert all(len(getattr(there, name).signatures) == 1 for name in fixed)


def test_what_is_inlined_is_called_in_one_place():
    """Read into two places it would be compiled twice."""
    counted = calls()
    inlined = [
        (named(path), node.name)
        for path in ROUTINES
        for node in ast.parse(path.read_text("utf-8")).body
        if mark_of(node) == "inlined"
    ]

    assert inlined
    assert {routine: counted[routine] for routine in inlined if counted[routine] != 1} == {}


@pytest.mark.parametrize("path", ROUTINES, ids=named)
def test_routines_take_nothing_from_modules_that_the_digest_does_not_cover(path):
    """A constant out of another module would be compiled in, and a change of it not be seen; types are no matter."""
    known = {f"manifoldgen.{name}" for name in modules.ALL} | {"manifoldgen.compiled.mark"}
    taken = [
        f"{node.module}.{alias.name}"
        for node in ast.parse(path.read_text("utf-8")).body
        if isinstance(node, ast.ImportFrom) and node.module and node.module.startswith("manifoldgen") and node.module not in known
        for alias in node.names
    ]  # fmt: skip

    assert set(taken) <= {"manifoldgen.geometry.vectors.Array"}
