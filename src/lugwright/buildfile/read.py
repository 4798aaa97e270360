"""Reading a build file: text to `Build`, with every mistake found on the way, all at once."""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from lugwright.buildfile.assemble import assemble
from lugwright.buildfile.build import Build
from lugwright.buildfile.locate import depth_line, locate, long_number_line
from lugwright.buildfile.mistakes import REFERENCE, Mistakes
from lugwright.errors import FileAccessError
from lugwright.findings import Finding, Grade, Place, sorted_by_grade

MAX_BYTES = 1_000_000
MAX_DEPTH = 20
MAX_NUMBER = 100
_POSITION = re.compile(r"\(at line (\d+), column (\d+)\)")


@dataclass(frozen=True)
class ReadResult:
    """A build, or None when the file is too broken to make one, and what was found on the way."""

    build: Build | None
    findings: tuple[Finding, ...]


def read_build(path: str | Path) -> ReadResult:
    """Return the build a file describes.

    Raises
    ------
    FileAccessError
        The file cannot be opened. Bad content never raises.
    """
    try:
        with Path(path).open("rb") as file:
            raw = file.read(MAX_BYTES + 1)
    except OSError as error:
        raise FileAccessError(
            what=f"{path} cannot be read",
            found=error.strerror or type(error).__name__,
            wanted="a build file",
            do="check the name and the folder",
        ) from error
    name = Path(path).name
    if len(raw) > MAX_BYTES:
        return _refused(
            name,
            "too-large",
            "the file is too large",
            f"more than {MAX_BYTES} bytes",
            f"at most {MAX_BYTES} bytes",
            "check that it is a build file",
        )
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
        return _refused(
            name,
            "not-utf-8",
            "the file is not UTF-8 text",
            f"byte {raw[error.start]:#04x} in line {line}",
            "UTF-8",
            "save it as UTF-8 in the editor",
            line=line,
        )
    return read_text(text, name)


def read_text(text: str, file: str = "build.toml") -> ReadResult:
    """Return the build a text describes; never raises for bad content."""
    if len(text) > MAX_BYTES:
        return _refused(
            file,
            "too-large",
            "the file is too large",
            f"{len(text)} characters",
            f"at most {MAX_BYTES} bytes",
            "check that it is a build file",
        )
    if (line := depth_line(text, most=MAX_DEPTH)) is not None:
        return _refused(
            file,
            "too-deep",
            "brackets are nested too deep",
            f"more than {MAX_DEPTH} levels in line {line}",
            f"at most {MAX_DEPTH} levels",
            "write the table in its own [section]",
            line=line,
        )
    if (line := long_number_line(text, most=MAX_NUMBER)) is not None:
        return _refused(
            file,
            "number-too-long",
            "a number is too long",
            f"more than {MAX_NUMBER} characters in line {line}",
            "a number as it is read off a meter",
            "correct the number",
            line=line,
        )
    try:
        data: dict[str, Any] = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        return _bad_toml(text, file, str(error))
    mistakes = Mistakes(file, _lines(text), locate(text))
    build = assemble(data, mistakes)
    findings = tuple(sorted_by_grade(mistakes.findings))
    broken = any(f.grade in (Grade.FAULT, Grade.DANGER) and f.rule not in _BUILDABLE for f in findings)
    return ReadResult(None if broken else build, findings)


# A build with these findings can still be shown and computed.
_BUILDABLE = {"no-speaker", "no-place", "floating-grid", "joint-used-once", "unused-electrode", "no-earth-bond"}


def _lines(text: str) -> list[str]:
    """Return the lines as TOML counts them: a line separator inside a text ends none."""
    return [line.removesuffix("\r") for line in text.split("\n")]


def _bad_toml(text: str, file: str, message: str) -> ReadResult:
    match = _POSITION.search(message)
    line, column = (int(match[1]), int(match[2])) if match else (max(1, text.count("\n")), 1)
    words = _POSITION.sub("", message).strip() or "unexpected end of file"
    lines = _lines(text)
    excerpt = lines[line - 1][:200] if 0 < line <= len(lines) and column <= 200 else ""
    finding = Finding(
        rule="not-toml",
        grade=Grade.FAULT,
        what="this line is not TOML",
        found=words[:1].lower() + words[1:],
        wanted="key = value, with text in quotes, lists in [ ] and tables in { }",
        do="correct the line",
        place=Place(file, line, column),
        source=REFERENCE,
        excerpt=excerpt,
    )
    return ReadResult(None, (finding,))


def _refused(file: str, rule: str, what: str, found: str, wanted: str, do: str, *, line: int = 1) -> ReadResult:
    place = Place(file, line, 1)
    return ReadResult(None, (Finding(rule, Grade.FAULT, what, found, wanted, do, place=place, source=REFERENCE),))
