"""The CSV file of a hand meter's logger: time, value, unit, perhaps function, point and step."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from lugwright.errors import FileAccessError, ReadingError

MOST_BYTES = 50_000_000
MOST_TOLD = 20
OVER_RANGE_FROM = 9e37  # what instruments send in place of a number
# column of ours -> what loggers call it
COLUMNS: Mapping[str, tuple[str, ...]] = {
    "time": ("time", "timestamp", "date time", "datetime"),
    "value": ("value", "reading", "display"),
    "unit": ("unit", "units"),
    "function": ("function", "mode", "range function"),
    "point": ("point", "where", "test point"),
    "step": ("step",),
}
_DECIMAL_COMMA = re.compile(r"[+-]?\d+,\d+(?:[eE][+-]?\d+)?", re.ASCII)
_NEEDED = ("value", "unit")
_WANTED = "a first line that names the columns: time,value,unit and perhaps function,point,step"


@dataclass(frozen=True)
class LoggedValue:
    """One line of the file."""

    line: int
    time: str
    value: str  # with its unit: "203.1 V dc"
    point: str
    step: str


def logged_values(path: Path) -> tuple[LoggedValue, ...]:
    """Return every line of a logger's file.

    Raises
    ------
    FileAccessError
        The file cannot be read.
    ReadingError
        It is no such file, or lines of it are not as they must be; all such are told.
    """
    return values_of_text(_text(path), path.name)


def values_of_text(text: str, name: str) -> tuple[LoggedValue, ...]:
    """Return every line of the text of a logger's file; ReadingError as `logged_values`."""
    head, _, _ = text.partition("\n")
    delimiter = max(",;\t", key=head.count)
    rows = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    found: list[LoggedValue] = []
    mistakes: list[ReadingError] = []
    try:
        columns = _columns(next(rows, []), name)
        for row in rows:
            if any(cell.strip() for cell in row):
                _one(_with_points(row) if delimiter == ";" else row, rows.line_num, columns, name, found, mistakes)
    except csv.Error as error:
        raise _bad(f"{name}, line {rows.line_num}", str(error), "comma-separated values", "export it again") from None
    if not found and not mistakes:
        raise _bad(name, "no line with a value", "at least one reading", "export it again")
    if mistakes:
        mistakes[0].others = tuple(mistakes[1:MOST_TOLD])
        raise mistakes[0]
    return tuple(found)


def _with_points(row: Sequence[str]) -> list[str]:
    """Return a row with decimal points: where semicolons part the cells, a comma in a number is its point."""
    return [cell.replace(",", ".") if _DECIMAL_COMMA.fullmatch(cell.strip()) else cell for cell in row]


def _columns(head: Sequence[str], name: str) -> Mapping[str, int]:
    """Return where each of our columns stands."""
    plain = [" ".join(cell.casefold().replace("_", " ").split()) for cell in head]
    found: dict[str, int] = {}
    for ours, theirs in COLUMNS.items():
        places = [place for place, cell in enumerate(plain) if cell in theirs]
        if len(places) > 1:
            raise _bad(f"{name}, line 1", f"{len(places)} columns for {ours}", "one", "take the others out")
        if places:
            found[ours] = places[0]
    missing = [ours for ours in _NEEDED if ours not in found]
    if missing:
        raise _bad(
            f"{name}, line 1",
            f"no column {' or '.join(missing)} in {', '.join(cell or 'nothing' for cell in plain)[:100] or 'nothing'}",
            _WANTED,
            "put that line at the top; take out what the logger writes above it",
        )
    return found


def _one(
    row: Sequence[str],
    line: int,
    columns: Mapping[str, int],
    name: str,
    found: list[LoggedValue],
    mistakes: list[ReadingError],
) -> None:
    """Add one line to what was found, or to the mistakes."""
    where = f"{name}, line {line}"
    if len(row) <= max(columns.values()):
        many = f"{len(row)} cell{'' if len(row) == 1 else 's'}"
        mistakes.append(
            _bad(where, many, f"as many as the first line names: {max(columns.values()) + 1}", "correct it")
        )
        return
    said = {ours: row[place].strip() for ours, place in columns.items()}
    if not said["value"]:
        mistakes.append(_bad(where, "no value", "what the meter showed, OL for over range", "take the line out"))
        return
    found.append(
        LoggedValue(line, said.get("time", "")[:100], _with_unit(said), said.get("point", ""), said.get("step", ""))
    )


def _with_unit(said: Mapping[str, str]) -> str:
    """Return the value with its unit, alternating or not by the unit or the meter's function."""
    value, unit = said["value"], said["unit"]
    try:
        if abs(float(value)) >= OVER_RANGE_FROM:
            return "OL"
    except ValueError:
        if not any(character.isdigit() for character in value.replace("0L", "")):
            return value  # OL and its kin; what it is follows from the place
    words = said.get("function", "").casefold()
    tail = unit.casefold().replace(" ", "")
    kind = "" if tail.endswith(("ac", "dc", "~")) else next((each for each in ("ac", "dc") if each in words), "")
    return " ".join(filter(None, (value, unit, kind if tail.endswith("v") else "")))


def _text(path: Path) -> str:
    try:
        raw = path.read_bytes() if path.stat().st_size <= MOST_BYTES else None
    except OSError as error:
        raise _unreadable(path, error.strerror or type(error).__name__) from error
    if raw is None:
        raise _unreadable(path, f"more than {MOST_BYTES // 1_000_000} MB")
    for encoding in ("utf-8-sig", "cp1252"):
        try:
            return raw.decode(encoding)
        except UnicodeDecodeError:
            continue
    raise _unreadable(path, "bytes that are no text")


def _unreadable(path: Path, found: str) -> FileAccessError:
    return FileAccessError(
        what=f"{path} cannot be read",
        found=found,
        wanted="the file of a meter's logger, as comma-separated values",
        do="check the name and the folder",
    )


def _bad(where: str, found: str, wanted: str, do: str) -> ReadingError:
    shown = "".join(c if c.isprintable() else f"\\x{ord(c):02x}" for c in found)
    return ReadingError(what=f"{where}: this is no reading", found=shown, wanted=wanted, do=do)


def with_points(values: Sequence[LoggedValue], points: Sequence[str]) -> Iterator[tuple[LoggedValue, str]]:
    """Yield each value with its point: its own, or the next of those given in the order of the lines.

    Raises
    ------
    ReadingError
        There are not as many points as lines, or points are given twice.
    """
    if not points:
        lost = [str(value.line) for value in values if not value.point]
        if lost:
            raise ReadingError(
                what="nobody says where these were read",
                found=f"no point in line {', '.join(lost[:MOST_TOLD])}",
                wanted="a column point, or the points on the command line in the order of the lines",
                do='add them: lugwright read FILE --from METER.csv "V1 pin 1" "V1 pin 6"',
            )
        yield from ((value, value.point) for value in values)
        return
    if any(value.point for value in values) or len(points) != len(values):
        raise ReadingError(
            what="points and lines do not go together",
            found=f"points on the command line: {len(points)}, lines: {len(values)}"
            + (", with points of their own" if any(value.point for value in values) else ""),
            wanted="one point for each line, in its order, and no column point",
            do="leave points out, or take lines out",
        )
    yield from zip(values, points, strict=True)
