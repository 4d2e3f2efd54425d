"""The rules that keep the program simple: who may import whom, sizes, what a command must never load."""

from __future__ import annotations

import ast
import os
import re
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from importlib.metadata import version
from pathlib import Path

import pytest
from packaging.requirements import Requirement

import manifoldgen
from tests.string_reading import TEXTS, readings

ROOT = Path(__file__).resolve().parents[1]
PACKAGE = ROOT / "manifoldgen"
CEILING = 400  # lines a file may have

BASE = {"errors", "units", "wording", "public"}
# room → the rooms it may import besides errors, units and wording; "*" is every room
MAY_IMPORT: dict[str, set[str]] = {
    "public": set(),
    "errors": set(),
    "units": set(),
    "wording": set(),
    "extensions": set(),
    "folders": set(),
    "compiled": {"folders"},
    "catalogue": set(),
    "geometry": {"compiled"},
    "parameters": {"catalogue"},
    "readers": {"geometry", "folders"},
    "manifold": {"parameters", "catalogue", "geometry", "readers"},
    "access": {"manifold", "geometry", "catalogue", "readers", "compiled"},
    "routing": {"manifold", "geometry", "access", "readers", "compiled"},
    "pieces": {"manifold", "geometry"},
    "engineering": {"manifold"},
    "checks": {"geometry", "readers", "manifold", "access", "pieces", "engineering", "extensions"},
    "shop": {"catalogue", "geometry", "manifold", "access", "pieces"},
    "mesh": {"manifold", "access", "geometry", "readers"},
    "designs": {"manifold", "parameters", "access", "routing", "pieces", "checks", "shop", "extensions"},
    "reports": {"designs", "catalogue", "geometry", "manifold", "access", "checks", "shop", "mesh"},
    "drawing": {"designs", "geometry", "manifold", "access", "shop", "mesh", "extensions"},
    "solids": {"manifold", "pieces", "geometry"},
    "prints": {"designs", "catalogue", "manifold", "access", "pieces", "shop", "solids", "mesh", "geometry", "extensions"},
    "pictures": {"mesh"},
    "export": {"solids", "prints", "mesh", "geometry", "extensions"},
    "plugin": {"solids", "manifold", "geometry"},  # what the functions of solids/ take
    "results": {"designs", "checks", "solids", "prints", "drawing", "export", "reports", "manifold", "routing", "extensions"},
    "cli": {"*"},
    "__init__": {"*"},
    "__main__": {"cli"},
}  # fmt: skip
KERNEL = {"cadquery", "OCP"}
KERNEL_ROOMS = {"solids", "prints", "export", "plugin"}
KERNEL_FILES = {"readers/_tessellate.py"}  # runs in a process of its own

SOURCES = sorted(PACKAGE.rglob("*.py"))
TESTS = sorted((ROOT / "tests").rglob("*.py"))


def room(path: Path) -> str:
    """Name the room of a source file: its folder, or the module itself at the top."""
    return path.relative_to(PACKAGE).with_suffix("").parts[0]


