"""``lugwright as-built``: what was measured, fitted and set; every prediction uses it from then on."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from lugwright.cli.numbers import Number
from lugwright.cli.pairs import only_known_options, pairs_of
from lugwright.cli.printing import table
from lugwright.cli.session import build_file, emit, json_option, leave, opened_build, serial_option

if TYPE_CHECKING:
    from lugwright.cli.reports import AsBuiltReport
    from lugwright.log.events import Entry

_NOTHING = "Nothing was measured, fitted or set yet: predictions are of the build as its file states it."


@click.command(name="as-built", context_settings={"ignore_unknown_options": True})
@build_file
@click.argument("said", nargs=-1, metavar="[WHAT VALUE]...")
@click.option(
    "--accuracy", type=Number(0.05, 20.0), metavar="PERCENT",
    help="Of the meter, for these values: 1 of resistors and volts, 2 of windings' ohms, 3 of capacitors.",
)  # fmt: skip
@click.option("--list", "listed", is_flag=True, help="Print what counts, and whether predictions hold it.")
@click.option("--take-back", is_flag=True, help="These do not count: what the build file states is used again.")
@serial_option
@json_option
def command(
    build_file: Path,
    said: tuple[str, ...],
    accuracy: float | None,
    listed: bool,
    take_back: bool,
    serial: str,
    as_json: bool,
) -> None:
    """Write down what is really in there: WHAT VALUE, or "WHAT = VALUE", as many as you like.

    R3 98.7k; C6.a 51u; mains 118; "T1 hv" "682 V" (no load); "T1 primary" "3.2 ohm"; "T1 hv.1 to hv.2" "41.5 ohm";
    V5 "6L6GC #12", with its current "6L6GC #12, 34.2 mA at 400/400/-38"; R49 40%; S1 on.
    """
    from lugwright.cli.reports import AsBuiltReport
    from lugwright.workflow import as_built_rows, measured_in, take_as_built_back

    only_known_options(said)
    opened = opened_build(build_file, serial=serial)
    entries: tuple[Entry, ...] = ()
    if take_back:
        entries = take_as_built_back(opened, said)
    elif not listed:
        pairs = pairs_of(said, "WHAT VALUE", "say what was measured, such as R3 98.7k, or --list")
        entries = measured_in(opened, pairs, accuracy=None if accuracy is None else accuracy / 100.0)
    rows, found = as_built_rows(opened)
    log = opened.bench_log
    findings = (*opened.findings, *found)
    report = AsBuiltReport(opened.written.title, findings, str(log.path), log.copy, entries, rows)
    emit(report, as_json=as_json, text=lambda: as_built_text(report))
    leave(findings)


def as_built_text(report: AsBuiltReport) -> str:
    """Return what was written just now, or the whole list."""
    back = [f"taken back: {entry.subject}" for entry in report.entries if entry.kind == "taken back"]
    new = {entry.id for entry in report.entries}
    rows = [row for row in report.as_built if not new or row.id in new]
    if not rows:
        return "\n".join(back) or _NOTHING
    lines = [(r.what, r.shown, r.stated, f"not used: {r.unused}" if r.unused else "") for r in rows]
    return "\n".join([*back, table(("what", "as built", "the build file says", ""), lines)])
