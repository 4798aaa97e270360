"""The bench: job cards, ohms chart, power-up charts."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import groupby

from lugwright.bringup.results import JudgedReading, OhmsChart, Reading, Step
from lugwright.documents.book.blocks import (
    READ,
    Block,
    Box,
    Card,
    Column,
    Figure,
    Figures,
    Heading,
    Items,
    Paragraph,
    Section,
    Table,
    figure_size_mm,
    with_columns,
)
from lugwright.documents.book.chart_tables import ohms_table, step_table
from lugwright.documents.book.wiring_tables import leads_table
from lugwright.workorder.results import Job, WorkOrder

Taken = Mapping[tuple[str, str], JudgedReading]  # by key of the step, point
OHMS = "ohms"
ROW_MM, MOST_MM_WHOLE = 4.7, 225.0  # a card that is higher may break over pages
MOST_BESIDE_MM = 78.0  # a wider drawing does not leave its text room beside it
IN_ORDER = (
    "One card is one sitting. Its rows are done from the first to the last: put the lead in, cut and strip it as its "
    "line says, and solder where the row says so; a lug that waits stays open. Tick a box when it is so, not when it "
    "is meant to be so. Of two wires that cross, the one laid later goes over."
)
BENEATH = (
    "Where a piece has to go in beneath one that is there already, its card says under what: push a wire aside, slide "
    "a lead in under a body or a bus."
)
_DONE = tuple(Column(title, kind="tick") for title in ("lead in", "soldered", "checked"))


def job_pages(order: WorkOrder, drawings: Mapping[int, tuple[str, ...]]) -> Section:
    """Return the job cards in order, with their drawings by card number."""
    blocks: list[Block] = [Paragraph(IN_ORDER)]
    if order.broken_rules:
        blocks.append(Paragraph(BENEATH))
    blocks += [_card(job, drawings.get(job.number, ())) for job in order.jobs]
    return Section("jobs", "Job cards", tuple(blocks), hands_inside=True)


def _card(job: Job, drawings: tuple[str, ...]) -> Card:
    blocks: list[Block] = []
    if job.cautions:
        blocks.append(Box("danger", "Caution", tuple(("", words) for words in job.cautions)))
    figures = _figures(job, drawings)
    text = Items(job.text, ticked=not job.leads)
    beside = len(figures) == 1 and figure_size_mm(drawings[0])[0] <= MOST_BESIDE_MM
    if job.text and not beside:
        blocks.append(text)
    if figures:
        blocks.append(Figures(figures, text if beside else None))
    if job.leads:
        blocks.append(_leads(job))
    if job.covers:
        blocks.append(Paragraph(f"Look at it before it is covered: {', '.join(job.covers)}."))
    if job.notes:
        blocks.append(Items(job.notes))
    rows = len(job.leads) + 2 * len(job.text) + 2 * len(job.cautions) + len(job.notes)
    high = sum(figure_size_mm(svg)[1] for svg in drawings)
    return Card(job.number, job.phase, job.title, tuple(blocks), rows * ROW_MM + high <= MOST_MM_WHOLE)


def _figures(job: Job, drawings: tuple[str, ...]) -> tuple[Figure, ...]:
    return tuple(
        Figure(f"card-{job.number}-{k}", svg, f"card {job.number}, view {k} of {len(drawings)}",
               instead="The rows of the card say the same.")
        for k, svg in enumerate(drawings, start=1)
    )  # fmt: skip


def _leads(job: Job) -> Table:
    """Return the leads with boxes; no box to tick "soldered" where nothing is soldered yet."""
    table = with_columns(leads_table(job), *_DONE)
    soldered = next(k for k, column in enumerate(table.columns) if column.title == "soldered")
    rows = tuple(
        row if " now" in lead.solder else (*row[:soldered], "–", *row[soldered + 1 :])
        for row, lead in zip(table.rows, job.leads, strict=True)
    )
    return Table(table.columns, rows)


def before_mains_pages(steps: tuple[Step, ...], taken: Taken) -> Section:
    """Return the steps before the plug goes in, but for the ohms chart, which has pages of its own."""
    blocks: list[Block] = []
    for step in steps:
        if step.key != OHMS:
            blocks += _step(step, taken, first=not blocks)
    return Section("before-mains", "Before the plug goes in", tuple(blocks), hands_inside=True)


def ohms_pages(chart: OhmsChart, step: Step | None, taken: Taken) -> Section:
    """Return the ohms chart with a column to write in, section by section where it is a step."""
    blocks: list[Block] = [
        Box("stop", "Before the first reading", (
            ("", "Plug out of the wall, fuse in, power switch on, every filter capacitor measured below 60 V."),
            ("", "An ohmmeter on a charged capacitor is a dead ohmmeter, and its owner may be next."),
            *(("", words) for words in (step.stop_if if step else ())),
        )),
        Paragraph(f"Computed for {chart.meter}. Wait until the reading stands still."),
    ]  # fmt: skip
    if step is None:
        blocks.append(with_columns(ohms_table(chart.readings), READ))
    for name, readings in groupby(step.readings if step else (), key=lambda reading: reading.section):
        blocks += [Heading(name[:1].upper() + name[1:]), _ohms(step, tuple(readings), taken)]
    title = f"Ohms chart (step {step.number})" if step else "Ohms chart"
    return Section(OHMS, title, tuple(blocks), hands_inside=True)


def _ohms(step: Step | None, readings: tuple[Reading, ...], taken: Taken) -> Table:
    table = ohms_table(readings)
    found = [taken.get((step.key, reading.point)) if step else None for reading in readings]
    if any(found):
        table = Table(
            (*table.columns, Column("was", grow=2)),
            tuple(
                (*row, f"{was.shown} {was.verdict}" if was else "") for row, was in zip(table.rows, found, strict=True)
            ),
        )
    return with_columns(table, READ)


def power_up_pages(steps: tuple[Step, ...], taken: Taken) -> Section:
    """Return the steps of the first power-up with the plug in."""
    blocks: list[Block] = []
    for step in steps:
        blocks += _step(step, taken, first=not blocks)
    return Section("power-up", "Power-up charts", tuple(blocks), hands_inside=True)


def _step(step: Step, taken: Taken, *, first: bool) -> list[Block]:
    blocks: list[Block] = [Heading(f"Step {step.number}: {step.title}", new_page=not first)]
    blocks += [Paragraph(words) for words in mains_words(step)]
    if step.cautions:
        blocks.append(Box("danger", "Caution", tuple(("", words) for words in step.cautions)))
    if step.stop_if:
        title = "Stop and pull the plug if" if step.mains_a else "Go no further if"
        blocks.append(Box("stop", title, tuple(("", words) for words in step.stop_if)))
    if step.do:
        blocks.append(Items(step.do, ticked=True))
    if step.readings:
        blocks.append(with_columns(step_table(step, taken), READ))
    return blocks


def mains_words(step: Step) -> Iterator[str]:
    """Yield what lamp and mains should do."""
    if not step.mains_a:
        yield f"Mains: {step.mains}."
        return
    low, high = step.mains_window_a or (step.mains_a, step.mains_a)
    current = f"{step.mains_a:.2f} A, in good builds {low:.2f} to {high:.2f} A"
    yield f"Mains: {step.mains}. Current from the mains: {current}."
    if step.lamp:
        yield f"Limiter lamp: {step.lamp}."
    if step.instead:
        yield f"Variable transformer in place of the lamp: {' '.join(step.instead)}"
