"""``lugwright check``: is the build file right, and will the parts do?"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from lugwright.cli.printing import at_work, table
from lugwright.cli.session import build_file, certified, emit, json_option, leave, opened_build, set_option
from lugwright.cli.what_if import show_what_if
from lugwright.documents.compared import Quantity
from lugwright.quantities import with_unit

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from lugwright.circuit.operating import Rating
    from lugwright.findings import Finding
    from lugwright.workflow import Opened


@click.command()
@build_file
@set_option
@json_option
def command(build_file: Path, changes: tuple[str, ...], as_json: bool) -> None:
    """Read the build file, check the circuit, and hold every part against its ratings."""
    from lugwright.cli.reports import CheckReport

    if changes:
        show_what_if(build_file, changes, quantities, doing="computing the idle", as_json=as_json, findings=all_found)
    opened = opened_build(build_file)
    with at_work("computing the idle"):
        certified(opened.idle)
        certified(opened.cold_idle)
        ratings, _ = opened.ratings
        findings = all_found(opened)
    report = CheckReport(opened.written.title, findings, tuple(ratings))
    emit(report, as_json=as_json, text=lambda: ratings_text(opened.written.title, ratings, len(findings)))
    leave(findings)


def quantities(opened: Opened) -> Iterator[Quantity]:
    """Yield every rating: what it is, and in brackets the share of the limit."""
    certified(opened.idle)
    certified(opened.cold_idle)
    for rating in opened.ratings[0]:
        yield Quantity(f"{rating.part} {rating.what}", rating.value, rating.unit, f"{rating.share:.0%}")


def all_found(opened: Opened) -> tuple[Finding, ...]:
    """Return the findings of the file, of its ratings, and of what small signals do in it."""
    return (
        *opened.findings,
        *opened.as_built.findings,
        *opened.ratings[1],
        *opened.stability_of(opened.response),
    )


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
