"""The book says how good its plan is."""

from __future__ import annotations

from lugwright.documents.book.blocks import Heading, Paragraph, Table
from lugwright.documents.book.explain_pages import explain_pages
from lugwright.documents.book.records import BookRecords
from lugwright.layout.explain_results import LugCount, TermShare, WorstPlace

from .sample_records import sample

WORST = WorstPlace("busy-lug", "busiest terminal", "strip A lug 4: R3.1, W5", "4 leads", "at most 3 leads", met=False)
TERM = TermShare("wires", 300.4, 0.75, {"wires": 2.0}, "1 a mm", "wire picks up hum")


def test_worst_places_lugs_and_terms_are_printed():
    records = BookRecords(sample().build, plan_terms=(TERM,), lug_count=LugCount(20, 5, 2, 9), worst_places=(WORST,))
    section = explain_pages(records)
    assert section.title == "How good the plan is"
    assert section.hands_inside
    worst, terms = (block for block in section.blocks if isinstance(block, Table))
    assert worst.rows == (("busiest terminal", "strip A lug 4: R3.1, W5", "4 leads", "at most 3 leads", "no"),)
    assert terms.rows == (("wires", 300.4, 75.0, "1 a mm; wires times 2", "wire picks up hum"),)
    words = [block.text for block in section.blocks if isinstance(block, Paragraph | Heading)]
    assert words[1:] == [
        "Lugs",
        "20 lugs are used and 5 are left for repairs and changes; 2 were wanted. "
        "No plan of this build does with fewer than 9 lugs and free pins.",
        "What the plan costs",
        "300 in all, counted in millimeters of ordinary wire; the planner looks for the least.",
    ]


def test_without_records_there_is_no_page():
    assert explain_pages(BookRecords(sample().build)).blocks == ()
