"""Reading a build file: text to `Build`, with every mistake found on the way, all at once."""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from lugwright.buildfile.assemble import assemble
from lugwright.buildfile.build import Build
from lugwright.buildfile.locate import locate
from lugwright.buildfile.mistakes import REFERENCE, Mistakes
from lugwright.errors import FileAccessError
from lugwright.findings import Finding, Grade, Place, sorted_by_grade

MAX_BYTES = 1_000_000
MAX_DEPTH = 20
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
    if (line := _too_deep(text)) is not None:
        return _refused(
            file,
            "too-deep",
            "brackets are nested too deep",
            f"more than {MAX_DEPTH} levels in line {line}",
            f"at most {MAX_DEPTH} levels",
            "write the table in its own [section]",
            line=line,
        )
    try:
        data: dict[str, Any] = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        return _bad_toml(text, file, str(error))
    mistakes = Mistakes(file, text.splitlines(), locate(text))
    build = assemble(data, mistakes)
    findings = tuple(sorted_by_grade(mistakes.findings))
    broken = any(f.grade in (Grade.FAULT, Grade.DANGER) and f.rule not in _BUILDABLE for f in findings)
    return ReadResult(None if broken else build, findings)


# A build with these findings can still be shown and computed.
_BUILDABLE = {"no-speaker", "no-place", "floating-grid", "joint-used-once", "unused-electrode", "no-earth-bond"}


def _too_deep(text: str) -> int | None:
    """Return the line where brackets nest deeper than allowed; brackets inside quotes count too."""
    depth, line = 0, 1
    for character in text:
        if character == "\n":
            line += 1
        elif character in "[{":
            depth += 1
            if depth > MAX_DEPTH:
                return line
        elif character in "]}":
            depth = max(0, depth - 1)
    return None


def _bad_toml(text: str, file: str, message: str) -> ReadResult:
    match = _POSITION.search(message)
    line, column = (int(match[1]), int(match[2])) if match else (max(1, text.count("\n")), 1)
    words = _POSITION.sub("", message).strip() or "unexpected end of file"
    lines = text.splitlines()
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
