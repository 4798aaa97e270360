"""``lugwright book``: everything, into one folder."""

from __future__ import annotations

from pathlib import Path

import click

from lugwright.cli.printing import at_work
from lugwright.cli.session import (
    as_stated_option,
    build_file,
    certified,
    emit,
    json_option,
    leave,
    opened_build,
    serial_option,
    writing,
)


@click.command()
@build_file
@click.option("--out", type=click.Path(path_type=Path), default=Path("book"), show_default=True, help="Folder.")
@click.option(
    "--paper",
    type=click.Choice(["A4", "Letter"], case_sensitive=False),
    default="A4",
    show_default=True,
    help="Paper of the PDF.",
)
@serial_option
@as_stated_option
@json_option
def command(build_file: Path, out: Path, paper: str, serial: str, as_json: bool) -> None:
    """Make the build book: PDF and HTML, drawings as SVG, tables as CSV, the drill plan as DXF."""
    from lugwright.workflow import write_book

    opened = opened_build(build_file, serial=serial)
    with at_work("computing the idle") as progress:
        certified(opened.idle)
        certified(opened.cold_idle)
        with writing():
            written = write_book(opened, out, paper=paper, progress=progress)
    from lugwright.cli.reports import BookReport

    files = tuple(str(file) for file in written)
    findings = (*opened.findings, *opened.ratings[1], *opened.start_ratings[1], *opened.plan_findings)
    report = BookReport(opened.written.title, findings, str(out), files)
    emit(report, as_json=as_json, text=lambda: f"{opened.written.title}: the book is in {out} (files: {len(files)})")
    leave(findings)
