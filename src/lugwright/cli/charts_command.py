"""``lugwright charts``: first power-up, step by step."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from lugwright.cli.printing import at_work
from lugwright.cli.session import build_file, certified, emit, json_option, leave, opened_build, set_option
from lugwright.cli.what_if import show_what_if
from lugwright.documents.compared import Quantity

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from lugwright.bringup.results import Step
    from lugwright.cli.reports import ChartsReport
    from lugwright.workflow import Opened

DEFAULT_SHARE = 99.0


@click.command()
@build_file
@click.option("--step", "number", type=click.IntRange(min=1), help="Only this step.")
@click.option(
    "--share", type=click.FloatRange(50.0, 99.0), default=DEFAULT_SHARE, metavar="PERCENT",
    help="Of good builds that read inside their windows with the plug in: 99.",
)  # fmt: skip
@set_option
@json_option
def command(build_file: Path, number: int | None, share: float, changes: tuple[str, ...], as_json: bool) -> None:
    """Compute what each point reads at every step of the first power-up."""
    from lugwright.cli.reports import ChartsReport

    if changes:
        show_what_if(
            build_file,
            changes,
            lambda o: quantities(_steps(o, number, share)),
            doing="computing the power-up steps",
            as_json=as_json,
        )
    opened = opened_build(build_file)
    with at_work("computing the power-up steps"):
        steps = _steps(opened, number, share)
    report = ChartsReport(opened.written.title, tuple(opened.findings), steps, share / 100.0)
    emit(report, as_json=as_json, text=lambda: _text(report, opened.written.mains_spread))
    leave(opened.findings)


def quantities(steps: Iterable[Step]) -> Iterator[Quantity]:
    """Yield the expected reading of every point at each step."""
    for step in steps:
        for reading in step.readings:
            yield Quantity(f"step {step.number}: {reading.point} {reading.quantity}", reading.expected, reading.unit)


NO_MAINS = "There is no mains inlet in this build, so there is no power-up to go through."


def _text(report: ChartsReport, mains_spread: float) -> str:
    if not report.steps:
        return NO_MAINS
    words = (
        f"Windows hold {report.share:.0%} of good builds: parts within tolerance, tubes within their type's spread, "
        f"mains within {mains_spread:.1%}, a meter of 10 Mohm that is off by 1 % and three digits."
    )
    return "\n\n".join([words, *map(_step_text, report.steps)])


def _steps(opened: Opened, number: int | None, share: float) -> tuple[Step, ...]:
    certified(opened.idle)
    every = opened.power_up if share == DEFAULT_SHARE else (*opened.before_mains, *opened.steps_for(share / 100.0))
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
