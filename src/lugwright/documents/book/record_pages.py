"""The record: what the log of one copy holds, for whoever opens it in ten years."""

from __future__ import annotations

from collections.abc import Iterator

from lugwright.bringup.results import JudgedReading
from lugwright.documents.book.blocks import Block, Box, Cell, Column, Heading, Paragraph, Section, Table
from lugwright.documents.book.records import BenchRecord

MOST_READINGS = 800  # of a log with more, the rest is left to its export
_OUTSIDE = ("high", "low")


def record_pages(record: BenchRecord) -> Section:
    """Return jobs done, values as built, tubes, settings, readings, notes and photos, each with its day."""
    blocks: list[Block] = [Paragraph(_opening(record))]
    outside = [r for r in record.readings if r.verdict in _OUTSIDE]
    if outside:
        words = tuple((f"{r.point}, {r.title}:", f"{r.shown}, {r.off}; {r.window}.") for r in outside[:20])
        blocks.append(Box("stop", "Readings outside their window", words))
    for heading, table in (
        ("Jobs done", jobs_done_table(record)),
        ("Steps of the first power-up done", steps_done_table(record)),
        ("Measured as built", as_built_table(record)),
        ("Tubes fitted, controls set", fitted_table(record)),
    ):
        if table.rows:
            blocks += [Heading(heading), table]
    blocks += _readings(record)
    for heading, table in (("Notes", notes_table(record)), ("Photos", photos_table(record))):
        if table.rows:
            blocks += [Heading(heading), table]
    return Section("record", f"The record of copy {record.serial}", tuple(blocks))


def _opening(record: BenchRecord) -> str:
    count = "one entry" if record.entries == 1 else f"{record.entries} entries"
    words = (
        f"Taken from {record.file}: {count} of this copy, the first on {day(record.first)}, the last "
        f"on {day(record.last)}. What was taken back is left out. Times are UTC."
    )
    if record.cards_in_all:
        ticked = sum(job.number is not None for job in record.jobs)
        words += f" {ticked} of {record.cards_in_all} job cards are ticked off."
    if record.held:
        what = (
            "one measured value, tube or setting"
            if record.held == 1
            else (f"{record.held} measured values, tubes and settings")
        )
        words += (
            f" Volts, currents and windows in this book are computed with {what} of it; plan and parts list are not."
        )
    if record.other_copies:
        words += f" The log also holds {', '.join(record.other_copies)}: each has a record of its own."
    return words


def day(time: str) -> str:
    """Return the day of an entry."""
    return time[:10]


def minute(time: str) -> str:
    """Return day and minute of an entry."""
    return time[:16].replace("T", " ")


def jobs_done_table(record: BenchRecord) -> Table:
    """Return the job cards that are ticked off, in the order of the work."""
    columns = (Column("card", kind="number", digits=0), Column("job", grow=3), Column("phase", grow=1), Column("done"))
    rows = ((job.number, job.title, job.phase, minute(job.time)) for job in record.jobs)
    return Table(columns, tuple(rows))


def steps_done_table(record: BenchRecord) -> Table:
    """Return the steps of the first power-up that are ticked off, in their order."""
    columns = (
        Column("step", kind="number", digits=0),
        Column("title", grow=3),
        Column("mains", grow=1),
        Column("done"),
    )
    return Table(columns, tuple((s.number, s.title, s.mains, minute(s.time)) for s in record.steps))


def as_built_table(record: BenchRecord) -> Table:
    """Return every value that was measured in place of a stated one."""
    columns = (
        Column("what", grow=2), Column("measured"), Column("stated", grow=1), Column("on"),
        Column("not counted, because", grow=2),
    )  # fmt: skip
    return Table(columns, tuple((r.what, r.shown, r.stated, minute(r.time), r.unused) for r in record.as_built))


def fitted_table(record: BenchRecord) -> Table:
    """Return the tubes that stand in their sockets and where the controls stand."""
    columns = (Column("what", grow=1), Column("is", grow=3), Column("build file", grow=1), Column("since"))
    return Table(columns, tuple((r.what, r.shown, r.stated, minute(r.time)) for r in record.fitted))


def _readings(record: BenchRecord) -> Iterator[Block]:
    shown = record.readings[:MOST_READINGS]
    for title in dict.fromkeys(r.title for r in shown):
        yield Heading(f"Read at: {title}")
        yield readings_table([r for r in shown if r.title == title])
    if len(record.readings) > MOST_READINGS:
        yield Paragraph(
            f"{len(record.readings) - MOST_READINGS} more readings are in the log: lugwright log FILE --export."
        )


def readings_table(readings: list[JudgedReading], *, step: bool = False) -> Table:
    """Return readings with their windows; ``step`` names the step in each row, for one table of all."""
    columns = (
        *([Column("step", grow=2)] if step else []), Column("point", grow=3), Column("read"),
        Column("a good build reads"), Column("verdict"), Column("on"),
    )  # fmt: skip
    rows: list[tuple[Cell, ...]] = [
        (*([r.title] if step else []), r.point, r.shown, r.window, r.verdict, minute(r.time)) for r in readings
    ]
    return Table(columns, tuple(rows))


def notes_table(record: BenchRecord) -> Table:
    """Return what was written down in words."""
    columns = (Column("on"), Column("about"), Column("note", grow=5))
    return Table(columns, tuple((minute(time), about, text) for time, about, text in record.notes))


def photos_table(record: BenchRecord) -> Table:
    """Return the photos by name; they lie beside the build file."""
    columns = (Column("on"), Column("file", grow=2), Column("shows", grow=4))
    return Table(columns, tuple((minute(time), file, text) for time, file, text in record.photos))
