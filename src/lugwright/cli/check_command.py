"""``lugwright check``: is the build file right, and will the parts do?"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from lugwright.cli.printing import at_work, table
from lugwright.cli.session import build_file, certified, emit, json_option, leave, opened_build
from lugwright.quantities import with_unit

if TYPE_CHECKING:
    from collections.abc import Sequence

    from lugwright.circuit.operating import Rating


@click.command()
@build_file
@json_option
def command(build_file: Path, as_json: bool) -> None:
    """Read the build file, check the circuit, and hold every part against its ratings."""
    from lugwright.cli.reports import CheckReport

    opened = opened_build(build_file)
    with at_work("computing the idle"):
        certified(opened.idle)
        certified(opened.cold_idle)
        ratings, more = opened.ratings
    findings = (*opened.findings, *more)
    report = CheckReport(opened.build.title, findings, tuple(ratings))
    emit(report, as_json=as_json, text=lambda: ratings_text(opened.build.title, ratings, len(findings)))
    leave(findings)


def ratings_text(title: str, ratings: Sequence[Rating], findings: int) -> str:
    """Return the ratings, the most used first."""
    rows = (
        (
            rating.part,
            rating.what,
            with_unit(rating.value, rating.unit),
            ("at least " if rating.at_least else "") + with_unit(rating.limit, rating.unit),
            f"{rating.share:.0%}",
        )
        for rating in sorted(ratings, key=lambda r: (-r.share, r.part, r.what))
    )
    head = f"{title}: {len(ratings)} ratings checked, {findings or 'no'} finding{'' if findings == 1 else 's'}"
    return f"{head}\n\n{table(('part', 'what', 'is', 'limit', 'used'), rows, right='llrrr')}"
