"""STEP of an assembly: names, pieces under their runners, colours; the same bytes for the same assembly.

The kernel's writer stamps the time, counts assembly links over the whole process and lists colours in the
order of memory addresses. So its text is put into a canonical order: records reached from the product
structure first, styles sorted by what they say, numbers given anew along the way, a fixed date.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterator
from pathlib import Path

import cadquery as cq

from manifoldgen.errors import SolidError

_STAMP = "1970-01-01T00:00:00"
_STRING = r"'(?:[^']|'')*'"
_RECORD = re.compile(rf"#(\d+)\s*=\s*((?:{_STRING}|[^';])*);")
_TOKEN = re.compile(rf"({_STRING})|#(\d+)|\s+")
_LINK = re.compile(r"(NEXT_ASSEMBLY_USAGE_OCCURRENCE\()'\d+'")
_STYLE = "MECHANICAL_DESIGN_GEOMETRIC_PRESENTATION_REPRESENTATION"

Records = dict[int, list[str | int]]


def write_step(path: Path, assembly: cq.Assembly) -> None:
    """Write the assembly as STEP AP214, mm, and read it back.

    Raises
    ------
    SolidError : the file read back holds other names or another number of solids than the assembly.
    """
    assembly.export(str(path), exportType="STEP")
    path.write_text(canonical(path.read_text(encoding="utf-8")), encoding="utf-8", newline="\n")
    _read_back(path, assembly)


def canonical(text: str) -> str:
    """The same STEP text with a fixed date and records in an order that depends on the content alone."""
    head, data = text.split("DATA;", 1)
    head = re.sub(r"(FILE_NAME\(\s*'[^']*',)\s*'[^']*'", rf"\1'{_STAMP}'", head)
    records = _parsed(data)
    order: dict[int, int] = {}
    for root in _roots(records):
        for number in _reached(root, records, order):
            order[number] = len(order) + 1
    lines = [f"#{order[n]}={_text(records[n], order)};" for n in order]
    count = iter(range(1, len(lines) + 1))
    lines = [_LINK.sub(lambda found: f"{found[1]}'{next(count)}'", line) for line in lines]
    return head + "DATA;\n" + "\n".join(lines) + "\nENDSEC;\nEND-ISO-10303-21;\n"


def _parsed(data: str) -> Records:
    return {int(number): list(_tokens(body)) for number, body in _RECORD.findall(data)}


def _tokens(body: str) -> Iterator[str | int]:
    """Split a record's body into text and references to other records; blanks outside strings vanish."""
    done = 0
    for found in _TOKEN.finditer(body):
        if found.start() > done:
            yield body[done : found.start()]
        if found[1]:
            yield found[1]
        elif found[2]:
            yield int(found[2])
        done = found.end()
    if done < len(body):
        yield body[done:]


def _text(tokens: list[str | int], order: dict[int, int]) -> str:
    return "".join(f"#{order[t]}" if isinstance(t, int) else t for t in tokens)


def _roots(records: Records) -> list[int]:
    """List the records that nothing refers to: structure as written, then styles by what they say."""
    used = {t for tokens in records.values() for t in tokens if isinstance(t, int)}
    free = [n for n in sorted(records) if n not in used]
    styles = [n for n in free if str(records[n][0]).startswith(_STYLE)]
    digests: dict[int, str] = {}
    for style in styles:
        for number in _reached(style, records, digests):
            said = "".join(digests[t] if isinstance(t, int) else t for t in records[number])
            said = _LINK.sub(r"\1''", said)
            digests[number] = hashlib.sha256(said.encode()).hexdigest()
    named = [n for n in free if n not in styles]
    return named + sorted(styles, key=lambda n: digests[n])


def _reached(root: int, records: Records, seen: dict[int, int] | dict[int, str]) -> Iterator[int]:
    """Walk the records below `root` that are not in `seen` yet, what is referred to before who refers."""
    stack = [(root, iter(records[root]))]
    open_now = {root}
    while stack:
        number, rest = stack[-1]
        for token in rest:
            if isinstance(token, int) and token not in seen and token not in open_now:
                stack.append((token, iter(records[token])))
                open_now.add(token)
                break
        else:
            stack.pop()
            if number not in seen:
                yield number


def _read_back(path: Path, assembly: cq.Assembly) -> None:
    back = cq.Assembly.importStep(str(path))
    asked, found = _names(assembly), _names(back)
    if asked != found:
        missing = ", ".join(sorted(set(asked) ^ set(found)))
        raise SolidError("model.step", f"read back with other names than written: {missing}")
    counts = len(assembly.toCompound().Solids()), len(back.toCompound().Solids())
    if counts[0] != counts[1]:
        raise SolidError("model.step", f"read back with {counts[1]} solids, written with {counts[0]}")


def _names(assembly: cq.Assembly) -> list[str]:
    return sorted(name.rsplit("/", 1)[-1] for name in assembly.objects)
