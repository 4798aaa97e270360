"""Where each key of a TOML text stands: key path to (line, column). The text has passed the TOML reader."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator

KeyPath = tuple[str | int, ...]
_TOKEN = re.compile(
    r"""(?P<space>[ \t]+|\#[^\n]*)|(?P<line>\r?\n)"""
    r'''|(?P<text>"""(?:\\.|(?!"""(?!")).)*"""|\'\'\'(?:(?!\'\'\'(?!\')).)*\'\'\'|"(?!"")(?:\\.|[^"\\\n])*"|'(?!'')[^'\n]*')'''
    r"""|(?P<open>(?:\"\"\"|''').*|["'][^\n]*)"""
    r"""|(?P<mark>[\[\]{}=,.])|(?P<word>[^\s\[\]{}=,.\#"']+)""",
    re.DOTALL,
)
_END = ("end", "", 0, 0)


class _Places:
    def __init__(self, text: str) -> None:
        self.tokens = list(tokens(text))
        self.at = 0
        self.found: dict[KeyPath, tuple[int, int]] = {}
        self.arrays: dict[KeyPath, int] = {}

    def peek(self, ahead: int = 0) -> tuple[str, str, int, int]:
        return self.tokens[self.at + ahead] if self.at + ahead < len(self.tokens) else _END

    def skip_lines(self) -> None:
        while self.peek()[0] == "line":
            self.at += 1

    def key(self) -> list[str | int]:
        names: list[str | int] = []
        while True:
            text = self.peek()[1]
            self.at += 1
            names.append(_plain(text))
            if self.peek()[1] != ".":
                return names
            self.at += 1

    def value(self, path: list[str | int]) -> None:
        kind, text, line, column = self.peek()
        self.found.setdefault(tuple(path), (line, column))
        if text == "[" and kind == "mark":
            self._array(path)
        elif text == "{" and kind == "mark":
            self._table(path)
        elif kind == "text":
            self.at += 1
        else:
            while self.peek()[0] == "word" or self.peek()[1] == ".":
                self.at += 1

    def _array(self, path: list[str | int]) -> None:
        self.at += 1
        count = 0
        self.skip_lines()
        while self.peek()[1] != "]":
            self.value([*path, count])
            count += 1
            self.skip_lines()
            if self.peek()[1] == ",":
                self.at += 1
                self.skip_lines()
        self.at += 1

    def _table(self, path: list[str | int]) -> None:
        self.at += 1
        self.skip_lines()
        while self.peek()[1] != "}":
            names = self.key()
            self.at += 1
            self.value([*path, *names])
            self.skip_lines()
            if self.peek()[1] == ",":
                self.at += 1
                self.skip_lines()
        self.at += 1

    def heading(self) -> list[str | int]:
        double = self.peek(1)[1] == "[" and self.peek(1)[3] == self.peek()[3] + 1
        self.at += 1 + double
        line, column = self.peek()[2:]
        names = self.key()
        self.at += 1 + double
        base = self._resolved(names[:-1] if double else names)
        if double:
            path = (*base, names[-1])
            self.arrays[path] = self.arrays.get(path, -1) + 1
            base = [*path, self.arrays[path]]
        self.found.setdefault(tuple(base), (line, column))
        return base

    def _resolved(self, names: list[str | int]) -> list[str | int]:
        path: list[str | int] = []
        for name in names:
            path.append(name)
            if tuple(path) in self.arrays:
                path.append(self.arrays[tuple(path)])
        return path


def locate(text: str) -> dict[KeyPath, tuple[int, int]]:
    """Return the place of every key path of a valid TOML text; of a value, where its text begins."""
    places = _Places(text)
    base: list[str | int] = []
    while places.at < len(places.tokens):
        places.skip_lines()
        if places.at >= len(places.tokens):
            break
        if places.peek()[1] == "[" and places.peek()[0] == "mark":
            base = places.heading()
            continue
        line, column = places.peek()[2:]
        names = places.key()
        places.at += 1
        places.found.setdefault((*base, *names, "="), (line, column))
        places.value([*base, *names])
    return places.found


def tokens(text: str) -> Iterator[tuple[str, str, int, int]]:
    """Return kind, text, line and column of each piece of a text, in linear time whether it is TOML or not."""
    line, start = 1, 0
    for match in _TOKEN.finditer(text):
        kind, found = match.lastgroup or "", match[0]
        if kind != "space":
            yield kind, found, line, match.start() - start + 1
        if "\n" in found:
            line += found.count("\n")
            start = match.start() + found.rindex("\n") + 1


def _plain(text: str) -> str:
    return str(tomllib.loads(f"key = {text}")["key"]) if text[:1] in ('"', "'") else text
