"""Readings taken on tubes, from a CSV file; every mistake in it is told at once."""

from __future__ import annotations

import csv
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from lugwright.buildfile.mistakes import nearest, printable
from lugwright.errors import FileAccessError
from lugwright.findings import Finding, Grade, Place

REFERENCE = "docs/how_to/measure_a_tube.md"
MAX_BYTES, MAX_ROWS, MAX_FINDINGS = 1_000_000, 5_000, 200
# column -> lowest, highest, what it is
NUMBERS: Mapping[str, tuple[float, float, str]] = {
    "grid_v": (-300.0, 0.0, "grid against cathode, zero or negative, such as -41.0"),
    "plate_v": (0.0, 1500.0, "plate against cathode, such as 405"),
    "screen_v": (0.0, 1000.0, "screen against cathode, such as 400"),
    "plate_ma": (0.0, 2000.0, "plate current in mA, such as 35.2"),
    "cathode_ma": (0.0, 2000.0, "plate and screen current together in mA, such as 38.1"),
    "screen_ma": (0.0, 500.0, "screen current in mA, such as 2.9"),
}
COLUMNS = ("tube", *NUMBERS)


@dataclass(frozen=True)
class TubeReading:
    """One line of readings on one tube; volts against its cathode. What was not read is None. [V, A]"""

    line: int
    tube: str
    grid_v: float
    plate_v: float
    screen_v: float | None
    plate_a: float | None
    cathode_a: float | None
    screen_a: float | None


@dataclass(frozen=True)
class TubeReadings:
    """The readings of a file, and what is wrong with it; no readings when something is."""

    readings: tuple[TubeReading, ...]
    findings: tuple[Finding, ...]


def read_tube_readings(path: str | Path, *, screened: bool) -> TubeReadings:
    """Return the readings in a CSV file; ``screened`` for pentodes and beam tetrodes.

    Raises
    ------
    FileAccessError
        The file cannot be opened.
    """
    path = Path(path)
    try:
        with path.open("rb") as file:
            raw = file.read(MAX_BYTES + 1)
    except OSError as error:
        raise FileAccessError(
            what=f"{path.name} cannot be read",
            found=error.strerror or type(error).__name__,
            wanted="a CSV file of readings",
            do="check the path",
        ) from error
    return tube_readings(raw, path.name, screened=screened)


def tube_readings(raw: bytes, name: str, *, screened: bool) -> TubeReadings:
    """Return the readings in the text of a CSV file."""
    sheet = _Sheet(name, screened)
    text = sheet.text(raw)
    readings = tuple(sheet.readings(text)) if text is not None else ()
    findings = tuple(sheet.findings)
    return TubeReadings(() if findings else readings, findings)


