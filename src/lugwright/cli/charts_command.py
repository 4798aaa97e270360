"""``lugwright charts``: first power-up, step by step."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from lugwright.cli.printing import at_work
from lugwright.cli.session import build_file, certified, emit, json_option, leave, opened_build

if TYPE_CHECKING:
    from lugwright.bringup.results import Step


@click.command()
@build_file
@click.option("--step", "number", type=click.IntRange(min=1), help="Only this step.")
@json_option
def command(build_file: Path, number: int | None, as_json: bool) -> None:
    """Compute what each point reads at every step of the first power-up."""
    from lugwright.cli.reports import ChartsReport

    opened = opened_build(build_file)
    with at_work("computing the power-up steps"):
        certified(opened.idle)
        steps = tuple(step for step in opened.steps if number in (None, step.number))
    if not steps:
        raise click.BadParameter(f"there is no step {number}; the last is {len(opened.steps)}", param_hint="--step")
    report = ChartsReport(opened.build.title, tuple(opened.findings), steps)
    emit(report, as_json=as_json, text=lambda: "\n\n".join(_step_text(step) for step in steps))
    leave(opened.findings)


def _step_text(step: Step) -> str:
    from lugwright.cli.readings import reading_table

    lines = [f"Step {step.number}: {step.title} ({step.mains})"]
    lines += [f"  caution: {text}" for text in step.cautions]
    lines += [f"  do: {text}" for text in step.do]
    lines += [f"  stop if: {text}" for text in step.stop_if]
    lines += [f"  lamp: {step.lamp}"] if step.lamp else []
    return "\n".join([*lines, reading_table(step.readings)])
