"""``--set``: what each reading is as built and with some values changed, side by side, for any command of an analysis.

A command that takes it lists its readings once, as `Quantity`, for one opened build; `show_what_if` does the rest.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TYPE_CHECKING

import click

from lugwright.cli.printing import at_work, table
from lugwright.cli.session import emit, leave, opened_build
from lugwright.documents.compared import Quantity

if TYPE_CHECKING:
    from lugwright.cli.reports import Compared, WhatIfReport
    from lugwright.findings import Finding
    from lugwright.workflow import Opened

NOISE = 1e-6  # of a reading; two solves of one circuit may differ by less
NOTHING = 1e-6  # of a volt, ampere, watt; a smaller change is none at the bench
LEFT_OVER = 1e-9  # of the same; a smaller reading is what a solve leaves over of zero
NEITHER = "-"


def only_as_built(**options: object) -> None:
    """Refuse options that say nothing of a change, such as out=FOLDER, beside --set."""
    for name, given in options.items():
        if given:
            raise click.UsageError(
                f"--{name} is for the build as it stands: leave --set away, or write the value in the file"
            )


def as_found(opened: Opened) -> tuple[Finding, ...]:
    """Return the findings of the build file itself."""
    return tuple(opened.findings)


def show_what_if(
    build_file: Path,
    changes: tuple[str, ...],
    quantities: Callable[[Opened], Iterable[Quantity]],
    *,
    doing: str,
    as_json: bool,
    findings: Callable[[Opened], tuple[Finding, ...]] = as_found,
) -> None:
    """Print every reading that the changes move, as built and changed, and leave with the changed build's findings."""
    from lugwright.cli.reports import WhatIfReport

    builds = [opened_build(build_file), opened_build(build_file, changes)]
    with at_work(f"{doing}, as built and changed"):
        before, after = (list(quantities(opened)) for opened in builds)
        was, now = (findings(opened) for opened in builds)
    report = WhatIfReport(
        builds[1].written.title,
        now,
        builds[1].changes,
        tuple(f for f in now if _key(f) not in {_key(g) for g in was}),
        tuple(f for f in was if _key(f) not in {_key(g) for g in now}),
        tuple(compared(before, after)),
    )
    emit(report, as_json=as_json, text=lambda: what_if_text(report, before, after))
    leave(now)


def _key(finding: Finding) -> tuple[str, str, str]:
    return finding.rule, finding.part, finding.what


def compared(before: Iterable[Quantity], after: Iterable[Quantity]) -> list[Compared]:
    """Return each reading of either build; what the other has not is None there."""
    from lugwright.cli.reports import Compared

    first, second = ({q.name: q for q in quantities} for quantities in (before, after))
    rows = []
    for name in dict.fromkeys([*first, *second]):
        was, now = (each[name].value if name in each else None for each in (first, second))
        unit = (second.get(name) or first[name]).unit
        rows.append(Compared(name, unit, was, now, _difference(was, now)))
    return rows


def _difference(was: float | None, now: float | None) -> float | None:
    if was is None or now is None or not (math.isfinite(was) and math.isfinite(now)):
        return None
    return 0.0 if math.isclose(was, now, rel_tol=NOISE, abs_tol=NOTHING) else now - was


def what_if_text(report: WhatIfReport, before: Iterable[Quantity], after: Iterable[Quantity]) -> str:
    """Return the changes, a table of the readings that differ, how many do not, and which findings come and go."""
    asides = [{q.name: q.aside for q in quantities} for quantities in (before, after)]
    rows, alike = [], 0
    for row in report.readings:
        values = (row.as_built, row.as_built if row.difference == 0.0 else row.changed)
        words = [_words(v, row.unit, aside.get(row.name, "")) for v, aside in zip(values, asides, strict=True)]
        if words[0] == words[1]:
            alike += 1
        else:
            rows.append((row.name, *words, _signed(row.difference, row.unit)))
    made = ", ".join(f"{c.part} = {c.now} (was {c.was})" for c in report.changes)
    blocks = [f"{report.build}, what if: {made}"]
    blocks += [table(("reading", "as built", "changed", "difference"), rows, right="lrrr")] if rows else []
    blocks.append(f"{'Other readings' if rows else 'Readings'} that are the same to three figures: {alike}.")
    moved = [*(("new", f) for f in report.new_findings), *(("gone", f) for f in report.gone_findings)]
    blocks += ["\n".join(f"{word}: {f.grade.value}: {f.what} [{f.rule}]" for word, f in moved)] if moved else []
    return "\n\n".join(blocks)


def _words(value: float | None, unit: str, aside: str) -> str:
    from lugwright.cli.readings import reading_words

    if value is None:
        return NEITHER
    return reading_words(0.0 if abs(value) < LEFT_OVER else value, unit) + (f" ({aside})" if aside else "")


def _signed(difference: float | None, unit: str) -> str:
    if difference is None:
        return NEITHER
    return ("+" if difference > 0 else "") + _words(difference, unit, "")
