"""``lugwright power-up``: where the first power-up stands, and the next step."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from lugwright.cli.charts_command import NO_MAINS, step_head
from lugwright.cli.printing import at_work, paint, table
from lugwright.cli.session import (
    as_stated_option,
    build_file,
    certified,
    emit,
    json_option,
    leave,
    opened_build,
    serial_option,
)

if TYPE_CHECKING:
    from collections.abc import Iterator

    from lugwright.bringup.results import JudgedReading, PowerUp, StepState
    from lugwright.cli.reports import PowerUpReport
    from lugwright.workflow import Opened


@click.command()
@build_file
@click.option("--step", "said", metavar="STEP", help="This step, by number or key, instead of the next: 4, ohms.")
@click.option("--list", "listed", is_flag=True, help="Every step, and how far it has come.")
@click.option("--ask", is_flag=True, help="Lead through the step: ask for each reading, judge it, write it down.")
@click.option("--done", is_flag=True, help="The step is done: write that into the log.")
@click.option("--undo", is_flag=True, help="With --done: it is not done after all.")
@click.option(
    "--anyway", "reason", default=None, metavar="REASON",
    help="Take the step although something before it is off or missing; the log keeps why. Never where it can hurt.",
)  # fmt: skip
@click.option("--meter", default="", metavar="TEXT", help="Which meter reads.")
@serial_option
@as_stated_option
@json_option
def command(
    build_file: Path,
    said: str | None,
    listed: bool,
    ask: bool,
    done: bool,
    undo: bool,
    reason: str | None,
    meter: str,
    serial: str,
    as_json: bool,
) -> None:
    """Lead through the first power-up: what to do, what to read, when to stop, what comes next."""
    from lugwright.cli.reports import PowerUpReport
    from lugwright.workflow import power_up_now, step_number

    if undo and not done:
        raise click.UsageError("--undo belongs to --done")
    if (done or reason is not None) and said is None:
        raise click.UsageError(f"say which step: --step N with {'--done' if done else '--anyway'}")
    if ask and (as_json or listed):
        raise click.UsageError("--ask speaks with a person: without --json and --list")
    opened = opened_build(build_file, serial=serial)
    with at_work("computing the power-up steps"):
        certified(opened.idle)
        number = None if said is None else step_number(opened, said)
        if number is not None:
            _write(opened, number, reason=reason, done=done, undo=undo)
        found = power_up_now(opened, number=None if done else number)
    if ask and found.shown is not None and not found.refusals:
        from lugwright.cli.power_up_asking import ask_step

        leave((*opened.findings, *ask_step(opened, found.shown, meter=meter)))
    log = opened.bench_log
    report = PowerUpReport(opened.written.title, (*opened.findings, *found.refusals), str(log.path), log.copy, found)
    emit(report, as_json=as_json, text=lambda: list_text(found) if listed else step_text(report, asked=number))
    leave(report.findings)


def _write(opened: Opened, number: int, *, reason: str | None, done: bool, undo: bool) -> None:
    """Write into the log what is passed over, and that a step is done."""
    if reason is not None:
        from lugwright.workflow import pass_over

        pass_over(opened, number, reason)
    if done:
        from lugwright.workflow import step_done

        step_done(opened, number, undo=undo)


def list_text(found: PowerUp) -> str:
    """Return every step with how far it has come."""
    rows = ((str(s.number), s.key, s.title, s.mains, f"{s.taken} of {s.readings}", state_words(s, found.next))
            for s in found.states)  # fmt: skip
    lines = [table(("step", "key", "", "mains", "read", ""), rows, right="r   r")] if found.states else [NO_MAINS]
    return "\n".join([*lines, *(f"passed over: {words}" for words in found.passed_over)])


def state_words(state: StepState, following: int) -> str:
    """Return how far a step has come."""
    words = [f"{len(state.off)} off"] if state.off else []
    if state.number == following:
        words.append("next")
    elif state.passed:
        words.append("passed" if state.off else "done")
    return ", ".join(words)


def step_text(report: PowerUpReport, *, asked: int | None) -> str:
    """Return where the power-up stands, and the step that comes next, or was asked for, if it may be taken."""
    found = report.power_up
    if found.shown is None:
        return NO_MAINS
    lines = list(_where(found))
    if found.refusals:
        count = len(found.refusals)
        wrong = "1 thing before it is not as it" if count == 1 else f"{count} things before it are not as they"
        lines += ["", f"Step {found.shown.number} is not shown: {wrong} should be. See below; find the reason "
                  "before you go on."]  # fmt: skip
        return "\n".join(lines)
    if not found.next and asked is None:
        return "\n".join(lines)
    lines += ["", *step_head(found.shown), "", *reading_lines(found)]
    lines.append(f"To be led through it: lugwright power-up FILE --step {found.shown.number} --ask")
    return "\n".join(lines)


def _where(found: PowerUp) -> Iterator[str]:
    from lugwright.cli.readings import at_once_words

    passed = sum(state.passed for state in found.states)
    yield f"{passed} of {len(found.states)} steps are behind you."
    yield from (f"passed over: {words}" for words in found.passed_over)
    short = [s for s in found.states if s.passed and s.taken < s.readings]
    if short:
        yield "not read: " + ", ".join(f"{s.readings - s.taken} of {s.readings} at step {s.number}" for s in short)
    for state in found.states:
        for reading in state.off:
            yield f"off at step {state.number}: {reading.point} shows {reading.shown}, good builds {reading.window}"
            if words := at_once_words(reading):
                yield paint(f"  {words}", "red", sys.stdout)
    if not found.next:
        yield "Every step is done. Keep the record: lugwright book FILE"


def reading_lines(found: PowerUp) -> Iterator[str]:
    """Yield the readings of the step shown with what was taken of each."""
    from lugwright.cli.readings import stop_words, window_words

    if found.shown is None or not found.shown.readings:
        return
    rows = (
        (r.section, r.point, r.quantity, *window_words(r), *taken_words(taken), stop_words(r), r.note)
        for r, taken in zip(found.shown.readings, found.readings, strict=True)
    )
    head = ("", "point", "reads", "expected", "from", "to", "shows", "", "switch off", "")
    yield table(head, rows, right="lllrrrr")


def taken_words(taken: JudgedReading | None) -> tuple[str, str]:
    """Return what was read and how it was judged."""
    return ("", "") if taken is None else (taken.shown, taken.verdict)
