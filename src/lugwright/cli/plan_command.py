"""``lugwright plan``: lugs and wires, written beside the build file."""

from __future__ import annotations

from pathlib import Path

import click

from lugwright.cli.plan_text import report_text
from lugwright.cli.printing import at_work
from lugwright.cli.session import build_file, emit, json_option, leave, opened_build, writing


@click.command()
@build_file
@json_option
def command(build_file: Path, as_json: bool) -> None:
    """Plan every lug, part and wire; write NAME.plan.json beside NAME.toml.

    A plan that is already there is kept as far as it still fits.
    """
    from lugwright.cli.reports import PlanReport
    from lugwright.workflow import write_plan

    opened = opened_build(build_file)
    with at_work("planning lugs and wires"):
        plan = opened.plan
        findings = (*opened.findings, *opened.plan_findings)
    with writing():
        file = write_plan(opened)
    report = PlanReport(
        opened.build.title, findings, str(file), plan, opened.heaters, opened.plan_terms, opened.lug_count,
        opened.worst_places,
    )  # fmt: skip
    emit(report, as_json=as_json, text=lambda: report_text(report))
    leave(findings)