def imports(path: Path) -> Iterator[tuple[str, bool]]:
    """Every imported module by its full name, and whether it is for type checking only."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    typing_only = {
        id(inner)
        for node in ast.walk(tree)
        if isinstance(node, ast.If) and ast.unparse(node.test).endswith("TYPE_CHECKING")
        for inner in ast.walk(node)
    }
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from ((alias.name, id(node) in typing_only) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: relative import"
            yield from ((f"{node.module}.{alias.name}", id(node) in typing_only) for alias in node.names)


def trespasses(path: Path) -> Iterator[str]:
    """Each import of a file that its room may not make."""
    mine = room(path)
    if mine not in MAY_IMPORT:
        yield f"the room {mine} is not in the table"
        return
    allowed = MAY_IMPORT[mine] | BASE | {mine}
    for module, typing_only in imports(path):
        top, _, rest = module.partition(".")
        if top == "manifoldgen" and "*" not in allowed and rest.partition(".")[0] not in allowed:
            yield f"{path.relative_to(ROOT)} may not import {module}"
        alone = path.relative_to(PACKAGE).as_posix() in KERNEL_FILES
        if top in KERNEL and not typing_only and not alone and mine not in KERNEL_ROOMS:
            yield f"{path.relative_to(ROOT)} may not import the CAD kernel"


def test_rooms_import_only_what_they_may():
    """Data flows one way: a room knows only the rooms before it, and the kernel stays in its rooms."""
    assert [wrong for path in SOURCES for wrong in trespasses(path)] == []


def test_the_table_allows_nothing_that_is_not_used():
    """A row names only rooms that are imported: the table is the plan of the house, not a wish."""
    used: dict[str, set[str]] = {mine: set() for mine in MAY_IMPORT}
    for path in SOURCES:
        for module, _ in imports(path):
            top, _, rest = module.partition(".")
            if top == "manifoldgen":
                used[room(path)].add(rest.partition(".")[0])

    assert {
        mine: sorted(allowed - used[mine] - {"*"})
        for mine, allowed in MAY_IMPORT.items()
        if allowed - used[mine] - {"*"}
    } == {}
    assert {room(path) for path in SOURCES} == set(MAY_IMPORT)


def test_no_file_is_too_long():
    """A file over the ceiling answers more than one question."""
    lengths = {
        p.relative_to(ROOT).as_posix(): len(p.read_text("utf-8").splitlines()) for p in SOURCES + TESTS
    }

    assert {name: lines for name, lines in lengths.items() if lines > CEILING} == {}


def test_a_name_is_one_thing():
    """A class name stands for one thing in the whole package; `parameters/` holds the written form of some."""
    homes: dict[str, list[str]] = {}
    for path in SOURCES:
        if room(path) != "parameters":
            for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
                if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
                    homes.setdefault(node.name, []).append(path.relative_to(PACKAGE).as_posix())

    assert {name: files for name, files in homes.items() if len(files) > 1} == {}


def private_names(path: Path) -> Iterator[str]:
    """Each underscore name that a file takes out of another module of ours; whole modules called _… are meant."""
    for module, _ in imports(path):
        top, _, name = module.rpartition(".")
        whole = (ROOT / module.replace(".", "/")).with_suffix(".py").is_file()
        if top.partition(".")[0] == "manifoldgen" and re.match("_[^_]", name) and not whole:
            yield f"{path.relative_to(ROOT)} takes {name} out of {top}"


def test_what_begins_with_an_underscore_stays_at_home():
    """A name that another module needs is public, with a docstring and a home of its own."""
    assert [wrong for path in SOURCES for wrong in private_names(path)] == []


def test_facts_are_data_not_strings():
    """Nothing reads a role, an owner or a kind out of an id, a name or a sentence: they are attributes."""
    found: dict[str, list[int]] = {}
    for path in SOURCES:
        for node in readings(ast.parse(path.read_text(encoding="utf-8"))):
            found.setdefault(path.relative_to(PACKAGE).as_posix(), []).append(node.lineno)  # type: ignore[attr-defined]

    assert {name: lines for name, lines in found.items() if name not in TEXTS} == {}
    assert [
        name for name in TEXTS if name not in found
    ] == []  # a module that no longer reads any is taken off


@pytest.mark.parametrize(
    "code",
    [
        "part.startswith('collector')",
        "p.id.endswith('-P1')",
        "joint.id.split('.')[0]",
        "name.removeprefix('collector end of ')",
        "start, _, end = name.partition('-')",
        "w.datum.replace('square end', 'line')",
        "'runner' in part",
        "p.part == 'collector'",
        "stud.id[:1]",
        "import re",
        "joints[f'J{code}.L']",
        "joints.get(f'J{code}.L')",
        "step in {f'tack-{i}' for i in ids}",
        "group == f'nut {stud.id}'",
        "last[1:].isdigit()",
    ],
)
def test_the_test_sees_every_spelling(code):
    """Each way in which a fact was once read out of a string is found."""
    assert list(readings(ast.parse(code)))


@pytest.mark.parametrize(
    "code",
    [
        "piece.role == 'cone'",
        "joint.owner == c.owner",
        "names[f'R{n}'] = piece",
        "path.replace(target)",
        "ids = [f'J{n}']",
    ],
)
def test_the_test_lets_data_be(code):
    """Roles and owners are compared, ids are made."""
    assert not list(readings(ast.parse(code)))


_FACTS_IN_SCRIPTS = re.compile(
    r"\.(startsWith|endsWith|split|match|search)\(|\bRegExp\b|`runner \$\{|(part|piece|id)\.includes\("
)
SCRIPT_TEXTS = {"panel.mjs": r"heads[k].match("}  # the unit in a printed table's head


def test_the_pages_scripts_read_data_too():
    """The page's scripts get roles and numbers from the scene; they read none out of names."""
    wrong = []
    for path in sorted((PACKAGE / "reports" / "html").glob("*.mjs")):
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
            allowed = SCRIPT_TEXTS.get(path.name, "\0")
            if _FACTS_IN_SCRIPTS.search(line) and allowed not in line:
                wrong.append(f"{path.name}:{number}: {line.strip()}")

    assert wrong == []


def loaded_by(code: str) -> set[str]:
    """Top-level modules loaded after running `code` in a fresh interpreter."""
    code += "\nimport sys; print('loaded:', *{name.partition('.')[0] for name in sys.modules})"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, cwd=ROOT, check=True)
    return set(done.stdout.rpartition("loaded:")[2].split())


