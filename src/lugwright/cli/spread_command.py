"""``lugwright spread``: how far every reading and rating moves with real parts."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from lugwright.cli.printing import at_work, table
from lugwright.cli.session import build_file, certified, emit, json_option, leave, opened_build, set_option, writing
from lugwright.cli.what_if import only_as_built, show_what_if
from lugwright.documents.compared import Quantity, spread_figures
from lugwright.quantities import with_unit

if TYPE_CHECKING:
    from collections.abc import Iterator

    from lugwright.bringup.results import Corner, Spread, SpreadRow
    from lugwright.workflow import Opened


@click.command()
@build_file
@click.option("--draws", type=click.IntRange(20, 100_000), default=1000, show_default=True, help="Builds drawn.")
@click.option("--seed", type=click.IntRange(0), default=1, show_default=True, help="The same seed, the same builds.")
@click.option("--only", metavar="WORDS", help="Only readings whose name has these words: V5, plate heat, B+.")
@click.option("--chart", type=click.Path(path_type=Path), metavar="FILE", help="Draw the bars into an SVG file.")
@click.option("--cluster", metavar="ADDRESS", help="Solve on the machines of this dask scheduler.")
@set_option
@json_option
def command(
    build_file: Path, draws: int, seed: int, only: str | None, chart: Path | None, cluster: str | None,
    changes: tuple[str, ...], as_json: bool,
) -> None:  # fmt: skip
    """Draw good builds within their tolerances: percentiles, what moves each reading, worst corners."""
    from lugwright.cli.reports import SpreadReport

    def found(opened: Opened) -> Spread:
        from lugwright.workflow import spread_of_builds

        certified(opened.idle)
        return spread_of_builds(opened, draws=draws, seed=seed, cluster=cluster)

    if changes:
        only_as_built(chart=chart)
        show_what_if(build_file, changes, lambda o: quantities(found(o), only), doing="drawing builds", as_json=as_json)
    opened = opened_build(build_file)
    with at_work(f"drawing {draws} builds"):
        answer = found(opened)
    if only and not _wanted(answer.rows, only):
        raise click.BadParameter(f"no reading is called {only!r}", param_hint="--only")
    if chart is not None:
        from lugwright.documents.drawings.spread_chart import spread_chart_svg
        from lugwright.workflow import write_drawing

        with writing():
            write_drawing(chart, spread_chart_svg(answer, _wanted(answer.rows, only) if only else ()))
    report = SpreadReport(opened.written.title, tuple(opened.findings), answer)
    emit(report, as_json=as_json, text=lambda: spread_text(opened.written.title, answer, only))
    leave(opened.findings)


def quantities(answer: Spread, only: str | None) -> Iterator[Quantity]:
    """Return the ends of every reading."""
    return spread_figures(_wanted(answer.rows, only))


def _wanted(rows: tuple[SpreadRow, ...], only: str | None) -> tuple[SpreadRow, ...]:
    return tuple(row for row in rows if only is None or only.casefold() in row.reading.casefold())


def spread_text(title: str, answer: Spread, only: str | None = None) -> str:
    """Return the spread as plain tables."""
    head = f"{title}: {answer.draws} good builds, seed {answer.seed}. Not drawn: {'; '.join(answer.left_out)}."
    shown = _wanted(answer.rows, only)
    corners = tuple(c for c in answer.corners if only is None or only.casefold() in c.reading.casefold())
    return "\n\n".join(filter(None, (head, _rows(shown), _movers(shown), _corners(corners), _chances(answer))))


def _rows(rows: tuple[SpreadRow, ...]) -> str:
    def value(number: float, unit: str) -> str:
        return with_unit(number, unit, figures=4)

    titles = ("reading", "as drawn", "0.5 %", "5 %", "half", "95 %", "99.5 %")
    lines = (
        (row.reading, *(value(x, row.unit) for x in (row.expected, row.lowest, row.low, row.middle, row.high,
                                                     row.highest)))
        for row in rows
    )  # fmt: skip
    return "This share of the builds reads less:\n" + table(titles, lines, right="lrrrrrr")


def _movers(rows: tuple[SpreadRow, ...]) -> str:
    lines = (
        (
            row.reading,
            ", ".join(
                f"{m.part} +{m.extent:.0%}: {_signed(m.moves, row.unit)} ({m.share:.0%})" for m in row.movers[:3]
            ),
        )
        for row in rows
    )
    return "What moves each most, with its share of the variance:\n" + table(("reading", "movers"), lines, right="ll")


def _signed(value: float, unit: str) -> str:
    return f"{'+' if value >= 0 else ''}{with_unit(value, unit)}"


def _corners(corners: tuple[Corner, ...]) -> str:
    if not corners:
        return ""
    lines = (
        (c.reading, with_unit(c.lowest, c.unit), ", ".join(c.lowest_with), with_unit(c.highest, c.unit),
         ", ".join(c.highest_with))
        for c in corners
    )  # fmt: skip
    titles = ("reading", "lowest", "with, most of all", "highest", "with, most of all")
    return "Every part at its worse end:\n" + table(titles, lines, right="lrlrl")


def _chances(answer: Spread) -> str:
    if not answer.chances:
        return f"No rating is exceeded by any of {answer.rated_draws} builds at the mains as stated."
    lines = (
        (c.part, c.what, with_unit(c.limit, c.unit), with_unit(c.expected, c.unit), with_unit(c.worst, c.unit),
         f"{c.chance:.1%}")
        for c in answer.chances
    )  # fmt: skip
    titles = ("part", "rating", "limit", "as drawn", "worst", "builds beyond")
    return f"Ratings exceeded by some of {answer.rated_draws} builds at the mains as stated:\n" + table(
        titles, lines, right="llrrrr"
    )
