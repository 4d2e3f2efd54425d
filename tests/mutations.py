"""Job files spoilt at random: what a tired user, an editor or a bad disk can do to one."""

from __future__ import annotations

import random
import re
from collections.abc import Callable

LITERALS = (
    "NaN", ".nan", ".inf", "-.inf", "1e9", "-1e9", "1e999", "9" * 500, "63,5", "true", "no", "null", "~", "''", "0", "-1",
    "[]", "{}", "[1]", "[[[[1]]]]", "1:30", "010", "0x1F", "1-5/8 in", "1/0 in", "12 parsec", "auto", "close", "up", "é",
    "{a: {b: {c: 1}}}", "!!python/none x", "*nowhere", "&a b", "'", '"', "[1, 2", "{x", "\x07", "\t", "- - -", "? x",
)  # fmt: skip


def _lines(text: str) -> list[str]:
    return text.splitlines(keepends=True)


def _drop_line(text: str, rng: random.Random) -> str:
    lines = _lines(text)
    del lines[rng.randrange(len(lines))]
    return "".join(lines)


def _double_line(text: str, rng: random.Random) -> str:
    lines = _lines(text)
    i = rng.randrange(len(lines))
    return "".join([*lines[: i + 1], *lines[i:]])


def _indent_line(text: str, rng: random.Random) -> str:
    lines = _lines(text)
    i = rng.randrange(len(lines))
    lines[i] = rng.choice((" ", "   ", "\t")) + lines[i]
    return "".join(lines)


def _rename_key(text: str, rng: random.Random) -> str:
    found = rng.choice(list(re.finditer(r"(\w+):", text)))
    key = list(found[1])
    key[rng.randrange(len(key))] = rng.choice("abxyz_0")
    return text[: found.start(1)] + "".join(key) + text[found.end(1) :]


def _drop_key(text: str, rng: random.Random) -> str:
    found = rng.choice(list(re.finditer(r"\w+: [^,{}\[\]\n]+,? ?", text)))
    return text[: found.start()] + text[found.end() :]


def _replace_value(text: str, rng: random.Random) -> str:
    found = rng.choice(list(re.finditer(r"(?<=[:,\[] )[^\s,{}\[\]]+|(?<=\[)[^\s,{}\[\]]+", text)))
    return text[: found.start()] + rng.choice(LITERALS) + text[found.end() :]


def _drop_character(text: str, rng: random.Random) -> str:
    i = rng.randrange(len(text))
    return text[:i] + text[i + 1 :]


def _cut_short(text: str, rng: random.Random) -> str:
    return text[: rng.randrange(len(text))]


def _nest(text: str, rng: random.Random) -> str:
    depth = rng.choice((30, 60, 3000, 20000))
    kind = rng.choice(("[", "{a: "))
    return text + "obstacles: " + kind * depth + ("]" if kind == "[" else "}") * depth + "\n"


def _bomb(text: str, rng: random.Random) -> str:
    levels = rng.choice((6, 12, 30))
    rows = ["a0: &a0 [1, 1, 1, 1, 1, 1, 1, 1, 1]\n"]
    rows += [f"a{k}: &a{k} [{', '.join([f'*a{k - 1}'] * 9)}]\n" for k in range(1, levels)]
    return text + "".join(rows)


def _append(text: str, rng: random.Random) -> str:
    return text + rng.choice(
        ("---\n", "...\nx\n", "\x00", "\ufffe", "# x\n" * 125_000, "name: twice\n", "🔧: 1\n")
    )


TEXT: tuple[Callable[[str, random.Random], str], ...] = (
    _drop_line, _double_line, _indent_line, _rename_key, _rename_key, _drop_key, _drop_key, _replace_value, _replace_value,
    _replace_value, _drop_character, _cut_short, _nest, _bomb, _append,
)  # fmt: skip


def spoilt(text: str, seed: int) -> bytes:
    """`text` after one to three changes and one way of writing it to disk."""
    rng = random.Random(seed)  # noqa: S311 - no secrets here
    for _ in range(rng.randint(1, 3)):
        text = rng.choice(TEXT)(text, rng) or "\n"
    way = rng.randrange(12)
    if way == 0:
        return b"\xef\xbb\xbf" + text.encode()
    if way == 1:
        return text.replace("\n", "\r\n").encode()
    if way == 2:
        return text.replace("bench", "Prüfstand", 1).encode("latin-1", "replace")
    if way == 3:
        return text.encode("utf-16")
    if way == 4:
        return b"" if rng.random() < 0.5 else b"\n# nothing\n"
    return text.encode()
