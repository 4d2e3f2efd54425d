"""Finds the places where a fact is read out of a string: an id cut up, a name matched, a sentence searched."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from itertools import pairwise

CUTTING = {
    "startswith", "endswith", "removeprefix", "removesuffix", "partition", "rpartition", "split", "rsplit", "rfind",
    "isdigit", "isalpha", "isupper", "isnumeric", "isalnum",
}  # fmt: skip
# what names a thing or says something of it; a kind, a role, an owner may be compared
NAMES = {
    "id", "id_", "part", "name", "piece", "text", "words", "datum", "said", "blocker", "blocked_by", "message",
    "sentence", "title", "label", "mark",
}  # fmt: skip
# modules that read strings, and what strings these are
TEXTS = {
    "catalogue/catalogue.py": "rows of the catalogue that are keyed by a size or a schedule",
    "catalogue/tables.py": "lengths as the catalogue and the shop write them",
    "catalogue/threads.py": "thread designations (M8, 3/8-16) as people write them",
    "checks/finding.py": "whether a new kind of finding is called as they all are; the first sentence of its prose",
    "cli/libraries.py": "messages of the system's loader",
    "cli/listed.py": "folders and source files on the disk",
    "cli/main.py": "the command line",
    "cli/plain.py": "the command line",
    "cli/terminal.py": "whether a text ends with a line feed",
    "cli/ticked.py": "the user's own text file",
    "compiled/kept.py": "names of environment variables; what the system tells of its processor",
    "compiled/mark.py": "names of modules and routines",
    "compiled/modules.py": "Python text",
    "drawing/lettering.py": "words that are set in lines",
    "drawing/sheets/overview.py": "a finding's name, which is its kind",
    "drawing/strokes.py": "the letters' strokes as they are written in the module",
    "drawing/table.py": "words that are set in cells",
    "export/atomic.py": "names of scratch folders on the disk",
    "export/meshes.py": "paths that the assembly library makes of names",
    "export/step_assembly.py": "STEP text",
    "manifold/assemble.py": "keys of the parameter file",
    "manifold/survey/net.py": "points as the user names them in the parameter file",
    "parameters/document.py": "YAML text",
    "parameters/flange.py": "a unit as the user writes it",
    "parameters/meant.py": "sizes and schedules of pipe as the user writes them",
    "parameters/scalars.py": "numbers and names as the user writes them",
    "parameters/sentences.py": "messages of the validation library",
    "parameters/splice.py": "YAML text",
    "parameters/starter.py": "a job's name as the user gives it",
    "parameters/tubes.py": "a wall by gauge, as the user writes it",
    "parameters/wastegate.py": "runner 2, as the parameter file names a run",
    "pictures/offscreen.py": "arrays by number in a scratch file",
    "pictures/shaded.py": "messages of the drawing process",
    "prints/foreign.py": "whether another package's file names are sound",
    "prints/marks.py": "the letters' strokes as they are written in the module",
    "readers/dxf.py": "messages of the DXF library",
    "readers/dxf_entities.py": "layers of somebody else's drawing",
    "readers/mesh_file.py": "PLY and STL text",
    "readers/step_body.py": "STEP text",
    "reports/bundle.py": "JavaScript text",
    "reports/library.py": "JavaScript text",
    "reports/shown.py": "the report's keys, whose last word is their unit",
    "reports/page.py": "names of script files",
    "reports/tables.py": "the report's keys",
    "results/made.py": "the command line's --only",
    "routing/_casadi.py": "a name that the solver gives",
    "routing/diagnose.py": "a limit by its key in the parameter file",
    "shop/aids.py": "file names out of words",
    "shop/prep.py": "an alloy by its key in the catalogue",
    "units.py": "lengths and angles as people write them",
}


def readings(tree: ast.AST) -> Iterator[ast.AST]:
    """Every place in a module where a string is cut, matched, compared with a word, or put together to look up."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Call):
            found = _call(node)
        elif isinstance(node, ast.Compare):
            found = _comparison(node)
        elif isinstance(node, ast.Subscript):
            found = _index(node)
        else:
            found = "re" in _imported(node)
        if found:
            yield node


def _call(node: ast.Call) -> bool:
    """A string is cut, words in it are replaced, or something is looked up by an id made on the spot."""
    if not isinstance(node.func, ast.Attribute):
        return False
    first = node.args[0] if node.args else None
    worded = isinstance(first, ast.Constant) and sum(map(str.isalpha, str(first.value))) > 1
    replaced = node.func.attr == "replace" and len(node.args) == 2 and worded
    looked_up = node.func.attr in {"get", "index", "pop"} and isinstance(first, ast.JoinedStr)
    return node.func.attr in CUTTING or replaced or looked_up


def _comparison(node: ast.Compare) -> bool:
    """A name is compared with a word, a word is looked for in it, or an id is made to compare with."""
    sides = [node.left, *node.comparators]
    if any(isinstance(member, ast.JoinedStr) for side in sides for member in _members(side)):
        return True
    return any(
        (_written(a) and _called(b) in NAMES) or (_written(b) and _called(a) in NAMES)
        for a, b in pairwise(sides)
    )


def _index(node: ast.Subscript) -> bool:
    """A piece of an id is taken, or something is looked up by an id made on the spot."""
    if not isinstance(node.ctx, ast.Load):
        return False
    cut = isinstance(node.slice, ast.Slice) or isinstance(getattr(node.slice, "value", None), int)
    return isinstance(node.slice, ast.JoinedStr) or (cut and _called(node.value) in {"id", "id_"})


def _imported(node: ast.AST) -> set[str]:
    if isinstance(node, ast.Import):
        return {alias.name for alias in node.names}
    return {node.module or ""} if isinstance(node, ast.ImportFrom) else set()


def _members(node: ast.expr) -> list[ast.expr]:
    """What a written set or list holds, or what a comprehension makes; else the thing itself."""
    if isinstance(node, ast.Set | ast.List | ast.Tuple):
        return node.elts
    if isinstance(node, ast.SetComp | ast.ListComp | ast.GeneratorExp):
        return [node.elt]
    return [node]


def _called(node: ast.expr) -> str:
    """The last name of ``a.b.c``; empty for anything else."""
    return node.attr if isinstance(node, ast.Attribute) else node.id if isinstance(node, ast.Name) else ""


def _written(node: ast.expr) -> bool:
    return isinstance(node, ast.Constant) and isinstance(node.value, str) and node.value != ""
