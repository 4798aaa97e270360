"""``lugwright trace``: which fault explains the readings, and what to measure next."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from lugwright.cli.printing import at_work, paint
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
from lugwright.cli.trace_text import next_lines, tracing_text

if TYPE_CHECKING:
    from lugwright.bringup.trace_results import NextWords, Tracing
    from lugwright.cli.reports import TraceReport
    from lugwright.workflow import FaultBench

_BEGIN = (
    "Type what the meter shows; 'skip' for another point, 'again' to read the whole list, 'stop' to leave. A point of "
    "your own: V1 pin 6 = 203 V, with the step before a colon where it is another one: ohms: V1 pin 6 = 98k."
)
_STOP, _SKIP = ("stop", "quit", "exit", "q"), ("skip", "s", "")
MORE = 3  # readings proposed besides those that were passed over


@click.command()
@build_file
@click.option(
    "--reading", "said", multiple=True, metavar='"POINT = VALUE"',
    help='A reading besides those of the log: "V1 pin 6 = 203 V", "ohms: V1 pin 6 = 98k". May be given more than once.',
)  # fmt: skip
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
    from lugwright.workflow import fault_bench, write_suspects

    if ask and as_json:
        raise click.UsageError("--ask talks with a person, --json does not: choose one")
    opened = opened_build(build_file, serial=serial)
    with at_work("reading the faults off the plan"):
        bench = fault_bench(opened)
        at = bench.step_key(step) if step else ""
        if not without_log:
            bench.take_logged()
        for text in said:
            bench.take(text, at)
    with at_work("weighing the readings"):
        found = bench.tracing(at=at, count=max(count, 1) if ask else count)
    if ask:
        found = _asked(bench, found, at)
    if svg is not None:
        with writing():
            write_suspects(bench, found, svg)
    report = TraceReport(opened.written.title, opened.findings, found, tuple(bench.left_out), str(svg or ""))
    if not ask:
        emit(report, as_json=as_json, text=lambda: trace_text(report))
    leave(opened.findings)


def trace_text(report: TraceReport) -> str:
    """Return the answer, with what could not be weighed."""
    blocks = [tracing_text(report.tracing)]
    if report.left_out:
        blocks.append("\n".join(["Not weighed:", *(f"  {line}" for line in report.left_out)]))
    return "\n\n".join(blocks)


def _asked(bench: FaultBench, found: Tracing, at: str) -> Tracing:
    """Ask for readings until something is found, nothing is left to read or nobody answers."""
    click.echo(f"{_BEGIN}\n\n{tracing_text(found)}")
    skipped: set[tuple[str, ...]] = set()
    while not (found.readings and found.state in ("found", "look", "good")):
        ahead = next((n for n in found.next if _place(n) not in skipped), None)
        if ahead is None:
            click.echo("Nothing is left to read that would tell more.")
            break
        answer = click.prompt(f"\n{ahead.point}, {ahead.quantity}", default="", show_default=False).strip()
        word = answer.casefold()
        if word in _STOP:
            break
        if word == "again":
            click.echo(tracing_text(found))
        elif word in _SKIP:
            skipped.add(_place(ahead))
            found = bench.tracing(at=at, count=len(skipped) + MORE)
            click.echo("\n".join(next_lines(found.next[0])) if found.next else "")
        elif _taken_in(bench, ahead, answer, at):
            found = bench.tracing(at=at, count=len(skipped) + MORE)
            click.echo(f"\n{tracing_text(found, readings=False)}")
    return found


def _taken_in(bench: FaultBench, ahead: NextWords, answer: str, at: str) -> bool:
    """Take what was read and write it into the log; say why not where it cannot be understood."""
    from lugwright.errors import LugwrightError

    try:
        own = answer if "=" in answer else f"{ahead.step}: {ahead.red} to {ahead.black} = {answer}"
        bench.take(own, at or ahead.step, write=True)
    except LugwrightError as error:
        click.echo(f"{paint('not taken', 'yellow', sys.stdout)}: {error}")
        return False
    return True


def _place(reading: NextWords) -> tuple[str, ...]:
    return reading.step, reading.red, reading.black, reading.quantity
