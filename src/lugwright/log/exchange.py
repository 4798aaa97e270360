"""The log as JSON lines and as CSV, out and in; both hold everything."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterable

from lugwright.errors import LogError
from lugwright.log.events import Entry, checked

NAMES = ("id", "time", "copy", "kind", "subject", "body")


def to_json_lines(entries: Iterable[Entry]) -> str:
    """Return one JSON object a line, in the order in which things happened."""
    return "".join(json.dumps(_row(entry), ensure_ascii=False) + "\n" for entry in entries)


def to_csv(entries: Iterable[Entry]) -> str:
    """Return one row an entry; the body is JSON in its cell."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(NAMES)
    for entry in entries:
        row = _row(entry)
        writer.writerow([*(row[name] for name in NAMES[:5]), json.dumps(row["body"], ensure_ascii=False)])
    return text.getvalue()


def _row(entry: Entry) -> dict[str, object]:
    return {name: getattr(entry, name) for name in NAMES}


def from_text(text: str, name: str) -> tuple[Entry, ...]:
    """Return the entries of an export, of either form.

    Raises
    ------
    LogError
        Something in it is no entry.
    """
    first = text.lstrip("\ufeff").lstrip()[:1]
    if not first:
        raise _unreadable(name, "nothing in it")
    return _from_json_lines(text, name) if first == "{" else _from_csv(text, name)


def _from_json_lines(text: str, name: str) -> tuple[Entry, ...]:
    found = []
    for number, line in enumerate(text.lstrip("\ufeff").split("\n"), start=1):
        if not line.strip():
            continue
        try:
            raw = json.loads(line)
        except (ValueError, RecursionError):
            raise _unreadable(name, f"line {number} is no JSON object") from None
        found.append(checked(raw, f"{name}, line {number}"))
    return tuple(found)


def _from_csv(text: str, name: str) -> tuple[Entry, ...]:
    rows = csv.reader(io.StringIO(text.lstrip("\ufeff"), newline=""))
    found = []
    try:
        if tuple(next(rows, ())) != NAMES:
            raise _unreadable(name, f"the first line is not {','.join(NAMES)}")
        for row in rows:
            if not row:
                continue
            where = f"{name}, line {rows.line_num}"
            if len(row) != len(NAMES):
                raise _unreadable(name, f"line {rows.line_num} has {len(row)} cells")
            found.append(checked(dict(zip(NAMES, (*row[:5], json.loads(row[5])), strict=True)), where))
    except (csv.Error, ValueError, RecursionError):
        raise _unreadable(name, f"line {rows.line_num} cannot be read") from None
    return tuple(found)


def _unreadable(name: str, found: str) -> LogError:
    return LogError(
        what=f"{name} cannot be read as an export of a log",
        found=found,
        wanted="JSON lines or CSV, as lugwright log --export writes them",
        do="export the log again, and import that file",
    )
