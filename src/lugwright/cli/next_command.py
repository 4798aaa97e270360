"""``lugwright next``: where was I."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from lugwright.cli.jobs_command import job_text
from lugwright.cli.printing import at_work
from lugwright.cli.progress_text import done_line, half_done_text, last_line
from lugwright.cli.session import build_file, emit, json_option, leave, opened_build, serial_option

if TYPE_CHECKING:
    from lugwright.cli.reports import NextReport

BEFORE_A_HAND_GOES_IN = (
    "Before a hand goes in: plug out, wait, and measure every filter capacitor below 60 V, also when you think it was "
    "never switched on."
)


@click.command()
@build_file
@serial_option
@json_option
def command(build_file: Path, serial: str, as_json: bool) -> None:
    """Say what is done, what is half done, and print the next job card."""
    from lugwright.cli.reports import NextReport
    from lugwright.workflow import where_it_stands

    opened = opened_build(build_file, serial=serial)
    with at_work("looking at the plan"):
        progress = where_it_stands(opened)
    card = next((job for job in opened.work_order.jobs if job.number == progress.next_card), None)
    findings = (*opened.findings, *opened.swapped)
    report = NextReport(opened.written.title, findings, progress, card)
    emit(report, as_json=as_json, text=lambda: next_text(report, datetime.now(UTC)))
    leave(findings)


def next_text(report: NextReport, now: datetime) -> str:
    """Return where the work stands, for a person after a week's break."""
    progress = report.progress
    blocks = [f"{report.build}\n{done_line(progress)}\n{last_line(progress, now)}", half_done_text(progress)]
    if report.card is None:
        blocks.append("Every card is done. What comes now is in the power-up charts: lugwright charts FILE")
    else:
        cards = {card.number: card for card in progress.cards}
        blocks += [BEFORE_A_HAND_GOES_IN, f"Next:\n{job_text(report.card, cards[report.card.number])}"]
        blocks.append(f"When it is done: lugwright tick FILE {report.card.number}")
    return "\n\n".join(block for block in blocks if block)
