"""``lugwright trace``: which fault explains the readings, and what to measure next."""

from __future__ import annotations

from contextlib import nullcontext
from pathlib import Path
from typing import TYPE_CHECKING

import click

from lugwright.cli.printing import at_work
from lugwright.cli.session import (
    as_stated_option,
    build_file,
    emit,
    json_option,
    leave,
    opened_build,
    serial_option,
    writing,
)
from lugwright.cli.trace_asking import asked
from lugwright.cli.trace_text import signs_text, tracing_text

if TYPE_CHECKING:
    from lugwright.cli.reports import TraceReport

_SOLVES = ("lugwright.bringup.trace.beside", "lugwright.solve.rewired_ready:load")


@click.command()
@build_file
@click.option(
    "--reading", "said", multiple=True, metavar='"POINT = VALUE"',
    help='A reading besides those of the log: "V1 pin 6 = 203 V", "ohms: V1 pin 6 = 98k". May be given more than once.',
)  # fmt: skip
@click.option(
    "--sign", "seen", multiple=True, metavar="SIGN",
    help='What is seen, heard, felt: "heater dark V2", hum, "hot C1". May be given more than once.',
)  # fmt: skip
@click.option("--no-sign", "unseen", multiple=True, metavar="SIGN", help="What was looked for and is not there.")
@click.option("--signs", "list_signs", is_flag=True, help="Print the signs this build may show, and leave.")
@click.option("--step", default="", metavar="STEP", help="Step of these readings, and how far the build has come.")
@click.option("--next", "count", default=3, type=click.IntRange(0, 20), help="How many next readings to propose.")
@click.option(
    "--ask", is_flag=True, help="Ask for readings one by one, write each into the log, go on until it is found."
)
@click.option("--without-log", is_flag=True, help="Leave the readings of the log out.")
@click.option(
    "--svg", "svg", type=click.Path(dir_okay=False, path_type=Path), metavar="FILE",
    help="Draw the wiring side with the places of the likeliest suspects marked.",
)  # fmt: skip
@serial_option
@as_stated_option
@json_option
def command(
    build_file: Path,
    said: tuple[str, ...],
    seen: tuple[str, ...],
    unseen: tuple[str, ...],
    list_signs: bool,
    step: str,
    count: int,
    ask: bool,
    without_log: bool,
    svg: Path | None,
    serial: str,
    as_json: bool,
) -> None:
    """Hold the readings of the log against every fault the planned wiring can have.

    Faults that the readings cannot tell apart are named together; none of these is always among the answers.
    """
    from lugwright.cli.reports import TraceReport
    from lugwright.second_process import second_process
    from lugwright.workflow import fault_bench, write_suspects

    if ask and as_json:
        raise click.UsageError("--ask talks with a person, --json does not: choose one")
    with nullcontext() if list_signs else second_process(*_SOLVES) as helper:  # it gets ready while this one does
        opened = opened_build(build_file, serial=serial)
        with at_work("reading the faults off the plan"):
            bench = fault_bench(opened)
            at = bench.step_key(step) if step else ""
            if not without_log:
                bench.take_logged()
            for text in said:
                bench.take(text, at)
            for name in (*seen, *unseen):
                bench.see(name, seen=name in seen)
            found = None
        if not list_signs:
            with at_work("weighing the readings"):
                found = bench.tracing(at=at, count=max(count, 1) if ask else count, helper=helper)
    if ask and found is not None:
        found = asked(bench, found, at)
    if svg is not None and found is not None:
        with writing():
            write_suspects(bench, found, svg)
    title, left_out = opened.written.title, tuple(bench.left_out)
    report = TraceReport(title, opened.findings, found, left_out, str(svg or ""), bench.signs())
    if list_signs or not ask:
        emit(report, as_json=as_json, text=lambda: trace_text(report))
    leave(opened.findings)


def trace_text(report: TraceReport) -> str:
    """Return the answer, with what could not be weighed; without one, the signs."""
    blocks = [signs_text(report.signs) if report.tracing is None else tracing_text(report.tracing)]
    if report.left_out:
        blocks.append("\n".join(["Not weighed:", *(f"  {line}" for line in report.left_out)]))
    return "\n\n".join(blocks)
