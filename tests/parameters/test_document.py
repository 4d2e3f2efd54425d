"""YAML as editors read it (version 1.2), with places, and nothing that unfolds without end."""

from __future__ import annotations

import math

import pytest

from manifoldgen.errors import Where
from manifoldgen.parameters import document

# YAML 1.2.2, section 10.3.2 (core schema)
ROWS = (
    ("no", "no"), ("on", "on"), ("off", "off"), ("yes", "yes"), ("y", "y"), ("1:30", "1:30"), ("1e3", 1000.0), ("1.5e3", 1500.0),
    ("1e-6", 1e-6), ("010", 10), ("0o10", 8), ("0x1F", 31), ("63,5", "63,5"), ("true", True), ("False", False), ("null", None),
    ("~", None), ("", None), ("12", 12), ("-3", -3), ("+3", 3), ("1.", 1.0), (".5", 0.5), (".inf", math.inf), ("-.INF", -math.inf),
    ("1_000", "1_000"), ("2001-01-01", "2001-01-01"), ("0b1", "0b1"), ("'12'", "12"), ('"no"', "no"),
)  # fmt: skip


@pytest.mark.parametrize(("text", "value"), ROWS)
def test_scalars(text: str, value: object) -> None:
    """Every row of the core rules, as a value of a key."""
    found = document.read(f"a: {text}\n").data["a"]

    assert found == value
    assert type(found) is type(value)


def test_not_a_number() -> None:
    """`.nan` is the float, `NaN` is a word."""
    assert math.isnan(document.read("a: .nan\n").data["a"])
    assert document.read("a: NaN\n").data["a"] == "NaN"


def test_places() -> None:
    """Values and keys know where they stand, 1-based, also after a byte order mark and with CRLF."""
    raw = b"\xef\xbb\xbfa: 1\r\nb:\r\n  - {c: 2}\r\n"
    read = document.read(document.decode(raw))

    assert read.data == {"a": 1, "b": [{"c": 2}]}
    assert read.values["a",] == Where(1, 4)
    assert read.values["b", 0, "c"] == Where(3, 9)
    assert read.keys["b", 0, "c"] == Where(3, 6)


@pytest.mark.parametrize("text", ["a: 1\n\tb: 2\n", "a:\n\tb: 2\n", "a:\n  b: 1\n\tc: 2\n"])
def test_a_tab_is_called_a_tab(text: str) -> None:
    """Tabs cannot indent (YAML 1.2.2, section 6.1): the sentence says so, at their line."""
    with pytest.raises(document.Refused, match="a tab stands here: indent with spaces") as told:
        document.read(text)
    assert told.value.where.line == text[: text.index("\t")].count("\n") + 1


def test_key_twice() -> None:
    """The first value stays, the second key is a problem at its own place."""
    read = document.read("a: 1\nb: {c: 1, c: {d: 2}}\na: 2\n")

    assert read.data == {"a": 1, "b": {"c": 1}}
    assert [(keys, where) for keys, where, _ in read.problems] == [
        (("b", "c"), Where(2, 11)),
        (("a",), Where(3, 1)),
    ]


def test_aliases() -> None:
    """An alias is its value; one that is not complete is refused."""
    assert document.read("a: &x [1, 2]\nb: *x\n").data == {"a": [1, 2], "b": [1, 2]}
    with pytest.raises(document.Refused, match="refers to nothing"):
        document.read("a: &x [1, *x]\n")


BOMB = "a: &a [1, 1, 1, 1, 1, 1, 1, 1, 1]\n" + "".join(
    f"{chr(98 + k)}: &{chr(98 + k)} [{', '.join(['*' + chr(97 + k)] * 9)}]\n" for k in range(9)
)


@pytest.mark.parametrize(
    ("text", "told", "line"),
    [
        (BOMB, "more than 50000 values", 5),
        ("a: " + "[" * 100_000, "deep", 1),
        ("a: " + "{b: " * 5000, "deep", 1),
        ("x" * 500_000, "too large", 1),
        ("", "empty", 1),
        ("# only words\n", "empty", 1),
        ("a: 1\n---\nb: 2\n", "second document", 2),
        ("a: !!python/object:os.system 1\n", "tags", 1),
        ("a: 1\nb: \x07\n", r"U\+0007", 2),
        ("a: [1, 2\nb: 3\n", "missing", 2),
        ("a: 1\n\tb: 2\n", "indent", 2),
        ("? [1, 2]\n: 3\n", "a key is one word", 1),
    ],
)
def test_refused(text: str, told: str, line: int) -> None:
    """What cannot be read at all is one sentence with a place inside the text."""
    with pytest.raises(document.Refused, match=told) as caught:
        document.read(text)

    assert caught.value.where.line == line
    assert caught.value.where.column >= 1


def test_latin_1() -> None:
    """Bytes that are not UTF-8 are named with their place."""
    with pytest.raises(document.Refused, match="0xfc is not UTF-8") as caught:
        document.decode("a: 1\nname: Prüfstand\n".encode("latin-1"))

    assert caught.value.where == Where(2, 9)
