"""``lugwright plan``: lugs and wires, written beside the build file."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from lugwright.cli.compare_text import compare_text
from lugwright.cli.plan_text import report_text
from lugwright.cli.printing import at_work
from lugwright.cli.session import build_file, emit, json_option, leave, opened_build, serial_option, writing
from lugwright.cli.why_text import why_text

if TYPE_CHECKING:
    from lugwright.cli.reports import PlanReport
    from lugwright.findings import Finding
    from lugwright.workflow import Opened


@click.command()
@build_file
@click.option(
    "--why",
    "subjects",
    multiple=True,
    metavar="NAME",
    help="Why is it there, and where else could it be: a part (R3), a joint (V1a.plate), a wire (W12), a lug (A.4). "
    "May be given more than once; prints nothing else.",
)
@click.option("--compare", is_flag=True, help="Lay the stored plan and three others side by side; keep the stored one.")
@click.option(
    "--choose",
    "style",
    type=click.Choice(("shortest", "tidiest", "fewest")),
    help="Plan afresh in this way, and keep that plan in place of the stored one.",
)
@click.option(
    "--afresh",
    is_flag=True,
    help="Plan without a look at the stored plan, and keep the new one: after dislikes have changed, for one. What is "
    "soldered stays.",
)
@click.option("--unsolder", is_flag=True, help="Plan as if everything soldered were out that the circuit contradicts.")
@serial_option
@json_option
def command(
    build_file: Path,
    subjects: tuple[str, ...],
    compare: bool,
    style: str | None,
    afresh: bool,
    unsolder: bool,
    serial: str,
    as_json: bool,
) -> None:
    """Plan every lug, part and wire; write NAME.plan.json beside NAME.toml.

    A plan that is already there is kept as far as it still fits; what is soldered stays where it is.
    """
    from lugwright.workflow import planning_words, write_plan

    opened = opened_build(build_file, serial=serial, unsolder=unsolder)
    if style is not None and afresh:
        raise click.UsageError("--choose plans afresh already; give one of --choose and --afresh")
    if style is not None:
        opened = _chosen(opened, style)
    if afresh:
        opened = _afresh(opened)
    with at_work(planning_words()):
        _ = opened.moves
        findings = (*opened.findings, *opened.plan_findings)
    with writing():
        file = write_plan(opened)
    if compare:
        _lay_side_by_side(opened, as_json=as_json)
    if subjects:
        _tell_why(opened, subjects, as_json=as_json)
    report = _report(opened, findings, file)
    emit(report, as_json=as_json, text=lambda: report_text(report))
    leave(findings)


def _report(opened: Opened, findings: tuple[Finding, ...], file: Path) -> PlanReport:
    from lugwright.cli.reports import PlanReport

    return PlanReport(
        opened.written.title, findings, str(file), opened.plan, opened.heaters, opened.plan_terms, opened.lug_count,
        opened.worst_places, opened.moves, opened.to_unsolder,
    )  # fmt: skip


def _tell_why(opened: Opened, subjects: tuple[str, ...], *, as_json: bool) -> None:
    """Print why things are where they are, and leave."""
    from lugwright.cli.reports import WhyReport

    with at_work("trying other places"):
        answers = tuple(opened.why(subject) for subject in subjects)
    report = WhyReport(opened.written.title, opened.findings, answers)
    emit(report, as_json=as_json, text=lambda: "\n\n".join(why_text(answer) for answer in answers))
    leave(opened.findings)


def _lay_side_by_side(opened: Opened, *, as_json: bool) -> None:
    """Print several plans in figures, and leave."""
    from lugwright.cli.reports import CompareReport
    from lugwright.workflow import compared_plans

    with at_work() as progress:
        plans = compared_plans(opened, progress)
    dislikes = opened.build.wishes.weights
    report = CompareReport(opened.build.title, opened.findings, dislikes, plans)
    emit(report, as_json=as_json, text=lambda: compare_text(plans, dislikes))
    leave(opened.findings)


def _chosen(opened: Opened, style: str) -> Opened:
    """Write the plan made in a style in place of the stored one."""
    from lugwright.workflow import choose_plan

    with at_work(f"planning: {style}"), writing():
        return choose_plan(opened, style)


def _afresh(opened: Opened) -> Opened:
    """Write a plan made without the stored one in its place."""
    from lugwright.workflow import plan_afresh, planning_words

    with at_work(planning_words()), writing():
        return plan_afresh(opened)
