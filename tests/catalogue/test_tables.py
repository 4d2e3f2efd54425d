"""The catalogue's files: sources and confidence on every row, no addresses, names listed when one is wrong."""

from __future__ import annotations

import re
from importlib.resources import files

import pytest

from manifoldgen.catalogue import STANDARD
from manifoldgen.catalogue.tables import FILES, parse, read


@pytest.mark.parametrize("name", FILES)
def test_sources(name: str) -> None:
    """Every row says where it is from and how sure it is, and every source is used."""
    file = read(name)
    rows = [row for _, row in file.rows()]

    assert rows
    assert all(row.src and row.conf in {"high", "med", "low"} for row in rows)
    assert {text for row in rows for text in row.src} == set(file.sources.values())


@pytest.mark.parametrize(
    "row", [{"value": 1, "conf": "low"}, {"value": 1, "src": "X", "conf": "low"}, {"value": 1, "src": "S"}]
)
def test_row_without_source(row: dict[str, object]) -> None:
    """A row without a source, with an undefined one or without confidence is refused."""
    with pytest.raises(ValueError, match="needs src"):
        parse("own", {"sources": {"S": "seen"}, "table": {"a": row}})


KINDS = re.compile(
    r"""\b(ISO|DIN|ASME|AWS|AISC|IFI|MIL-STD|CFR|commercial\ item\ description|handbook|textbook|manual|data\ sheet
    |(reseller|supplier|association)(s'|'s)\ (tables?|page)|data\ tables?\ of\ an\ open-source|engineering\ tables
    |web\ (article|table|calculator)|encyclopedia|discussion|guide|guidance|specification
    |measured|computed|arithmetic|symmetry|least\ squares|purge\ table\ of\ the\ shop\ rows|common\ practice|memory)\b""",
    re.IGNORECASE | re.VERBOSE,
)


@pytest.mark.parametrize("name", FILES)
def test_sources_name_their_kind(name: str) -> None:
    """Whoever reads a source knows what it is: a standard, a data sheet, practice, ...; nothing says less."""
    told = read(name).sources.values()

    assert [text for text in told if not KINDS.search(text)] == []
    assert [text for text in told if re.search(r"workbench|trade (table|page|article)|published", text)] == []


def test_no_addresses() -> None:
    """No host name stands in a file of the catalogue, and no file is forgotten."""
    found = {
        path.name: path.read_text("utf-8")
        for path in files("manifoldgen.catalogue").iterdir()
        if path.name.endswith(".yaml")
    }

    assert {f"{name}.yaml" for name in FILES} == set(found)
    for name, text in found.items():
        assert not re.search(r"://|www\.|\.(com|org|net|html?)\b", text), name


def test_own_rows() -> None:
    """Own values replace and add, say so, and leave ours as they were."""
    own = STANDARD.with_overrides({"tools": {"ratchet": {"10": {"head_d": 32}, "8": {"head_d": 28}}}})
    row = own.row("tools", "ratchet", 10)

    assert (row["head_d"], row["head_h"], row.src) == (32, 24, ("the shop's own file",))
    assert own.row("tools", "ratchet", 8)["head_d"] == 28
    assert STANDARD.row("tools", "ratchet", 10)["head_d"] == 35
    with pytest.raises(KeyError, match=r"no table of tools 'hammer'.*ratchet"):
        STANDARD.with_overrides({"tools": {"hammer": {"1": {}}}})
    with pytest.raises(KeyError, match=r"no file of tables 'tool'.*tools"):
        STANDARD.with_overrides({"tool": {}})
