"""Reading a build file: text to `Build`, with every mistake found on the way, all at once."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from lugwright.buildfile.assemble import assemble
from lugwright.buildfile.build import Build
from lugwright.buildfile.changes import Changed, changed_document
from lugwright.buildfile.limits import MAX_BYTES, Refusal, refusal_of_data, refusal_of_text, too_large
from lugwright.buildfile.locate import locate
from lugwright.buildfile.mistakes import MAX_FINDINGS, REFERENCE, Mistakes
from lugwright.errors import FileAccessError
from lugwright.findings import Finding, Grade, Place, sorted_by_grade

_POSITION = re.compile(r"\(at line (\d+), column (\d+)\)")


@dataclass(frozen=True)
class ReadResult:
    """A build, or None when the file is too broken to make one, and what was found on the way."""

    build: Build | None
    findings: tuple[Finding, ...]
    changes: tuple[Changed, ...] = ()


def read_build(path: str | Path, *, changes: Sequence[str] = ()) -> ReadResult:
    """Return the build a file describes, with some of its values replaced for a what-if, such as ``R17=220k``.

    Raises
    ------
    FileAccessError
        The file cannot be opened. Bad content never raises.
    ChangeError
        A value cannot be replaced so.
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
        return _refused(name, too_large(f"more than {MAX_BYTES} bytes"))
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        return _refused(name, _not_utf_8(raw, error.start))
    return read_text(text, name, changes=changes)


def read_text(text: str, file: str = "build.toml", *, changes: Sequence[str] = ()) -> ReadResult:
    """Return the build a text describes; never raises for bad content, ChangeError for a bad change."""
    if (refusal := refusal_of_text(text)) is not None:
        return _refused(file, refusal)
    try:
        data: dict[str, Any] = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        return _bad_toml(text, file, str(error))
    if (refusal := refusal_of_data(data)) is not None:
        return _refused(file, refusal)
    data, changed = changed_document(data, changes, file) if changes else (data, ())
    mistakes = Mistakes(file, _lines(text), locate(text))
    build = assemble(data, mistakes)
    findings = tuple(sorted_by_grade(mistakes.findings))
    if mistakes.not_shown:
        return ReadResult(None, (*findings, _not_shown(file, mistakes.not_shown)), changed)
    broken = any(f.grade in (Grade.FAULT, Grade.DANGER) and f.rule not in _BUILDABLE for f in findings)
    return ReadResult(None if broken else build, findings, changed)


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


def _not_utf_8(raw: bytes, at: int) -> Refusal:
    line = raw[:at].count(b"\n") + 1
    return Refusal(
        rule="not-utf-8",
        what="the file is not UTF-8 text",
        found=f"byte {raw[at]:#04x} in line {line}",
        wanted="UTF-8",
        do="save it as UTF-8 in the editor",
        line=line,
    )


def _not_shown(file: str, count: int) -> Finding:
    return Finding(
        rule="not-all-shown",
        grade=Grade.FAULT,
        what=f"{count} more mistakes are not shown",
        found=f"{MAX_FINDINGS + count} mistakes",
        wanted="none",
        do="correct the first ones and check again",
        place=Place(file, 1, 1),
        source=REFERENCE,
    )


def _refused(file: str, why: Refusal) -> ReadResult:
    finding = Finding(
        rule=why.rule,
        grade=Grade.FAULT,
        what=why.what,
        found=why.found,
        wanted=why.wanted,
        do=why.do,
        place=Place(file, why.line, 1),
        source=REFERENCE,
    )
    return ReadResult(None, (finding,))
