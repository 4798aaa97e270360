"""How much a build file may hold: beyond an amplifier of any size, it is refused before it is read."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from lugwright.buildfile.locate import tokens

MAX_BYTES = 1_000_000
MAX_DEPTH = 20
MAX_NUMBER = 100
MAX_MARKS = 40_000  # ten times an amplifier of 160 parts
MAX_TABLES = 300
_DEPTH = {"[": 1, "{": 1, "]": -1, "}": -1}


@dataclass(frozen=True)
class Refusal:
    """Why a text is not read at all."""

    rule: str
    what: str
    found: str
    wanted: str
    do: str
    line: int = 1


def refusal_of_text(text: str) -> Refusal | None:
    """Return why a text, valid TOML or not, is too much to be read."""
    if len(text) > MAX_BYTES:
        return too_large(f"{len(text)} characters")
    depth = dots = marks = 0
    for kind, found, line, _ in tokens(text):
        if kind == "line":
            dots = 0
        elif kind == "mark":
            marks += 1
            depth = max(0, depth + _DEPTH.get(found, 0))
            dots = dots + 1 if found == "." else 0 if found in "=," else dots
        elif kind == "word" and len(found) > MAX_NUMBER and found.lstrip("+-")[:1].isdigit():
            return _number_too_long(line)
        if max(depth, dots) > MAX_DEPTH:
            return _too_deep(line)
        if marks > MAX_MARKS:
            return _too_much(f"more than {MAX_MARKS} brackets, commas, points and equals signs", MAX_MARKS)
    return None


def refusal_of_data(data: Mapping[str, Any]) -> Refusal | None:
    """Return why a file of valid TOML is no amplifier by its size alone."""
    for section in ("tubes", "stage", "ready"):
        table = data.get(section)
        if isinstance(table, dict) and len(table) > MAX_TABLES:
            return _too_much(f"{len(table)} entries under [{section}]", MAX_TABLES)
    return None


def too_large(found: str) -> Refusal:
    """Return the refusal of a file over the limit."""
    return Refusal(
        rule="too-large",
        what="the file is too large",
        found=found,
        wanted=f"at most {MAX_BYTES} bytes",
        do="check that it is a build file",
    )


def _too_much(found: str, most: int) -> Refusal:
    return Refusal(
        rule="too-much",
        what="the file holds too much for an amplifier",
        found=found,
        wanted=f"at most {most}",
        do="check that it is a build file",
    )


def _too_deep(line: int) -> Refusal:
    return Refusal(
        rule="too-deep",
        what="brackets are nested too deep",
        found=f"more than {MAX_DEPTH} levels in line {line}",
        wanted=f"at most {MAX_DEPTH} levels",
        do="write the table in its own [section]",
        line=line,
    )


def _number_too_long(line: int) -> Refusal:
    return Refusal(
        rule="number-too-long",
        what="a number is too long",
        found=f"more than {MAX_NUMBER} characters in line {line}",
        wanted="a number as it is read off a meter",
        do="correct the number",
        line=line,
    )