class _Sheet:
    """One file while it is read; collects what is wrong."""

    def __init__(self, name: str, screened: bool) -> None:
        self.name, self.screened = name, screened
        self.findings: list[Finding] = []

    def wrong(self, line: int, what: str, *, found: str, wanted: str, do: str) -> None:
        if len(self.findings) < MAX_FINDINGS:
            texts = {"what": what, "found": found, "wanted": wanted, "do": do}
            self.findings.append(
                Finding(
                    rule="bad-reading",
                    grade=Grade.FAULT,
                    place=Place(self.name, line),
                    source=REFERENCE,
                    **{key: printable(value) for key, value in texts.items()},
                )
            )

    def text(self, raw: bytes) -> str | None:
        if len(raw) > MAX_BYTES:
            self.wrong(1, "the file is too large", found="more than 1 MB", wanted="at most 1 MB", do="split it")
            return None
        try:
            return raw.decode("utf-8-sig")
        except UnicodeDecodeError as error:
            self.wrong(
                raw[: error.start].count(b"\n") + 1,
                "the file is not UTF-8 text",
                found=f"byte {raw[error.start]:#04x}",
                wanted="UTF-8",
                do="save it as CSV in UTF-8",
            )
            return None

    def readings(self, text: str) -> Iterator[TubeReading]:
        lines = [(k, line) for k, line in enumerate(text.splitlines(), start=1)]
        lines = [(k, line) for k, line in lines if line.strip() and not line.lstrip().startswith("#")]
        if not lines:
            self.wrong(1, "the file holds no readings", found="nothing", wanted=_head_words(self.screened),
                       do="write the names of the columns, then one line for each reading")  # fmt: skip
            return
        number, head = lines[0]
        mark = ";" if head.count(";") > head.count(",") else ","
        names = [cell.strip().casefold() for cell in next(csv.reader([head], delimiter=mark))]
        if not self._head(number, names):
            return
        if len(lines) == 1:
            self.wrong(number, "no reading below the names of the columns", found="nothing",
                       wanted="one line for each reading", do="write the readings below")  # fmt: skip
        if len(lines) - 1 > MAX_ROWS:
            self.wrong(number, "too many readings", found=str(len(lines) - 1), wanted=f"at most {MAX_ROWS}",
                       do="split the file")  # fmt: skip
            return
        for number, line in lines[1:]:
            cells = [cell.strip() for cell in next(csv.reader([line], delimiter=mark))]
            found = self._reading(number, names, cells, comma=mark == ";")
            if found is not None:
                yield found

    def _head(self, line: int, names: list[str]) -> bool:
        before = len(self.findings)
        for name in names:
            if name not in COLUMNS:
                close = nearest(name, COLUMNS)
                self.wrong(line, f"unknown column {name!r}", found=name, wanted=f"one of {', '.join(COLUMNS)}",
                           do=f"write {close!r}" if close else "take it out, or correct its name")  # fmt: skip
        for name in sorted({n for n in names if n and names.count(n) > 1}):
            self.wrong(line, f"column {name!r} stands there twice", found=", ".join(names), wanted="each name once",
                       do="take one out")  # fmt: skip
        wanted = ["grid_v", "plate_v", *(["screen_v"] if self.screened else [])]
        missing = [name for name in wanted if name not in names]
        if not {"plate_ma", "cathode_ma"} & set(names):
            missing.append("plate_ma or cathode_ma" if self.screened else "plate_ma")
        for name in missing:
            self.wrong(line, f"no column {name}", found=", ".join(names), wanted=_head_words(self.screened),
                       do=f"add {name}")  # fmt: skip
        for name in names if not self.screened else ():
            if name in ("screen_v", "screen_ma"):
                self.wrong(line, f"column {name!r} for a tube without a screen", found=name,
                           wanted=_head_words(False), do="take it out, or name another type")  # fmt: skip
        return len(self.findings) == before

    def _reading(self, line: int, names: list[str], cells: list[str], *, comma: bool) -> TubeReading | None:
        if len(cells) != len(names):
            self.wrong(line, "the line does not fit the columns", found=f"{len(cells)} cells",
                       wanted=f"{len(names)}: {', '.join(names)}",
                       do="give every column a cell, an empty one where nothing was read")  # fmt: skip
            return None
        row = dict(zip(names, cells, strict=True))
        before = len(self.findings)
        values = {name: self._number(line, name, row[name], comma) for name in NUMBERS if name in row}
        amps = {n: None if (v := values.get(n)) is None else 1e-3 * v for n in ("plate_ma", "cathode_ma", "screen_ma")}
        if amps["plate_ma"] is None and amps["cathode_ma"] is None and len(self.findings) == before:
            self.wrong(line, "no current was read", found="an empty cell",
                       wanted="plate_ma or cathode_ma", do="write the current, or take the line out")  # fmt: skip
        if len(self.findings) > before:
            return None
        return TubeReading(
            line, row.get("tube") or "tube", values["grid_v"] or 0.0, values["plate_v"] or 0.0,
            values.get("screen_v"), amps["plate_ma"], amps["cathode_ma"], amps["screen_ma"],
        )  # fmt: skip

    def _number(self, line: int, name: str, text: str, comma: bool) -> float | None:
        low, high, what = NUMBERS[name]
        if not text:
            if name.endswith("_v"):
                self.wrong(line, f"{name} is empty", found="an empty cell", wanted=what, do="write the volts")
            return None
        try:
            value = float(text.replace(",", ".") if comma else text)
        except ValueError:
            value = math.nan
        if not math.isfinite(value):
            self.wrong(line, f"{name} is no number", found=text[:40], wanted=what, do="write digits and a point")
            return None
        if name == "grid_v" and value > 0:
            self.wrong(line, "grid_v is positive", found=text[:40], wanted=what, do="write the minus sign")
            return None
        if not low <= value <= high:
            self.wrong(line, f"{name} is out of range", found=text[:40], wanted=f"{what}; {low:g} to {high:g}",
                       do="check the column and the unit")  # fmt: skip
            return None
        return value


def _head_words(screened: bool) -> str:
    names = ["grid_v", "plate_v", *(["screen_v", "plate_ma (or cathode_ma)"] if screened else ["plate_ma"])]
    more = "tube, screen_ma" if screened else "tube"
    return f"the columns {', '.join(names)}; as you like {more}"