def test_import_is_light():
    """`import manifoldgen` and its help must come at once: none of the heavy libraries."""
    loaded = loaded_by("import manifoldgen, manifoldgen.cli")

    assert not loaded & {*KERNEL, "numba", "scipy", "trimesh", "vtkmodules", "manifold3d", "pydantic_core"}


def test_check_never_loads_the_kernel():
    """`manifoldgen check` answers in a second: the kernel alone takes three to import."""
    job = next(iter(sorted((ROOT / "cq_scripts" / "jobs").glob("*.yaml"))))
    loaded = loaded_by(f"from manifoldgen.cli import main; assert main(['check', {str(job)!r}]) in (0, 1)")

    assert "manifoldgen" in loaded
    assert not loaded & {*KERNEL, "vtkmodules"}


def test_public_names_are_sorted_and_there():
    """`__all__` is the list of what the package offers: sorted, complete, nothing that is not there."""
    names = manifoldgen.__all__

    assert names == sorted(names)
    assert {"assemble", "check", "load", "route", "solids", "split"} <= set(names)
    assert dir(manifoldgen) == [*sorted([*names, "__version__"])]
    assert [name for name in names if getattr(manifoldgen, name, None) is None] == []


def project() -> dict:
    """The project file."""
    return tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))


def test_tested_versions_are_the_installed_ones():
    """The exact versions in the project file are the ones that these very tests run with, none missing."""
    data = project()
    direct = [*data["project"]["dependencies"], *data["dependency-groups"]["dev"]]
    pins = {}
    for text in data["tool"]["uv"]["constraint-dependencies"]:
        pin = Requirement(text)
        if pin.marker is None or pin.marker.evaluate():
            pins[pin.name] = str(pin.specifier)

    assert set(pins) == {Requirement(text).name for text in direct}
    assert pins == {name: f"=={version(name)}" for name in pins}


def test_versions_agree():
    """The change log's newest entry is the version that is installed and written in the project file."""
    ours = project()["project"]["version"]
    log = (ROOT / "CHANGELOG.md").read_text(encoding="utf-8")
    newest = re.search(r"^## \[(\d+\.\d+\.\d+)\]", log, re.MULTILINE)

    assert version("manifoldgen") == ours
    assert manifoldgen.__version__ == ours
    assert newest is not None
    assert newest[1] == ours


def tracked() -> list[Path]:
    """Every text file under version control (or in the folder, where there is none)."""
    done = subprocess.run(["git", "ls-files", "-z"], capture_output=True, cwd=ROOT, check=False)  # noqa: S607
    names = done.stdout.decode().split("\0") if done.returncode == 0 else ["pyproject.toml", "README.md"]
    paths = [ROOT / name for name in names if name]
    return [p for p in paths if p.is_file() and b"\0" not in p.read_bytes()[:4096]]


# put together here, so that this file does not hold what it looks for
_HOSTS = [
    "py" + "pi.org",
    "pythonhosted" + ".org",
    "npmjs" + ".org",
    "deb.debian" + ".org",
    "local" + "host:",
]
_INDEX = re.compile("index" + r"-url\s*=|registry" + r"\s*=\s*.?http", re.IGNORECASE)
_MACHINE_PATH = re.compile(r"(?<![\w.~$}/-])/(?:home|root|work|tmp|Users|opt|mnt|srv)/[\w.-]+")


def test_nothing_names_a_machine_or_a_registry():
    """A clone works anywhere: no registry's address and no place on one machine in any file."""
    wrong = []
    for path in tracked():
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
            if any(host in line for host in _HOSTS) or _INDEX.search(line) or _MACHINE_PATH.search(line):
                wrong.append(f"{path.relative_to(ROOT)}:{number}: {line.strip()[:100]}")

    assert wrong == []


def test_no_lock_file_and_no_foreign_script():
    """The lock file names registry hosts and a bundled script would be third-party code: neither is kept."""
    names = [p.name for p in tracked()]

    assert "uv.lock" not in names
    assert not [n for n in names if n.endswith(".js")]


def test_readme_commands_are_the_ones_ci_runs():
    """CI takes its test and build commands out of the README: the patterns it looks for find one line each."""
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    start = "python3 -m venv .tools && .tools/bin/pip install -q uv && .tools/bin/uv run "
    lines = [line.removeprefix(start) for line in readme.splitlines() if line.startswith(start)]

    assert lines == ["manifoldgen build cq_scripts/jobs/sand_rail_four.yaml", "pytest -n auto"]
    assert "README.md" in (ROOT / ".ci" / "run").read_text(encoding="utf-8")
    assert os.access(ROOT / ".ci" / "run", os.X_OK)
