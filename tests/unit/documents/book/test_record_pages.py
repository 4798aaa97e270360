from __future__ import annotations

import io
from dataclasses import replace
from itertools import pairwise

import pytest
from pypdf import PdfReader

from lugwright.documents.book.blocks import Box, Heading, Paragraph, Table
from lugwright.documents.book.content import book_content
from lugwright.documents.book.html import html_text
from lugwright.documents.book.pdf import pdf_bytes
from lugwright.documents.book.record_pages import MOST_READINGS, record_pages
from lugwright.documents.book.records import BenchRecord
from lugwright.documents.tables import all_tables

from .sample_idle import MEASURED, RECORD, SETTING, judged
from .sample_records import sample


def tables(record: BenchRecord) -> dict[str, Table]:
    """Return each table under its heading."""
    blocks = record_pages(record).blocks
    return {one.text: two for one, two in pairwise(blocks) if isinstance(one, Heading) and isinstance(two, Table)}


def test_the_record_says_how_much_of_it_the_figures_hold() -> None:
    for held, words in ((1, "one measured value, tube or setting"), (9, "9 measured values, tubes and settings")):
        opening = record_pages(replace(RECORD, held=held)).blocks[0]
        assert isinstance(opening, Paragraph)
        told = (
            f" Volts, currents and windows in this book are computed with {words} of it; plan and parts list are not."
        )
        assert told in opening.text


def test_a_record_holds_jobs_values_tubes_readings_notes_and_photos_with_their_days() -> None:
    found = tables(RECORD)
    assert list(found) == [
        "Jobs done", "Steps of the first power-up done", "Measured as built", "Tubes fitted, controls set",
        "Read at: step 7: Every tube out (full mains)", "Read at: step 15: Idle set (full mains)", "Notes", "Photos",
    ]  # fmt: skip
    assert found["Jobs done"].rows == (
        (1, "Drill, punch, deburr", "metalwork", "2026-11-20 19:00"),
        (None, "A card of an earlier plan", "wiring", "2026-11-21 19:00"),
    )
    assert found["Steps of the first power-up done"].rows == ((1, "Look it over", "plug out", "2026-11-25 19:00"),)
    assert found["Measured as built"].rows == (("R3", "98.7 kΩ", "100 kΩ 1 W", "2026-11-22 10:00", ""),)
    assert found["Tubes fitted, controls set"].rows[0] == ("V3 tube", "6V6GT #12", "6V6GT", "2026-11-23 10:00")
    assert found["Read at: step 15: Idle set (full mains)"].rows == (
        ("V3 pin 8 (cathode) to ground", "82.1 mV dc", "20.0 mV to 70.0 mV", "high", "2026-11-26 01:05"),
    )
    assert found["Notes"].rows == (("2026-11-24 10:00", "", "Hums a little when cold"),)
    assert found["Photos"].rows == (("2026-11-24 11:00", "heaters.jpg", "heater chain before the bus"),)


def test_it_says_whose_record_it_is_and_how_far_the_work_is() -> None:
    section = record_pages(RECORD)
    assert section.title == "The record of copy 2"
    assert section.blocks[0] == Paragraph(
        "Taken from dense.log.sqlite: 17 entries of this copy, the first on 2026-11-20, the last on 2026-11-26. What "
        "was taken back is left out. Times are UTC. 1 of 12 job cards are ticked off. The log also holds copy 1: each "
        "has a record of its own."
    )


def test_readings_outside_their_window_stand_in_front() -> None:
    assert record_pages(RECORD).blocks[1] == Box(
        "stop", "Readings outside their window",
        (
            ("V3 pin 8 (cathode) to ground, step 15: Idle set (full mains):",
             "82.1 mV dc, too high; 20.0 mV to 70.0 mV."),
        ),
    )  # fmt: skip
    fine = replace(RECORD, readings=RECORD.readings[:1])
    assert not any(isinstance(block, Box) for block in record_pages(fine).blocks)


def test_what_the_log_has_nothing_of_is_left_out() -> None:
    bare = BenchRecord("1", "a.log.sqlite", 1, "2026-11-20T19:00:00.000000Z", "2026-11-20T19:00:00.000000Z")
    assert record_pages(bare).blocks == (
        Paragraph(
            "Taken from a.log.sqlite: one entry of this copy, the first on 2026-11-20, the last on 2026-11-20. What "
            "was taken back is left out. Times are UTC."
        ),
    )


def test_of_very_many_readings_the_book_holds_the_first() -> None:
    many = replace(RECORD, readings=tuple(judged(f"point {n}", "1 V dc", "ok") for n in range(MOST_READINGS + 7)))
    blocks = record_pages(many).blocks
    assert Paragraph("7 more readings are in the log: lugwright log FILE --export.") in blocks
    (table,) = (block for block in blocks if isinstance(block, Table) and block.columns[0].title == "point")
    assert len(table.rows) == MOST_READINGS


def test_the_record_stands_before_the_pages_for_handwriting_and_only_with_a_log() -> None:
    titles = [section.title for section in book_content(replace(sample(), record=RECORD), "A4").sections]
    assert titles[titles.index("Log") - 1] == "The record of copy 2"
    assert "record" not in {section.key for section in book_content(sample(), "A4").sections}


def test_every_table_of_the_record_and_of_the_idle_has_its_file() -> None:
    whole = replace(sample(), record=RECORD, idle_setting=SETTING, idle_measured=MEASURED)
    more = set(all_tables(whole)) - set(all_tables(sample()))
    assert more == {
        "bias_reach.csv", "bias_turns.csv", "idle_measured.csv", "record_as_built.csv", "record_fitted.csv",
        "record_jobs.csv", "record_notes.csv", "record_photos.csv", "record_readings.csv", "record_steps.csv",
    }  # fmt: skip
    assert all_tables(whole)["record_readings.csv"].splitlines()[2] == (
        "step 15: Idle set (full mains),V3 pin 8 (cathode) to ground,82.1 mV dc,20.0 mV to 70.0 mV,high,2026-11-26 "
        "01:05"
    )


ODD = ("2026-11-24T10:00:00.000000Z", "V1", "<b>5 < 6 & #hash *star* $x$ _u_ \\\\</b>")


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_record_and_measured_idle_are_set_on_paper(paper: str) -> None:
    whole = replace(sample(), record=replace(RECORD, notes=(ODD,)), idle_setting=SETTING, idle_measured=MEASURED)
    pages = PdfReader(io.BytesIO(pdf_bytes(book_content(whole, paper), paper))).pages
    text = "\n".join(page.extract_text() for page in pages)
    for words in (
        "The record of copy 2", "A card of an earlier plan", "Readings outside their window", "heaters.jpg",
        "As measured, 2026-11-26 01:05 UTC", "Where a shortcut misleads", "#hash *star* $x$",
    ):  # fmt: skip
        assert words in text, words


def test_words_of_the_builder_come_out_as_they_were_written() -> None:
    note = ODD
    text = html_text(book_content(replace(sample(), record=replace(RECORD, notes=(note,))), "A4"))
    assert "&lt;b&gt;5 &lt; 6 &amp; #hash *star* $x$ _u_" in text
