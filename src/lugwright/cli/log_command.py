"""``lugwright log``: print, export, import."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from lugwright.cli.printing import table
from lugwright.cli.session import build_file, emit, json_option, leave, opened_build, serial_option, writing

if TYPE_CHECKING:
    from lugwright.cli.reports import LogReport
    from lugwright.workflow import Opened

SHORT = 8  # letters of an identifier that are printed
_A_FILE = click.Path(path_type=Path, dir_okay=False)


@click.command()
@build_file
@click.option("--export", "out", type=_A_FILE, help="Write all of it into a file: JSON lines, or CSV for NAME.csv.")
@click.option("--import", "come", type=_A_FILE, help="Take in the entries of such a file; each is stored once.")
@click.option("--rescue", "save", type=_A_FILE, help="Write what can still be read of a damaged log into such a file.")
@click.option(
    "--take-back", "back", multiple=True, metavar="ID",
    help="A reading, note, picture or measured value does not count: its id, as this list prints it.",
)  # fmt: skip
@serial_option
@json_option
def command(
    build_file: Path, out: Path | None, come: Path | None, save: Path | None, back: tuple[str, ...], serial: str,
    as_json: bool,
) -> None:  # fmt: skip
    """Print what was done and when; export the log whole, or take an export in; save what is left of a damaged one."""
    from lugwright.cli.reports import LogReport
    from lugwright.workflow import exported, taken_back, taken_in

    opened = opened_build(build_file, serial=serial)
    if save:
        if out or come or back:
            raise click.UsageError("--rescue goes alone: the log it reads is a damaged one")
        _rescue(opened, save, as_json=as_json)
        return
    gone = taken_back(opened, back) if back else ()
    new, held = taken_in(opened, come) if come else (None, 0)
    written = None
    if out:
        with writing():
            written = exported(opened, out)
    entries = tuple(e for e in opened.bench_log.entries if serial in ("", e.copy))
    shown = () if come or out or back else entries
    report = LogReport(opened.written.title, opened.findings, str(opened.bench_log.path), shown, written, new, gone)
    emit(report, as_json=as_json, text=lambda: log_text(report, held))
    leave(opened.findings)


def _rescue(opened: Opened, save: Path, *, as_json: bool) -> None:
    """Write down what can be read of a damaged log, and say how to go on."""
    from lugwright.cli.reports import LogReport
    from lugwright.workflow import rescued_into

    with writing():
        found = rescued_into(opened, save)
    log = opened.bench_log.path
    count, lost = len(found.entries), found.lost
    report = LogReport(opened.written.title, opened.findings, str(log), (), count, None, lost=lost)
    lines = (
        f"{_entries(count)} read and written; {lost or 'none'} known to be lost.",
        f"Move {log.name} away with the files {log.name}-wal and -shm, where they are, and keep them. Then:",
        f"  lugwright log {opened.path.name} --import {save}",
    )
    emit(report, as_json=as_json, text=lambda: "\n".join(lines))
    leave(opened.findings)


def log_text(report: LogReport, held: int) -> str:
    """Return the log as a table, or what was done with it."""
    from lugwright.log.words import entry_words

    lines = [f"taken back: {entry.subject or entry.body['entry'][:SHORT]}" for entry in report.taken_back]
    if report.imported is not None:
        lines.append(f"{_entries(report.imported, 'new ')} taken in, {held - report.imported} there already")
    if report.exported is not None:
        lines.append(f"{_entries(report.exported)} written")
    if lines:
        return "\n".join(lines)
    if not report.entries:
        return "Nothing is in the log yet."
    rows = (
        (entry.id[:SHORT], entry.time[:16].replace("T", " "), entry.copy, entry.kind, entry_words(entry))
        for entry in report.entries
    )
    return table(("id", "time (UTC)", "copy", "what", "of"), rows)


def _entries(count: int, kind: str = "") -> str:
    return f"{count} {kind}{'entry' if count == 1 else 'entries'}"
