"""The shop's own rows while a file is read: the catalogue in force, what does not fit, and the defaults from it.

Every validator gets the catalogue in force as its context, so that the shop's own threads, rates and defaults count
while a job is read, too. A file without own rows has our tables as they are.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from pydantic import ValidationInfo

from manifoldgen import units
from manifoldgen.catalogue import SIZES, STANDARD, Catalogue, plain
from manifoldgen.parameters.scalars import row_name

BLOCKS = {"tools": "tools", "torch": "tig"}  # blocks of the shop file that are one file of the catalogue
SHOWN = {name: STANDARD.defaults(name) for name in ("limits", "obstacle", "print")}  # what editors are told
THREAD = {"d", "pitch", "tpi"}  # what a row of threads may say
SIZE = "use a number of mm, or text such as '9/16 in'"
UNWRITTEN: Any = {}  # the default of a block that takes what is not written from the catalogue in force
Rows = Mapping[str, Mapping[str, Any]]
Problem = tuple[tuple[str, ...], str]


def tables(info: ValidationInfo) -> Catalogue:
    """The catalogue that counts for this job: ours, with the shop's rows over it."""
    return info.context if isinstance(info.context, Catalogue) else STANDARD


def filled(data: object, info: ValidationInfo, table: str) -> object:
    """A block as written, with the defaults of the catalogue in force where it says nothing."""
    if not isinstance(data, Mapping):
        return data
    rows = tables(info).defaults(table)
    return {**{name: rows[name] for name in SHOWN[table]}, **data}


def in_force(*files: Mapping[str, Any]) -> Catalogue:
    """Our catalogue with the own rows of some files, the later over the earlier, without the values that do not fit.

    files : what is written, or the same read; their keys ``tools``, ``torch`` and ``catalogue`` count.
    """
    found = STANDARD
    for written in files:
        # threads first: the rows of nuts and holes are found by their names
        for _, file, table, rows in sorted(own_tables(written), key=lambda own: own[2] != "thread"):
            wrong = {keys for keys, _ in misfits(file, table, rows)}
            if () not in wrong:
                good = {
                    name: {key: value for key, value in row.items() if (name, key) not in wrong}
                    for name, row in rows.items()
                }
                found = found.with_overrides({file: {table: good}})
    return found


def own_tables(written: Mapping[str, Any]) -> Iterator[tuple[tuple[str, ...], str, str, Rows]]:
    """Every table of own rows: its keys in the file, the catalogue's file and table, its rows."""
    blocks: list[tuple[tuple[str, ...], str, object]]
    blocks = [((key,), file, written.get(key)) for key, file in BLOCKS.items()]
    blocks += [(("catalogue", str(f)), str(f), block) for f, block in _mapping(written.get("catalogue"))]
    for keys, file, block in blocks:
        for table, rows in _mapping(block):
            yield (*keys, str(table)), file, str(table), {k: _named(row) for k, row in _named(rows).items()}


def _mapping(value: object) -> Iterator[tuple[Any, Any]]:
    yield from value.items() if isinstance(value, Mapping) else ()


def _named(value: object) -> dict[str, Any]:
    """A block by names as the catalogue has them."""
    return {str(row_name(name)): inner for name, inner in _mapping(value)}


def misfits(file: str, table: str, rows: Rows) -> Iterator[Problem]:
    """What does not fit the catalogue's table: keys from the table down, sentence."""
    try:
        ours = STANDARD.table(file, table)
    except KeyError as error:
        yield (), str(error)
        return
    columns = {key: value for row in ours.values() for key, value in row.values.items()}
    for name, row in rows.items():
        base = STANDARD.base(file, table, name)
        for key, value in row.items():
            known = base.get(key) if base else None
            if value == 0 and file == "fasteners" and key in {*SIZES.get(table, ()), *THREAD}:
                yield (name, key), "0 is not possible: use more than 0"
            elif not _alike(plain(value), columns.get(key) if known is None else known):
                told = f"the catalogue has {units.named(known)} here" if known is not None else SIZE
                yield (name, key), f"{units.named(value)} does not fit: {told}"
        told = _wanting(SIZES.get(table, {}), {*row, *(base.values if base else ())})
        if file == "fasteners" and told:
            yield (name,), f"a new row of {table} needs {told}"


def _wanting(columns: Mapping[str, str], given: set[str]) -> str:
    """The columns of a table by size of thread that a row still needs; one clearance hole is enough."""
    missing = [c for c in columns if c not in given]
    if len(set(columns.values())) == 1 and len(missing) < len(columns):
        return ""
    return ", ".join(f"{c} ({columns[c]})" for c in missing)


def _alike(value: object, known: object) -> bool:
    """Whether an own value is of the catalogue value's kind (any kind for a new one); never negative or NaN."""
    if isinstance(value, list | tuple):
        return (known is None or isinstance(known, list)) and all(_alike(v, None) for v in value)
    if isinstance(value, str):
        return known is None or isinstance(known, str)
    number = isinstance(value, int | float) and not isinstance(value, bool) and 0 <= value <= units.LARGEST_MM
    return number and (known is None or isinstance(known, int | float))
