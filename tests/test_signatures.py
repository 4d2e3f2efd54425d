"""What a signature and its docstring promise each other: documented names exist, and no argument is thrown away."""

from __future__ import annotations

import ast
import builtins
import re
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
TREES = {path: ast.parse(path.read_text("utf-8")) for path in sorted((ROOT / "manifoldgen").rglob("*.py"))}
CLASSES = {n.name: n for tree in TREES.values() for n in ast.walk(tree) if isinstance(n, ast.ClassDef)}

# "name : meaning" or "a, b : meaning" at the beginning of a line, or after two spaces
NAMED = re.compile(r"(?:^[ ]*| {2})(\*{0,2}[A-Za-z_]\w*(?:, \*{0,2}[A-Za-z_]\w*)*) : ", re.MULTILINE)
SECTION = re.compile(r"^([A-Z]\w+)\n-{3,}$", re.MULTILINE)

Named = ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef


def arguments(function: ast.FunctionDef | ast.AsyncFunctionDef) -> set[str]:
    """Every parameter of a function."""
    a = function.args
    rest = [one for one in (a.vararg, a.kwarg) if one is not None]
    return {one.arg for one in (*a.posonlyargs, *a.args, *a.kwonlyargs, *rest)}


def members(node: Named) -> set[str]:
    """What a docstring may name: a function's parameters; a class's fields, properties and what it is made with."""
    if not isinstance(node, ast.ClassDef):
        return arguments(node)
    found: set[str] = set()
    for base in node.bases:
        name = ast.unparse(base).rpartition(".")[2]
        found |= members(CLASSES[name]) if name in CLASSES else set()
    for part in node.body:
        if isinstance(part, ast.AnnAssign):
            found.add(ast.unparse(part.target))
        if isinstance(part, ast.FunctionDef):
            found |= {part.name} | (arguments(part) if part.name == "__init__" else set())
            stored = [
                n for n in ast.walk(part) if isinstance(n, ast.Attribute) and isinstance(n.ctx, ast.Store)
            ]
            found |= {n.attr for n in stored if ast.unparse(n.value) == "self"}
    return found


def unknown(node: Named) -> Iterator[str]:
    """Names in a docstring that are nothing of what it stands under."""
    first, *rest = SECTION.split(ast.get_docstring(node) or "")
    sections = [("", first), *zip(rest[::2], rest[1::2], strict=True)]
    for title, text in sections:
        known = {*CLASSES, *dir(builtins)} if title == "Raises" else members(node)
        for names in NAMED.findall(text):
            yield from (name for name in names.replace("*", "").split(", ") if name not in known)


def thrown_away(function: ast.FunctionDef | ast.AsyncFunctionDef) -> set[str]:
    """Parameters that a function deletes; ruff's ARG rules tell those that it never looks at."""
    dropped = [n for n in ast.walk(function) if isinstance(n, ast.Name) and isinstance(n.ctx, ast.Del)]
    return {n.id for n in dropped} & arguments(function)


def test_a_docstring_names_what_is_there() -> None:
    """Every ``name : meaning`` is a field, a parameter or a property; every error named can be caught."""
    wrong = [
        f"{path.relative_to(ROOT)}:{node.lineno} {node.name}: {name}"
        for path, tree in TREES.items()
        for node in ast.walk(tree)
        if isinstance(node, Named)
        for name in unknown(node)
    ]

    assert wrong == []


def test_the_docstrings_are_read() -> None:
    """The reader finds names in all the forms in use, in classes, functions and errors (counted by hand)."""
    text = '''
class One(Two):
    """It.

    a, b : sizes.  gone : no more.
    """

    a: int
    b: int

def two(c, *more):
    """It.

    Parameters
    ----------
    c : size.  *more : others.
    old : no more.

    Raises
    ------
    ValueError : always.
    GoneError : never.
    """
'''
    one, two = ast.parse(text).body

    assert isinstance(one, Named)
    assert isinstance(two, Named)
    assert list(unknown(one)) == ["gone"]
    assert list(unknown(two)) == ["old", "GoneError"]


def test_no_argument_is_thrown_away() -> None:
    """A parameter that a function deletes is one that its callers look up for nothing."""
    wrong = [
        f"{path.relative_to(ROOT)}:{node.lineno} {node.name}: {name}"
        for path, tree in TREES.items()
        for node in ast.walk(tree)
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)
        for name in sorted(thrown_away(node))
    ]

    assert wrong == []
