"""``lugwright start``: the first minute after switch-on, fuses, surge, and how long it stays dangerous afterwards."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from lugwright.cli.numbers import Number
from lugwright.cli.printing import at_work, table
from lugwright.cli.session import build_file, emit, json_option, leave, opened_build, set_option, writing
from lugwright.cli.what_if import only_as_built, show_what_if
from lugwright.documents.compared import Quantity, start_figures
from lugwright.quantities import with_unit

if TYPE_CHECKING:
    from collections.abc import Iterator

    from lugwright.circuit.starting import FilterRow, FuseInrush, Start
    from lugwright.cli.reports import StartReport
    from lugwright.findings import Finding
    from lugwright.workflow import Opened

CAUTION = (
    "Never trust a time to 60 V: a bleeder can be open. Plug out, wait, and measure every filter capacitor before a "
    "hand goes in."
)
CORE = (
    "A core may saturate at switch-on, which is not computed. The copper alone would let {peak} through, {a2s:.2g} A²s "
    "in a half cycle: about the most a start can take."
)
NO_MAINS = "There is no mains inlet in this build, so there is nothing to switch on."


@click.command()
@build_file
@click.option("--standby", "standby_s", type=Number(min=1.0, max=50.0), metavar="SECONDS",
              help="Switch on with the standby switch open and close it then.")  # fmt: skip
@click.option("--silicon", is_flag=True, help="Silicon in place of the rectifier tube, side by side.")
@click.option("--out", type=click.Path(path_type=Path), metavar="FOLDER", help="Write the plots there, as SVG.")
@set_option
@json_option
def command(
    build_file: Path, standby_s: float | None, silicon: bool, out: Path | None, changes: tuple[str, ...], as_json: bool
) -> None:
    """Follow the first minute after switch-on, cold, and the time to 60 V after switch-off."""
    from lugwright.cli.reports import StartReport as Report
    from lugwright.workflow import start_standing_by, start_with_silicon, write_start

    if changes:
        only_as_built(out=out, standby=standby_s, silicon=silicon)
        show_what_if(build_file, changes, quantities, doing="starting", as_json=as_json, findings=found)
    opened = opened_build(build_file)
    with at_work("starting"):
        start = opened.start
        others = [
            *([start_standing_by(opened, standby_s)] if standby_s is not None and start else []),
            *([start_with_silicon(opened)] if silicon and start else []),
        ]
        findings = found(opened)
        files: tuple[str, ...] = ()
        if out is not None and start is not None:
            with writing():
                files = tuple(str(f) for f in write_start(start, others, out))
    report = Report(opened.written.title, findings, start, tuple(others), opened.filter_rows, files)
    emit(report, as_json=as_json, text=lambda: start_text(opened.written.title, report))
    leave(findings)


def found(opened: Opened) -> tuple[Finding, ...]:
    """Return the findings of the file and of the start."""
    return (*opened.findings, *opened.start_ratings[1])


def quantities(opened: Opened) -> Iterator[Quantity]:
    """Return every reading of a start."""
    start = opened.start
    return start_figures(start, opened.filter_rows if start else ())


def start_text(title: str, report: StartReport) -> str:
    """Return the start as plain tables."""
    start = report.start
    if start is None:
        return NO_MAINS
    parts = [f"{title}: {start.how}, everything cold, nominal mains", _inrush(start), _fuses(start), _tubes(start),
             _filters(report.filters, start), *(_other(other) for other in report.others), CAUTION]  # fmt: skip
    if report.files:
        parts.append("\n".join(f"wrote {file}" for file in report.files))
    return "\n\n".join(part for part in parts if part)


def _inrush(start: Start) -> str:
    rows = (
        (i.switched, with_unit(i.peak_a, "A"), with_unit(i.first_cycle_rms_a, "A"), with_unit(i.last_cycle_rms_a, "A"))
        for i in start.inrush
    )
    words = CORE.format(peak=with_unit(start.saturated_a, "A"), a2s=start.saturated_a2s)
    head = ("switched on", "highest mains current", "RMS, first cycle", "RMS, twelfth cycle")
    return f"{table(head, rows, right='lrrr')}\n{words}"


def _fuses(start: Start) -> str:
    rows = ((f.name, *_fuse_cells(f)) for f in start.fuses)
    head = (
        "fuse",
        "at idle",
        "highest",
        "A²s, worst half cycle",
        "supply shorted",
        "smallest slow fuse that stands it",
    )
    return table(head, rows, right="lrrrrr") if start.fuses else ""


def _fuse_cells(fuse: FuseInrush) -> Iterator[str]:
    yield with_unit(fuse.idle_a, "A")
    yield with_unit(fuse.peak_a, "A")
    yield f"{fuse.half_cycle_a2s:.3g}"
    yield "-" if fuse.fault_a is None else with_unit(fuse.fault_a, "A")
    yield "none" if fuse.suggested_a is None else with_unit(fuse.suggested_a, "A")


def _tubes(start: Start) -> str:
    rows = (
        (
            tube.name,
            ("filament" if tube.filament else "heater") + (", rectifier" if tube.rectifier else ""),
            f"{tube.cold_ratio:.1f} times",
            _seconds(tube.half_s),
            _seconds(tube.full_s),
        )
        for tube in start.tubes
    )
    head = ("tube", "kind", "heater current, cold", "half its current", "nine tenths")
    return table(head, rows, right="llrrr") if start.tubes else ""


def _seconds(seconds: float | None) -> str:
    return "later" if seconds is None else f"{seconds:.1f} s"


def _filters(rows: tuple[FilterRow, ...], start: Start) -> str:
    lines = (
        (
            row.name, with_unit(row.idle_v, "V"), with_unit(row.peak_v, "V"), f"{row.peak_s:.2g} s",
            with_unit(row.high_v, "V"), with_unit(row.rated_v, "V"), with_unit(row.surge_v, "V"),
            f"over {start.decay_s:.0f} s" if row.warm_s is None else f"{row.warm_s:.1f} s",
            "never" if row.cold_s is None else f"{row.cold_s:.1f} s",
        )
        for row in rows
    )  # fmt: skip
    head = ("capacitor", "idle", "highest", "at", "mains +10 %", "rated", "surge", "to 60 V, warm", "to 60 V, cold")
    return table(head, lines, right="lrrrrrrrr") if rows else ""


def _other(start: Start) -> str:
    rows = ((line.joint, with_unit(max(map(abs, line.volts)), "V")) for line in start.lines)
    peak = max(inrush.peak_a for inrush in start.inrush)
    return f"{start.how}: highest mains current {with_unit(peak, 'A')}\n" + table(
        ("joint", "highest cycle mean"), rows, right="lr"
    )
