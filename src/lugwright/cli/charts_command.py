"""``lugwright charts``: first power-up, step by step."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from lugwright.cli.printing import at_work
from lugwright.cli.session import build_file, certified, emit, json_option, leave, opened_build, set_option
from lugwright.cli.what_if import Quantity, show_what_if

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from lugwright.bringup.results import Step
    from lugwright.workflow import Opened


@click.command()
@build_file
@click.option("--step", "number", type=click.IntRange(min=1), help="Only this step.")
@set_option
@json_option
def command(build_file: Path, number: int | None, changes: tuple[str, ...], as_json: bool) -> None:
    """Compute what each point reads at every step of the first power-up."""
    from lugwright.cli.reports import ChartsReport

    if changes:
        show_what_if(
            build_file,
            changes,
            lambda o: quantities(_steps(o, number)),
            doing="computing the power-up steps",
            as_json=as_json,
        )
    opened = opened_build(build_file)
    with at_work("computing the power-up steps"):
        steps = _steps(opened, number)
    report = ChartsReport(opened.written.title, tuple(opened.findings), steps)
    emit(report, as_json=as_json, text=lambda: "\n\n".join(map(_step_text, steps)) or NO_MAINS)
    leave(opened.findings)


def quantities(steps: Iterable[Step]) -> Iterator[Quantity]:
    """Yield the expected reading of every point at each step."""
    for step in steps:
        for reading in step.readings:
            yield Quantity(f"step {step.number}: {reading.point} {reading.quantity}", reading.expected, reading.unit)


NO_MAINS = "There is no mains inlet in this build, so there is no power-up to go through."


def _steps(opened: Opened, number: int | None) -> tuple[Step, ...]:
    certified(opened.idle)
    every = opened.power_up
    steps = tuple(step for step in every if number in (None, step.number))
    if number is not None and not steps:
        raise click.BadParameter(f"there is no step {number}; the last is {len(every)}", param_hint="--step")
    return steps


def _step_text(step: Step) -> str:
    from lugwright.cli.readings import reading_table

    return "\n".join([*step_head(step), *([reading_table(step.readings)] if step.readings else [])])


def step_head(step: Step) -> list[str]:
    """Return what to do at a step, when to stop, and what to expect of lamp and mains, line by line."""
    lines = [f"Step {step.number}: {step.title} ({step.mains})"]
    lines += [f"  caution: {text}" for text in step.cautions]
    lines += [f"  do: {text}" for text in step.do]
    lines += [f"  stop if: {text}" for text in step.stop_if]
    lines += [f"  lamp: {step.lamp}"] if step.lamp else []
    lines += [f"  variable transformer: {text}" for text in step.instead]
    lines += [f"  current from the mains: {current_words(step)}"] if step.mains_window_a else []
    return lines


def current_words(step: Step) -> str:
    """Return the current a step takes from the mains, with its window."""
    low, high = step.mains_window_a or (step.mains_a, step.mains_a)
    return f"{step.mains_a:.2f} A ({low:.2f} to {high:.2f} A)"
