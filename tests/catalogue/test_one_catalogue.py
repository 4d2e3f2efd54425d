"""One catalogue, the job's own: nobody who looks at a job reads our tables past it."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import manifoldgen

PACKAGE = Path(manifoldgen.__file__).parent
# the loader, which has no job yet, and the defaults of dataclasses
MAY = {"parameters/own.py", "manifold/model.py", "manifold/workshop.py"}


def mentions(tree: ast.Module) -> Iterator[tuple[ast.AST, bool]]:
    """Every mention of our tables, and whether it is inside a function."""

    def walk(node: ast.AST, inside: bool) -> Iterator[tuple[ast.AST, bool]]:
        for child in ast.iter_child_nodes(node):
            named = isinstance(child, ast.Name) and child.id == "STANDARD"
            named |= isinstance(child, ast.Attribute) and child.attr == "STANDARD"
            named |= isinstance(child, ast.alias) and child.name.endswith("STANDARD")
            called = child.func if isinstance(child, ast.Call) else None
            named |= (
                getattr(called, "id", getattr(called, "attr", "")) == "Catalogue"
            )  # Catalogue() is the same
            if named:
                yield child, inside
            yield from walk(
                child, inside or isinstance(child, ast.FunctionDef | ast.AsyncFunctionDef | ast.Lambda)
            )

    return walk(tree, inside=False)


def found(source: str) -> list[bool]:
    """For every mention in a source text, whether it is inside a function."""
    return [inside for _, inside in mentions(ast.parse(source))]


def test_what_is_a_mention() -> None:
    """Names, attributes, imports and a plain `Catalogue()` count; parameters of that type do not."""
    assert found("from manifoldgen.catalogue import STANDARD\nx = STANDARD.thread") == [False, False]
    assert found("def f():\n    return catalogue.STANDARD.hole('M8', 'medium')") == [True]
    assert found("def f():\n    return Catalogue().hole('M8', 'medium')") == [True]
    assert found("def f(tables: Catalogue) -> Catalogue:\n    return tables") == []


def test_only_the_loader_and_defaults_name_our_tables() -> None:
    """Outside the catalogue only the loader and defaults of dataclasses name STANDARD, the latter in no function."""
    named: dict[str, list[bool]] = {}
    for path in sorted(PACKAGE.rglob("*.py")):
        name = path.relative_to(PACKAGE).as_posix()
        if not name.startswith("catalogue/") and (seen := found(path.read_text("utf-8"))):
            named[name] = seen

    assert set(named) == MAY
    assert not any(named["manifold/model.py"] + named["manifold/workshop.py"])


def test_the_catalogue_offers_no_reading_past_the_job() -> None:
    """The room has no functions that read our tables: everything is a method of a `Catalogue`."""
    from manifoldgen import catalogue

    readers = [
        n
        for n in catalogue.__all__
        if callable(getattr(catalogue, n)) and not isinstance(getattr(catalogue, n), type)
    ]

    assert readers == ["plain"]  # reads a value, not a table
