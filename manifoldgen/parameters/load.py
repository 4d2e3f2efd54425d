"""A parameter file (or a mapping) becomes `Parameters`, or one error with every problem and its place."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from os import PathLike
from pathlib import Path
from typing import Any

from pydantic import BaseModel, ValidationError

from manifoldgen.catalogue import Catalogue
from manifoldgen.errors import ParameterError, Where
from manifoldgen.parameters import document, own, sentences
from manifoldgen.parameters.document import Document, Keys
from manifoldgen.parameters.files import Unreadable, ordinary, read_bytes
from manifoldgen.parameters.job import Parameters
from manifoldgen.parameters.workshop import Shop
from manifoldgen.public import public

MOST_PROBLEMS = 60


@dataclass(frozen=True)
class FilePlace:
    """A place in a named file; line 0 where there are no places (a mapping)."""

    file: str
    line: int
    column: int

    def __str__(self) -> str:
        return f"{self.file}:{self.line}:{self.column}: " if self.line else ""


@dataclass
class _Source:
    """Plain values and where each was written."""

    data: Any
    label: str = ""
    values: dict[Keys, FilePlace] = field(default_factory=dict)
    keys: dict[Keys, FilePlace] = field(default_factory=dict)
    problems: list[tuple[FilePlace, str]] = field(default_factory=list)

    def report(self, loc: Keys, sentence: str, *, about_key: bool = False) -> None:
        """Note a problem at the deepest place of `loc` that was written; entries of a list count from 1."""
        found: Keys = ()
        within = self.data
        shown: list[str] = []
        for key in loc:
            step = (
                int(key)
                if isinstance(key, str) and key.isdecimal() and (*found, int(key)) in self.values
                else key
            )
            if (*found, step) in self.values or (not self.values and not _inner(step)):
                found = (*found, step)
                shown.append(str(step + 1 if isinstance(within, list) and isinstance(step, int) else step))
                within = _entry(within, step)
        spots = self.keys if about_key and found in self.keys else self.values
        spot = spots.get(found, FilePlace(self.label, 0, 0))
        name = ".".join(shown)
        self.problems.append((spot, f"{name}: {sentence}" if name else sentence))


def _entry(within: Any, step: str | int) -> Any:  # noqa: ANN401 - whatever the file holds
    """What stands under a key or at a place of a list; None where nothing does."""
    if isinstance(within, Mapping):
        return within.get(step)
    if isinstance(within, list) and isinstance(step, int) and step < len(within):
        return within[step]
    return None


def _inner(step: str | int) -> bool:
    """Whether a step of a loc is a form's name rather than a key."""
    return isinstance(step, str) and step[:1] in {"<", "["}


@public
def load(source: str | PathLike[str] | Mapping[Any, Any]) -> Parameters:
    """Read a job.

    Parameters
    ----------
    source : the file's name, or a mapping of the same form (then there are no places).

    Raises
    ------
    ParameterError : every problem found, each ``file:line:column: key.path: sentence``.

    >>> import manifoldgen as mg
    >>> mg.load("cq_scripts/jobs/snow_groomer_three.yaml").name
    'snow-groomer-three'
    """
    if isinstance(source, Mapping):
        return _finish(_Source(source), None)
    path = Path(source)
    raw = _bytes(path)
    return _finish(_read(raw, str(path)), path, hashlib.sha256(raw).hexdigest())


def load_text(text: str | bytes, path: str | Path = "job.yaml") -> Parameters:
    """Read a job from its text; files it names are relative to `path`, which need not exist."""
    raw = text.encode() if isinstance(text, str) else text
    return _finish(_read(raw, str(path)), Path(path))


def _bytes(path: Path) -> bytes:
    try:
        return read_bytes(path, document.MOST_BYTES)
    except Unreadable as error:
        raise ParameterError(str(error)) from None


def _read(raw: bytes, label: str) -> _Source:
    try:
        read = document.read(document.decode(raw))
    except document.Refused as refused:
        raise ParameterError(
            f"{FilePlace(label, refused.where.line, refused.where.column)}{refused.sentence}"
        ) from None
    return _placed(read, label)


def _placed(read: Document, label: str) -> _Source:
    def spots(places: Mapping[Keys, Where]) -> dict[Keys, FilePlace]:
        return {k: FilePlace(label, w.line, w.column) for k, w in places.items()}

    source = _Source(read.data, label, spots(read.values), spots(read.keys))
    for keys, where, sentence in read.problems:
        source.problems.append(
            (FilePlace(label, where.line, where.column), f"{'.'.join(map(str, keys))}: {sentence}")
        )
    return source


