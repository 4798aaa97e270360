"""``lugwright strips``: terminal strips and ground bus, as they may be put into the build file."""

from __future__ import annotations

from pathlib import Path

import click

from lugwright.cli.printing import at_work
from lugwright.cli.session import build_file, emit, json_option, leave, opened_build, writing
from lugwright.documents.strips_table import strips_table


@click.command()
@build_file
@click.option(
    "--afresh",
    is_flag=True,
    help="Propose strips and bus as though the build file stated none; nothing is written.",
)
@json_option
def command(build_file: Path, afresh: bool, as_json: bool) -> None:
    """Propose the strips and the bus that the build file leaves open; print all as a table for it.

    What is proposed is kept in NAME.plan.json, so that it stays where it is.
    """
    from lugwright.cli.reports import StripsReport
    from lugwright.workflow import without_strips, write_plan

    opened = opened_build(build_file)
    if afresh:
        opened = without_strips(opened)
    with at_work("finding places for strips"):
        uses, buses, lugs, plan = opened.strip_uses, opened.bus_uses, opened.lug_count, opened.plan
    if not afresh:
        with writing():
            write_plan(opened)
    cost = sum(plan.cost.values())
    report = StripsReport(opened.written.title, opened.findings, uses, buses, lugs, cost)
    emit(report, as_json=as_json, text=lambda: strips_table(opened.written.title, uses, buses, lugs))
    leave(opened.findings)
