"""``lugwright parts``: the parts list."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from lugwright.cli.printing import table
from lugwright.cli.session import build_file, emit, json_option, leave, opened_build, what_if_option

if TYPE_CHECKING:
    from lugwright.buildfile.build import Build
    from lugwright.cli.reports import PartRow


@click.command()
@build_file
@what_if_option
@json_option
def command(build_file: Path, changes: tuple[str, ...], as_json: bool) -> None:
    """List every part with its value and what each end is joined to."""
    from lugwright.cli.reports import PartsReport

    opened = opened_build(build_file, changes)
    rows = part_rows(opened.build if opened.plan_path.exists() else opened.written)
    report = PartsReport(opened.written.title, tuple(opened.findings), rows)
    emit(report, as_json=as_json, text=lambda: _parts_text(rows))
    leave(opened.findings)


def part_rows(build: Build) -> tuple[PartRow, ...]:
    """Return the parts list, in file order."""
    from lugwright.buildfile.part_words import value_words
    from lugwright.cli.reports import PartRow

    return tuple(
        PartRow(
            part.name,
            part.kind,
            value_words(part.values),
            part.stage,
            tuple(f"{str(terminal).partition('.')[2]} = {terminal.joint}" for terminal in part.terminals),
            part.note,
        )
        for part in build.parts
    )


def _parts_text(rows: tuple[PartRow, ...]) -> str:
    lines = ((row.name, row.kind, row.value, row.stage, ", ".join(row.ends)) for row in rows)
    return table(("part", "kind", "value", "stage", "ends"), lines)