def _finish(source: _Source, path: Path | None, sha256: str = "") -> Parameters:
    if not isinstance(source.data, Mapping):
        source.report(
            (), "a job is a block of keys (format, name, engine, …): see 'manifoldgen init' for a start"
        )
        _stop(source)
    base = path.parent if path else Path()
    shop = _shop(source, base)
    whole, files = source, [source.data]
    if shop and shop.problems:
        source.problems += shop.problems
        files.insert(
            0, shop.data
        )  # its rows that fit still count: what the job takes from them is no mistake
    elif shop:
        whole = _merged(source, shop)
        files = [whole.data]
    job = _checked(Parameters, whole, own.in_force(*files))
    if isinstance(job, Parameters):
        for keys, name in _named_files(job):
            _check_file(whole, keys, base, name)
    _stop(whole)
    assert isinstance(job, Parameters)  # noqa: S101 - _stop raised otherwise
    places = {
        k: Where(s.line, s.column, "" if s.file == source.label else s.file) for k, s in whole.values.items()
    }
    return job.placed(path, places, sha256)


def _checked(model: type[BaseModel], source: _Source, tables: Catalogue) -> BaseModel | None:
    """The model of a file, or its problems noted; own rows that do not fit are told whatever else is wrong."""
    for at, file, table, rows in own.own_tables(source.data):
        for keys, sentence in own.misfits(file, table, rows):
            source.report((*at, *keys), sentence)
    try:
        return model.model_validate(source.data, context=tables)
    except ValidationError as error:
        for loc, sentence, about_key in sentences.problems(error, model):
            source.report(loc, sentence, about_key=about_key)
        return None


def _shop(source: _Source, base: Path) -> _Source | None:
    """The shop file that the job names, with what is wrong with it; None where none can be read."""
    name = source.data.get("shop")
    if not isinstance(name, str) or not name:
        return None
    path = base / name
    try:
        shop = _read(read_bytes(path, document.MOST_BYTES), str(path))
    except Unreadable as error:
        source.report(("shop",), str(error))
        return None
    except ParameterError as error:
        source.problems.append((FilePlace(str(path), 0, 0), str(error)))
        return None
    if not isinstance(shop.data, Mapping):
        shop.report(
            (),
            "a shop file is a block of keys (stock, limits, print, papers, tools, torch, rates, catalogue)",
        )
        shop.data = {}
    else:
        _checked(Shop, shop, own.in_force(shop.data))
    return shop


def _merged(job: _Source, shop: _Source) -> _Source:
    """One source of both; the job wins, key by key; stock items are joined by name."""
    whole = _Source(dict(job.data), job.label, dict(job.values), dict(job.keys), job.problems)
    _add(whole, whole.data, shop, shop.data, ())
    stock, listed = shop.data.get("stock"), job.data.get("stock")
    if stock and isinstance(listed, list):
        names = {item.get("name") for item in listed if isinstance(item, Mapping)}
        whole.data["stock"] = list(listed)
        for i, item in enumerate(stock):
            if item.get("name") not in names:
                _take(whole, ("stock", len(whole.data["stock"])), shop, ("stock", i))
                whole.data["stock"].append(item)
    return whole


def _add(whole: _Source, into: dict[Any, Any], shop: _Source, more: Mapping[Any, Any], at: Keys) -> None:
    for key, value in more.items():
        here = next((k for k in into if str(k) == str(key)), key)  # a row may be written 10 or "10"
        if here not in into:
            into[key] = value
            _take(whole, (*at, key), shop, (*at, key))
        elif isinstance(value, Mapping) and isinstance(into[here], Mapping):
            into[here] = dict(into[here])
            _add(whole, into[here], shop, value, (*at, key))


def _take(whole: _Source, to: Keys, shop: _Source, keys: Keys) -> None:
    """Carry the places of the shop's value over."""
    n = len(keys)
    for ours, theirs in ((whole.values, shop.values), (whole.keys, shop.keys)):
        ours.update({(*to, *k[n:]): spot for k, spot in theirs.items() if k[:n] == keys})


def _named_files(job: Parameters) -> Iterator[tuple[Keys, str]]:
    for keys, drawing in job.drawings():
        if drawing.dxf:
            yield (*keys, "dxf"), drawing.dxf
    for block, obstacles in ((("turbo", "body"), job.turbo.body), (("obstacles",), job.obstacles)):
        for i, obstacle in enumerate(obstacles):
            if obstacle.mesh:
                yield (*block, i, "mesh"), obstacle.mesh


def files_of(job: Parameters) -> tuple[Path, ...]:
    """Every file that a job is read from: its own, its shop file, the drawings and scans it names."""
    named = [*([job.shop] if job.shop else []), *(name for _, name in _named_files(job))]
    own = [job.path] if job.path else []
    return tuple(dict.fromkeys([*own, *(job.base / name for name in named)]))


def _check_file(source: _Source, keys: Keys, base: Path, name: str) -> None:
    try:
        ordinary(base / name)
    except Unreadable as error:
        source.report(keys, str(error))


def _stop(source: _Source) -> None:
    """Raise what was found, in the order of the file."""
    if not source.problems:
        return
    found = sorted(
        set(source.problems), key=lambda p: (p[0].file != source.label, p[0].file, p[0].line, p[0].column)
    )
    lines = [f"{spot}{sentence}" for spot, sentence in found[:MOST_PROBLEMS]]
    if len(found) > MOST_PROBLEMS:
        lines.append(f"{found[MOST_PROBLEMS][0]}{len(found) - MOST_PROBLEMS} more problems from here on")
    raise ParameterError(*lines)
