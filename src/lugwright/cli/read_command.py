"""``lugwright read``: what the meter shows, written into the log and held against the chart at once."""

from __future__ import annotations

from itertools import groupby
from pathlib import Path
from typing import TYPE_CHECKING

import click

from lugwright.cli.pairs import only_known_options, pairs_of
from lugwright.cli.printing import at_work, table
from lugwright.cli.session import as_stated_option, build_file, emit, json_option, leave, opened_build, serial_option

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from lugwright.bringup.results import JudgedReading
    from lugwright.cli.reports import ReadReport
    from lugwright.log.events import Entry

_NOTHING = "No reading is in the log yet."


@click.command(context_settings={"ignore_unknown_options": True})  # -38.5 is no option
@build_file
@click.argument("said", nargs=-1, metavar="[POINT VALUE]...")
@click.option("--step", default="", metavar="STEP", help="Number or key, as charts and this list say: ohms, 4, 'bias'.")
@click.option("--meter", default="", metavar="TEXT", help="Which meter it was.")
@click.option("--list", "listed", is_flag=True, help="Print the readings that count, each held against its chart.")
@click.option("--take-back", is_flag=True, help="What was read at these points in that step does not count.")
@serial_option
@as_stated_option
@json_option
def command(
    build_file: Path,
    said: tuple[str, ...],
    step: str,
    meter: str,
    listed: bool,
    take_back: bool,
    serial: str,
    as_json: bool,
) -> None:
    """Write readings into the log: POINT VALUE, or "POINT = VALUE", as many as you like.

    A point is "V1 pin 6", V1a.plate, "strip A lug 4", B+2, "T1 hv.1 to hv.3"; black is on circuit ground unless it
    says "to". A value is 203, "203 V", 98k2, "-38.5 V", "6.28 Vac", "12 mV", or OL for over range.
    """
    from lugwright.cli.reports import ReadReport
    from lugwright.workflow import SaidReading, read_in, reading_findings, readings_now, take_readings_back

    only_known_options(said)
    opened = opened_build(build_file, serial=serial)
    back: tuple[Entry, ...] = ()
    readings: tuple[JudgedReading, ...] = ()
    with at_work("computing the charts"):
        if take_back:
            back = take_readings_back(opened, said, step=step)
        elif listed:
            readings = readings_now(opened, step=step)
        else:
            pairs = pairs_of(said, "POINT VALUE", 'say what the meter shows, such as "V1 pin 6" 203, or --list')
            readings = read_in(opened, [SaidReading(*pair) for pair in pairs], step=step, meter=meter)
    log = opened.bench_log
    findings = (*opened.findings, *reading_findings(readings))
    report = ReadReport(opened.written.title, findings, str(log.path), log.copy, readings, back)
    emit(report, as_json=as_json, text=lambda: read_text(report, listed=listed))
    leave(findings)


def read_text(report: ReadReport, *, listed: bool) -> str:
    """Return the readings by step, each with its verdict and window."""
    lines = [f"taken back: {entry.subject}" for entry in report.taken_back]
    if listed and not report.readings:
        return _NOTHING
    lines += _by_step(report.readings)
    return "\n".join(lines)


def _by_step(readings: Iterable[JudgedReading]) -> Iterator[str]:
    head = ("point", "shows", "", "good builds", "")
    for title, group in groupby(readings, key=lambda each: each.title):
        yield title[:1].upper() + title[1:]
        rows = ((r.point, r.shown, r.verdict, r.window, r.note) for r in group)
        yield table(head, rows, right="lr")
