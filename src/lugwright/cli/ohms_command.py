"""``lugwright ohms``: the ohms chart."""

from __future__ import annotations

from pathlib import Path

import click

from lugwright.cli.printing import at_work
from lugwright.cli.session import build_file, emit, json_option, leave, opened_build

_CAUTION = "Plug out, every capacitor measured below 60 V, no tube in any socket: only then the ohmmeter."


@click.command()
@build_file
@json_option
def command(build_file: Path, as_json: bool) -> None:
    """Compute what an ohmmeter reads from each pin and lug to ground, plug out."""
    from lugwright.cli.readings import reading_table
    from lugwright.cli.reports import OhmsReport

    opened = opened_build(build_file)
    with at_work("computing the ohms chart"):
        chart = opened.ohms_chart
    report = OhmsReport(opened.build.title, tuple(opened.findings), chart)
    emit(
        report,
        as_json=as_json,
        text=lambda: f"{_CAUTION}\nMeter: {chart.meter}\n\n{reading_table(chart.readings)}",
    )
    leave(opened.findings)
