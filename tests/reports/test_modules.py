"""The viewer's modules: joined in order, refused where they do not fit, and real modules to other programs."""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path

import pytest

from manifoldgen.reports import page as page_module
from manifoldgen.reports.bundle import BundleError, bundle, exports, imports, order
from manifoldgen.reports.page import modules, viewer_script
from tests.browser import browser, opened

HTML = Path(page_module.__file__).parent / "html"
NODE = shutil.which("node")
TINY = {
    "start": "import { grow } from './plant.mjs';\nimport { SEED } from './seed.mjs';\nwindow.said = grow() + SEED;\n",
    "plant": "import { SEED } from './seed.mjs';\nconst own = 1;\nexport function grow() { return SEED + own; }\n",
    "seed": "export const SEED = 2;\nconst own = 5;\nexport class Pot {}\n",
}


def test_every_module_stands_once_after_what_it_imports() -> None:
    """The whole folder is in the script, each module once, none before a module it takes something from."""
    held = modules()
    found = order(held, "start")
    script = viewer_script()

    assert sorted(found) == sorted(path.stem for path in HTML.glob("*.mjs"))
    for name in found:
        assert all(found.index(other) < found.index(name) for other, _ in imports(name, held[name]))
        assert script.count(f"const ${name} = ") == 1
    assert re.findall(r"const \$(\w+) = ", script) == list(found)


@pytest.mark.parametrize(
    ("name", "old", "new", "told"),
    [
        ("plant", "SEED }", "SEED, CORN }", r"plant\.mjs:1: seed\.mjs does not export CORN"),
        ("plant", "SEED }", "own }", r"plant\.mjs:1: seed\.mjs does not export own"),
        ("plant", "seed.mjs", "weed.mjs", r"plant imports weed\.mjs, which is not there"),
        ("seed", "const own", "import { grow } from './plant.mjs';\nconst own", r"in a circle: plant → seed → plant"),
        ("plant", "import { SEED }", "import * as seed", r"plant\.mjs:1: this import is not understood: import \* as"),
        ("plant", "{ SEED }", "SEED", r"this import is not understood"),
        ("plant", "{ SEED }", "{ SEED as corn }", r"this import is not understood"),
        ("plant", "'./seed.mjs'", "'seed'", r"this import is not understood"),
        ("seed", "export const", "export let", r"seed\.mjs:1: this export is not understood: export let SEED"),
        ("seed", "export const SEED = 2", "export default 2", r"this export is not understood"),
        ("seed", "export const", "  export const", r"this export is not understood"),
    ],
)  # fmt: skip
def test_what_does_not_fit_is_refused(name: str, old: str, new: str, told: str) -> None:
    """A name that is not given away, a module that is not there, a circle, any other form: one sentence with the line."""
    assert bundle(TINY, "start")
    assert old in TINY[name]
    with pytest.raises(BundleError, match=told):
        bundle({**TINY, name: TINY[name].replace(old, new, 1)}, "start")


def code(text: str) -> str:
    """A script without comments and strings; what a template puts in stays."""
    plain = re.sub(r"'(?:[^'\\\n]|\\.)*'|//[^\n]*", " ", text)
    plain = re.sub(r"`[^`]*`", lambda m: " ".join(re.findall(r"\$\{(.*?)\}", m[0])), plain)
    return plain.replace("...", " ")


def taken(text: str) -> set[str]:
    """Names that a script uses without a dot before them, keys of an object left out."""
    plain = re.sub(r"(?<=[{,])\s*\w+\s*:", " ", code(text))
    return set(re.findall(r"(?<![\w.$])[A-Za-z_$][\w$]*", plain))


def local(text: str) -> set[str]:
    """Names that a script declares anywhere: with a word, or as what a function is given."""
    plain = code(text)
    spots = [
        *re.findall(r"\b(?:const|let|class|function)\s+(\{[^}]*\}|\[[^\]]*\]|\w+)", plain),
        *re.findall(r"function \w+\(([^)]*)\)|\(([^()]*)\) =>", plain),
        *re.findall(r"(\w+) =>", plain),
    ]
    return {
        name
        for spot in spots
        for part in ([spot] if isinstance(spot, str) else spot)
        for name in re.findall(r"\w+", part)
    }


def top(text: str) -> set[str]:
    """Names that a module declares at its top."""
    return set(re.findall(r"^(?:export )?(?:async )?(?:function|const|class) (\w+)", text, re.MULTILINE))


@pytest.mark.parametrize("name", modules())
def test_a_module_imports_what_it_uses(name: str) -> None:
    """No name of another module is used without its import, and nothing is imported for nothing."""
    held = modules()
    body = "\n".join(line for line in held[name].splitlines() if not line.startswith("import"))
    named = {one for _, names in imports(name, held[name]) for one in names}
    foreign = set().union(*(top(text) for other, text in held.items() if other != name))

    assert (taken(body) & foreign) - local(body) - named == set()
    assert named - taken(body) == set()


def test_an_export_is_wanted_by_somebody() -> None:
    """What no other module imports stays inside its module."""
    held = modules()
    named = {
        (other, one) for name, text in held.items() for other, names in imports(name, text) for one in names
    }

    assert {(name, one) for name, text in held.items() for one in exports(name, text)} == named


@pytest.mark.skipif(NODE is None, reason="node, which reads the modules one by one, is not installed")
@pytest.mark.parametrize("path", sorted(HTML.glob("*.mjs")), ids=lambda path: path.name)
def test_node_reads_every_module(path: Path) -> None:
    """Each file is a module by itself, and so is the whole a script."""
    assert NODE is not None
    done = subprocess.run([NODE, "--check", path], capture_output=True, text=True, check=False)

    assert (done.returncode, done.stderr) == (0, "")


@pytest.mark.slow
def test_the_browser_runs_the_modules_themselves_and_no_name_leaks(tmp_path: Path) -> None:
    """Unjoined, by the browser's own `import`: the same view; joined: one name on the window."""
    from tests import factory

    joined = page_module.page(factory.manifold()).text
    script, policy = (
        re.search(r"(?s)<script>.*?</script>", joined),
        re.search(r"<meta http-equiv[^>]*>", joined),
    )
    assert script is not None
    assert policy is not None
    apart = joined.replace(script[0], '<script type="module" src="start.mjs"></script>').replace(
        policy[0], ""
    )
    (tmp_path / "joined.html").write_text(joined, "utf-8")
    (tmp_path / "blank.html").write_text("<!doctype html><title>blank</title>", "utf-8")
    names = "Object.getOwnPropertyNames(window)"
    with browser() as running:
        with opened(running, tmp_path / "blank.html") as blank:
            usual = set(blank.run(names))
        with opened(running, tmp_path / "joined.html") as view:
            ready = view.run("({...viewerReady})")
            assert set(view.run(names)) - usual == {"viewerReady", "__THREE__"}  # the library's own mark
        page = running.new_page()
        page.route("**/*", lambda route: route.fulfill(**answer(route.request.url, apart)))
        page.goto("http://viewer.test/")
        page.wait_for_function("window.viewerReady || window.viewerFailed")
        assert page.evaluate("({...viewerReady})") == ready


def answer(url: str, text: str) -> dict[str, str]:
    """What stands at an address of the pretended site: the page, or one of the modules."""
    name = url.rpartition("/")[2]
    if not name:
        return {"body": text, "content_type": "text/html"}
    return {"body": (HTML / name).read_text("utf-8"), "content_type": "text/javascript"}
