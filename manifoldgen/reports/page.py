"""The page one looks at: one HTML file that carries all it needs, asks for nothing and runs nothing foreign.

Every number on it is report.json's; the view is drawn from kernel-free meshes, so a route or a solid that
failed still gives a page with what exists.
"""

from __future__ import annotations

import base64
import hashlib
import html
import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.metadata import version
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING, Any

from manifoldgen.checks import registry
from manifoldgen.checks.finding import SIGNS, FindingKind
from manifoldgen.designs import Design, design
from manifoldgen.designs.make import Source
from manifoldgen.errors import MissingLibraryError
from manifoldgen.manifold.cut import ROLE_WORDS
from manifoldgen.manifold.model import Manifold
from manifoldgen.mesh.parts import part_names
from manifoldgen.public import public
from manifoldgen.reports import numbers, plots, tables
from manifoldgen.reports.bundle import bundle
from manifoldgen.reports.library import Library, library
from manifoldgen.reports.scene import PageScene, scene
from manifoldgen.reports.shown import finding_numbers, shown, unit_of
from manifoldgen.shop.cautions import in_all

if TYPE_CHECKING:
    from jinja2 import Environment

_MOST = 2000  # characters of a description that are shown at once


@public
@dataclass(frozen=True)
class Page:
    """A finished page.  text : the whole HTML."""

    text: str

    def write(self, path: Path | str) -> Path:
        """Write it as one file."""
        target = Path(path)
        target.write_text(self.text, encoding="utf-8", newline="\n")
        return target

    def __repr__(self) -> str:
        """How large it is and what to do with it, instead of all of it."""
        return f"<page of {len(self.text.encode()) / 1e3:.0f} kB: .write('report.html')>"

    def _repr_html_(self) -> str:
        """The same page in a frame of its own, for notebooks."""
        inside = html.escape(self.text, quote=True)
        return (
            f'<iframe srcdoc="{inside}" title="manifold" width="100%" height="800" allowfullscreen></iframe>'
        )


@public
def page(source: Design | Source) -> Page:
    """The page of a job, without solids. In a notebook it shows itself.

    source : a design, or what makes one (a file, a mapping, a manifold); open paths are then not searched for.

    >>> import manifoldgen as mg
    >>> mg.page("cq_scripts/jobs/snow_groomer_three.yaml").text[:15]
    '<!doctype html>'
    """
    whole = source if isinstance(source, Design) else design(source, search=False)
    return made(whole, numbers.report(whole))


def made(whole: Design, content: Mapping[str, Any]) -> Page:
    """The page from a design and its report: every number on it is the report's."""
    m = whole.manifold
    view = scene(m, content)
    missing = list(view.missing)
    held: Library | None = None
    try:
        held = library()
    except MissingLibraryError as error:
        missing.insert(0, f"report without 3-D view: {error}")
    script, style = viewer_script(), _text("style.css")
    text = _environment().get_template("page.html.j2").render(
        m=m,
        content=content,
        description=_short(m.description),
        open_paths=sum(run.path is None for run in m.runs),
        parts=part_names(m),
        hardware=list(dict.fromkeys(told["part"] for told in view.mapping["meshes"] if told["kind"] == "nut")),
        obstacles=list(dict.fromkeys(o.name for o in m.obstacles)),
        version=version("manifoldgen"),
        caution=in_all(m.tables),
        policy=_policy(script, style),
        library=held,
        script=script,
        style=style,
        scene_json=_json(view.mapping),
        blob=view.blob,
        stages=view.mapping["stages"],
        missing=missing,
        found=list(enumerate(content.get("findings", []))),
        kinds=_kinds(content),
        concerned=sorted({part for f in content.get("findings", []) for part in f["parts"]}),
        counts={s: sum(f["severity"] == s for f in content.get("findings", [])) for s in SIGNS},
        signs=SIGNS,
        tables=tables.tables(content, _flat(m)),
        numbers=tables.numbers(content),
        lengths=plots.lengths(content),
        gaps=plots.gaps(content),
        dials=plots.dials(content),
    )  # fmt: skip
    return Page(text)


def _kinds(content: Mapping[str, Any]) -> list[FindingKind]:
    """What the findings of a report mean, each kind once, in the order they come."""
    known = registry.known()
    names = dict.fromkeys(f["name"] for f in content.get("findings", []))
    return [known[name] for name in names if name in known]


def viewer_script() -> str:
    """The page's own script: the modules beside the page, joined."""
    return bundle(modules(), "start")


def modules() -> dict[str, str]:
    """The text of every module of the viewer, by its name."""
    held = files("manifoldgen.reports").joinpath("html").iterdir()
    texts = {
        f.name.removesuffix(".mjs"): f.read_text(encoding="utf-8") for f in held if f.name.endswith(".mjs")
    }
    return dict(sorted(texts.items()))


def _policy(script: str, style: str) -> str:
    """What the browser may do with the page: run this very script and the module made from it, nothing else."""
    return "; ".join(
        [
            "default-src 'none'",
            f"script-src {_hash(script)} blob:",
            f"style-src {_hash(style)}",
            "img-src data: blob:",
            "base-uri 'none'",
            "form-action 'none'",
        ]
    )


def _hash(text: str) -> str:
    digest = hashlib.sha256(text.encode("utf-8")).digest()
    return f"'sha256-{base64.b64encode(digest).decode('ascii')}'"


def _json(value: object) -> str:
    """JSON that can stand inside a page: nothing in it opens or closes a tag."""
    text = json.dumps(value, allow_nan=False, separators=(",", ":"))
    return text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")


def _flat(m: Manifold) -> Iterable[tuple[str, str, tuple[str, ...]]]:
    """Pieces without a centreline: transition plates, plates and cones."""
    for piece in m.pieces:
        if piece.path is None:
            yield piece.id, f"{piece.part} {ROLE_WORDS[piece.role]}", piece.joints


def _short(text: str) -> str:
    return text if len(text) <= _MOST else text[:_MOST] + " …"


def _text(name: str) -> str:
    return files("manifoldgen.reports").joinpath("html", name).read_text(encoding="utf-8")


@cache
def _environment() -> Environment:
    from jinja2 import Environment, PackageLoader, StrictUndefined

    made = Environment(
        loader=PackageLoader("manifoldgen.reports", "html"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters.update(shown=shown, numbers=finding_numbers, unit=unit_of)
    return made


__all__ = ["Page", "PageScene", "made", "page", "viewer_script"]
