"""``lugwright jobs``: the order of work."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from lugwright.cli.printing import at_work, table
from lugwright.cli.session import build_file, emit, json_option, leave, opened_build, serial_option

if TYPE_CHECKING:
    from lugwright.workorder.results import CardProgress, CutRow, Job, Progress, WorkOrder


@click.command()
@build_file
@click.option("--card", "number", type=click.IntRange(min=1), help="Only this card.")
@click.option("--cut-list", "cut_only", is_flag=True, help="Only the cut list.")
@serial_option
@json_option
def command(build_file: Path, number: int | None, cut_only: bool, serial: str, as_json: bool) -> None:
    """Put the work in order: job cards from bare metal to the last lead, and the cut list.

    Cards that are ticked off stand in one line; --card shows them whole.
    """
    from dataclasses import replace

    from lugwright.cli.reports import JobsReport
    from lugwright.workflow import planning_words

    opened = opened_build(build_file, serial=serial)
    with at_work(planning_words()):
        order = opened.work_order
        findings = (*opened.findings, *opened.plan_findings)
    jobs = tuple(job for job in order.jobs if number in (None, job.number))
    if not jobs:
        raise click.BadParameter(f"there is no card {number}; the last is {len(order.jobs)}", param_hint="--card")
    some = replace(order, jobs=() if cut_only else jobs)
    report = JobsReport(opened.written.title, findings, some, opened.progress)
    emit(report, as_json=as_json, text=lambda: order_text(some, opened.progress, with_cuts=number is None))
    leave(findings)


def order_text(order: WorkOrder, progress: Progress, *, with_cuts: bool) -> str:
    """Return the cards and the cut list as plain text; several cards that are done, each in one line."""
    done = {card.number: card for card in progress.cards}
    brief = {card.number for card in progress.cards if card.state == "done" and len(order.jobs) > 1}
    blocks = [
        f"Card {job.number}, {job.phase}: {job.title}: done" if job.number in brief else job_text(job, done[job.number])
        for job in order.jobs
    ]
    if with_cuts:
        blocks.append(_cut_text(order))
    blocks += [f"given up: {text}" for text in order.broken_rules]
    return "\n\n".join(blocks)


def job_text(job: Job, card: CardProgress) -> str:
    """Return one card as plain text, what is done crossed off."""
    state = {"done": " (done)", "begun": " (begun)"}.get(card.state, "")
    lines = [f"Card {job.number}, {job.phase}: {job.title}{state}"]
    lines += [f"  caution: {text}" for text in job.cautions]
    over = card.lines or [card.state == "done"] * len(job.text)
    lines += [f"  {_box(there)} {text}" for text, there in zip(job.text, over, strict=True)]
    if job.leads:
        rows = (
            (_box(there), lead.what, lead.lead, lead.label, lead.solder)
            for lead, there in zip(job.leads, card.leads, strict=True)
        )
        lines += [f"      {line}" for line in table(("in", "what", "lead", "to", "solder"), rows).splitlines()]
    lines += [f"  look at it before it is covered: {', '.join(job.covers)}"] if job.covers else []
    lines += [f"  note: {text}" for text in job.notes]
    return "\n".join(lines)


def _box(there: bool) -> str:
    return "[x]" if there else "[ ]"


def _jacket(row: CutRow) -> str:
    return f", jacket {row.jacket_mm[0]:g} / {row.jacket_mm[1]:g} mm" if any(row.jacket_mm) else ""


def _cut_text(order: WorkOrder) -> str:
    rows = (
        (
            row.type,
            row.color,
            f"{row.length_mm:g} mm",
            f"{row.strip_mm[0]:g} / {row.strip_mm[1]:g} mm{_jacket(row)}",
            str(len(row.wires)),
            " ".join(f"W{number}" for number in row.wires),
            row.twist,
        )
        for row in order.cut_list
    )
    totals = "; ".join(f"{color} {kind} {length / 1000.0:.2f} m" for kind, color, length in order.totals_mm)
    head = ("cut list", "color", "length", "strip", "pieces", "wires", "twist")
    return f"{table(head, rows, right='llrrr')}\nIn all: {totals}"
