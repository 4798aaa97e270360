"""``lugwright read``: what the meter shows, written into the log and held against the chart at once."""

from __future__ import annotations

import sys
from itertools import groupby
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from lugwright.cli.pairs import only_known_options, pairs_of
from lugwright.cli.printing import at_work, paint, table
from lugwright.cli.session import as_stated_option, build_file, emit, json_option, leave, opened_build, serial_option

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from lugwright.bringup.results import JudgedReading
    from lugwright.cli.reports import ReadReport
    from lugwright.log.events import Entry
    from lugwright.workflow import Opened

_NOTHING = "No reading is in the log yet."


@click.command(context_settings={"ignore_unknown_options": True})  # -38.5 is no option
@build_file
@click.argument("said", nargs=-1, metavar="[POINT VALUE]...")
@click.option("--step", default="", metavar="STEP", help="Number or key, as charts and this list say: ohms, 4, 'bias'.")
@click.option("--meter", default="", metavar="TEXT", help="Which meter it was.")
@click.option(
    "--from", "logged", type=click.Path(path_type=Path, dir_okay=False), metavar="FILE.csv",
    help="Readings from the file of a meter's logger: time,value,unit and perhaps function,point,step. Without a "
    "column point, name a POINT for each line, in its order.",
)  # fmt: skip
@click.option(
    "--from-meter", "address", default="", metavar="ADDRESS",
    help="Ask a SCPI meter at this VISA address, for one POINT after the other.",
)  # fmt: skip
@click.option("--visa-library", "library", default="", metavar="TEXT", help="VISA library or backend, such as @py.")
@click.option(
    "--sign", "seen", multiple=True, metavar="SIGN",
    help='What is seen, heard, felt: "heater dark V2", hum; lugwright trace FILE --signs lists them.',
)  # fmt: skip
@click.option("--no-sign", "unseen", multiple=True, metavar="SIGN", help="What was looked for and is not there.")
@click.option("--list", "listed", is_flag=True, help="Print the readings that count, each held against its chart.")
@click.option("--take-back", is_flag=True, help="What was read at these points in that step does not count.")
@serial_option
@as_stated_option
@json_option
def command(build_file: Path, said: tuple[str, ...], serial: str, as_json: bool, **how: Any) -> None:
    """Write readings and signs into the log: POINT VALUE, or "POINT = VALUE", as many as you like.

    A point is "V1 pin 6", V1a.plate, "strip A lug 4", B+2, "T1 hv.1 to hv.3"; black is on circuit ground unless it
    says "to". A value is 203, "203 V", 98k2, "-38.5 V", "6.28 Vac", "12 mV", or OL for over range.
    """
    from lugwright.cli.reports import ReadReport
    from lugwright.workflow import reading_findings, readings_now, stirred_up, take_readings_back, take_signs_back

    only_known_options(said)
    _one_way(how)
    opened = opened_build(build_file, serial=serial)
    back: tuple[Entry, ...] = ()
    readings: tuple[JudgedReading, ...] = ()
    with at_work("computing the charts"):
        if how["take_back"]:
            signs = (*how["seen"], *how["unseen"])
            back = take_signs_back(opened, signs) if signs else ()
            back += take_readings_back(opened, said, step=how["step"]) if said or not signs else ()
        elif how["listed"]:
            readings = readings_now(opened, step=how["step"])
        else:
            readings = _taken(opened, said, how)
            readings += stirred_up(opened, readings)
    log = opened.bench_log
    findings = (*opened.findings, *reading_findings(readings))
    report = ReadReport(opened.written.title, findings, str(log.path), log.copy, readings, back)
    emit(report, as_json=as_json, text=lambda: read_text(report, listed=how["listed"]))
    leave(findings)


def _one_way(how: dict[str, Any]) -> None:
    """Refuse two ways at once to come by readings."""
    names = {"logged": "--from", "address": "--from-meter", "listed": "--list", "take_back": "--take-back"}
    given = [option for name, option in names.items() if how[name]]
    if len(given) > 1:
        raise click.UsageError(f"{' and '.join(given)} do not go together")


def _taken(opened: Opened, said: tuple[str, ...], how: dict[str, Any]) -> tuple[JudgedReading, ...]:
    """Write signs, and readings as they were said, are in a file, or come from a meter."""
    from lugwright.workflow import SaidSign, check_signs, signs_in

    signs = [SaidSign(name, seen) for names, seen in ((how["seen"], True), (how["unseen"], False)) for name in names]
    check_signs(opened, signs)  # nothing is written before all of it is right
    readings = _read(opened, said, how) if said or how["logged"] or how["address"] or not signs else ()
    return (*readings, *signs_in(opened, signs)) if signs else readings


def _read(opened: Opened, said: tuple[str, ...], how: dict[str, Any]) -> tuple[JudgedReading, ...]:
    """Write readings as they were said, are in a file, or come from a meter."""
    from lugwright.workflow import SaidReading, read_by_meter, read_in, said_in_file

    if how["logged"]:
        return read_in(opened, said_in_file(how["logged"], said), step=how["step"], meter=how["meter"])
    if how["address"]:
        if not said:
            raise click.UsageError("name the points that the meter is to read, such as B+1 'V1 pin 6'")
        ready = _at_once if len(said) == 1 else _when_ready
        found = read_by_meter(opened, how["address"], said, step=how["step"], library=how["library"], ready=ready)
        return tuple(_told(reading) for reading in found)
    pairs = pairs_of(said, "POINT VALUE", 'say what the meter shows, such as "V1 pin 6" 203, or --list')
    return read_in(opened, [SaidReading(*pair) for pair in pairs], step=how["step"], meter=how["meter"])


def _told(reading: JudgedReading) -> JudgedReading:
    """Say on stderr what a meter just showed, while the next point is still to come."""
    from lugwright.cli.readings import at_once_words

    click.echo(f"  {reading.shown}, {reading.verdict}", err=True)
    if words := at_once_words(reading):
        click.echo(f"  {paint(words, 'red', sys.stderr)}", err=True)
    return reading


def _at_once(point: str, quantity: str) -> bool:
    return True


def _when_ready(point: str, quantity: str) -> bool:
    """Ask whether the leads are there; q, or the end of the input, ends it."""
    click.echo(f"{point}, {quantity}: Enter reads it, q ends. ", err=True, nl=False)
    line = sys.stdin.readline()
    return bool(line) and line.strip().casefold() != "q"


def read_text(report: ReadReport, *, listed: bool) -> str:
    """Return the readings by step, each with its verdict and window."""
    from lugwright.cli.readings import alarm_lines

    lines = [f"taken back: {entry.subject}" for entry in report.taken_back]
    lines += [paint(line, "red", sys.stdout) for line in alarm_lines(report.readings)]
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
