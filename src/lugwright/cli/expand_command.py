"""``lugwright expand``: ready-made stages as ordinary parts."""

from __future__ import annotations

from pathlib import Path

import click

from lugwright.cli.session import build_file, emit, json_option, leave, opened_build, what_if_option


@click.command()
@build_file
@what_if_option
@json_option
def command(build_file: Path, changes: tuple[str, ...], as_json: bool) -> None:
    """Write every stage out part by part, as it may be put into a build file in place of `use = ...`."""
    from lugwright.buildfile.stage_text import stages_text
    from lugwright.cli.reports import ExpandReport

    opened = opened_build(build_file, changes)
    text = stages_text(opened.written)
    emit(
        ExpandReport(opened.written.title, tuple(opened.findings), text),
        as_json=as_json,
        text=lambda: text.rstrip("\n"),
    )
    leave(opened.findings)
