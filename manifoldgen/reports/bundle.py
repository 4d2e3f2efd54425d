"""The page's own script: its modules joined into one, each in a function of its own.

The browser cannot do it: modules inside one HTML file have no addresses to import each other by, and addresses
made while it runs would have to be let through the page's policy.  So they are joined when the page is made, and
the policy names the sum of the one script.

A module says ``import { a, b } from './x.mjs';`` and ``export function``, ``export const`` or ``export class``, each
at the beginning of a line; nothing else of the kind is understood, and what is not understood is refused.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping

_IMPORT = re.compile(r"import \{ ([\w$]+(?:, [\w$]+)*) \} from '\./([a-z]+)\.mjs';")
_EXPORT = re.compile(r"export ((?:async )?function|const|class) ([\w$]+)\b")


class BundleError(ValueError):
    """A module that cannot be joined; says which, and why."""


def bundle(modules: Mapping[str, str], start: str) -> str:
    """One classic script of `start` and all it imports; it leaves no name behind.

    Parameters
    ----------
    modules : text of every module by its name (``stage`` for ``stage.mjs``).
    start : the name of the module that runs the page.

    Raises
    ------
    BundleError : a module or name that is not there, a circle of imports, or a line that is not understood.
    """
    parts = [_scope(name, modules[name], modules) for name in order(modules, start)]
    return "\n".join(["(() => {", "'use strict';", *parts, "})();", ""])


def order(modules: Mapping[str, str], start: str) -> tuple[str, ...]:
    """The modules that `start` needs, each once and after those it imports; `start` is the last."""
    done: list[str] = []
    _visit(modules, start, (), done)
    return tuple(done)


def exports(name: str, text: str) -> frozenset[str]:
    """The names that a module gives away."""
    return frozenset(match[2] for _, match in _said(name, text, "export", _EXPORT))


def imports(name: str, text: str) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """Of a module's imports each: the module, the names taken from it."""
    return tuple((m[2], tuple(m[1].split(", "))) for _, m in _said(name, text, "import", _IMPORT))


def _visit(modules: Mapping[str, str], name: str, way: tuple[str, ...], done: list[str]) -> None:
    if name in way:
        raise BundleError(
            f"modules import each other in a circle: {' → '.join((*way[way.index(name) :], name))}"
        )
    if name not in modules:
        raise BundleError(f"{way[-1] if way else 'the page'} imports {name}.mjs, which is not there")
    if name not in done:
        for other, _ in imports(name, modules[name]):
            _visit(modules, other, (*way, name), done)
        done.append(name)


def _scope(name: str, text: str, modules: Mapping[str, str]) -> str:
    """A module as a function that returns what it exports, called at once."""
    lines = text.splitlines()
    for number, match in _said(name, text, "import", _IMPORT):
        lacking = set(match[1].split(", ")) - exports(match[2], modules[match[2]])
        if lacking:
            raise BundleError(
                f"{name}.mjs:{number}: {match[2]}.mjs does not export {', '.join(sorted(lacking))}"
            )
        lines[number - 1] = f"const {{ {match[1]} }} = ${match[2]};"
    for number, _ in _said(name, text, "export", _EXPORT):
        lines[number - 1] = lines[number - 1].removeprefix("export ")
    given = exports(name, text)
    back = [f"return {{ {', '.join(sorted(given))} }};"] if given else []
    return "\n".join([f"const ${name} = (() => {{", *lines, *back, "})();"])


def _said(name: str, text: str, word: str, form: re.Pattern[str]) -> Iterator[tuple[int, re.Match[str]]]:
    """The lines that begin with a word, numbered from 1, each of the one form that is understood."""
    for number, line in enumerate(text.splitlines(), 1):
        if re.match(rf"\s*{word}\b(?!\()", line):
            match = form.fullmatch(line) if word == "import" else form.match(line)
            if match is None:
                raise BundleError(f"{name}.mjs:{number}: this {word} is not understood: {line.strip()}")
            yield number, match
