"""What is in the book, in order; what there is no record of is left out."""

from __future__ import annotations

from collections.abc import Iterator

from lugwright.documents.book.bench_pages import OHMS, before_mains_pages, job_pages, ohms_pages, power_up_pages
from lugwright.documents.book.blocks import Content, Section
from lugwright.documents.book.circuit_pages import (
    certified,
    idle_pages,
    part_pages,
    rating_pages,
    stage_pages,
    tube_pages,
)
from lugwright.documents.book.explain_pages import explain_pages
from lugwright.documents.book.front_pages import caution_box, how_to_use, log_pages, subtitle, unconfirmed_pages
from lugwright.documents.book.idle_setting_pages import idle_setting_pages
from lugwright.documents.book.metal_pages import cut_pages, detail_pages, drill_pages, wire_pages, wiring_pages
from lugwright.documents.book.plate_pages import plate_pages
from lugwright.documents.book.power_pages import power_pages
from lugwright.documents.book.record_pages import record_pages
from lugwright.documents.book.records import BookRecords
from lugwright.documents.book.response_pages import response_pages
from lugwright.documents.book.spread_pages import spread_pages
from lugwright.documents.book.start_pages import start_pages
from lugwright.documents.cautions import BEFORE_HANDS_GO_IN
from lugwright.errors import DocumentError

PAPERS = ("A4", "Letter")


def book_content(records: BookRecords, paper: str) -> Content:
    """Return the book of a build for a paper, A4 or Letter."""
    if paper not in PAPERS:
        raise DocumentError(
            what="no such paper",
            found=repr(paper),
            wanted=" or ".join(PAPERS),
            do="choose one of these",
        )
    sections = tuple(section for section in _sections(records, paper) if section.blocks)
    build = records.build
    return Content(build.title, subtitle(build), paper, caution_box(), sections, BEFORE_HANDS_GO_IN)


def _sections(records: BookRecords, paper: str) -> Iterator[Section]:
    yield how_to_use()
    yield from _circuit(records)
    yield drill_pages(records, paper)
    yield wiring_pages(records, paper)
    yield from _bench(records)
    if records.record is not None:
        yield record_pages(records.record)
    yield log_pages(records.build)
    if records.unconfirmed:
        yield unconfirmed_pages(records)


def _circuit(records: BookRecords) -> Iterator[Section]:
    build, idle = records.build, records.idle
    if idle is not None:
        certified(idle)
    yield stage_pages(records)
    if idle is not None:
        yield idle_pages(build, idle, records.mains_rows)
        if idle.tubes:
            yield tube_pages(build, idle)
        yield plate_pages(records.plate_charts)
    if records.response is not None:
        yield response_pages(records.response)
    if records.start is not None:
        yield start_pages(records.start, records.filter_rows)
    if records.power is not None:
        yield power_pages(records.power, records.driven_ratings)
    yield rating_pages(records.ratings, records.findings)
    yield part_pages(build)


def _bench(records: BookRecords) -> Iterator[Section]:
    plan, order = records.plan, records.work_order
    if plan is not None:
        yield detail_pages(records, plan)
        yield wire_pages(records.build, plan, records.heaters, order)
        yield explain_pages(records)
    if order is not None:
        yield cut_pages(order)
        yield job_pages(order, records.card_drawings)
    yield before_mains_pages(records.before_mains, records.taken)
    if records.ohms_chart is not None:
        ohms = next((step for step in records.before_mains if step.key == OHMS), None)
        yield ohms_pages(records.ohms_chart, ohms, records.taken)
    yield power_up_pages(records.steps, records.taken)
    if records.idle_setting is not None:
        yield idle_setting_pages(records.idle_setting, records.idle_measured)
    if records.spread is not None:
        yield spread_pages(records.spread)
