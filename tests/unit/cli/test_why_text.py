"""How an answer to `plan --why` is printed."""

from __future__ import annotations

from lugwright.cli.why_text import why_text
from lugwright.layout.explain_results import Choice, Why


def test_sentences_then_a_table_of_other_places():
    answer = Why(
        "R3",
        ("R3 lies there.", "Without it the plan would cost 60 less."),
        ("strip A lug 2 is shared with R2.1.",),
        (Choice("strip A lug 3 and V1 pin 2", 28.6, "wires +24, lugs +6"), Choice("J1 tip", None, "too far")),
    )
    assert why_text(answer).splitlines() == [
        "R3",
        "R3 lies there. Without it the plan would cost 60 less.",
        "- strip A lug 2 is shared with R2.1.",
        "",
        "other place                 costs more  because",
        "--------------------------  ----------  ------------------",
        "strip A lug 3 and V1 pin 2          29  wires +24, lugs +6",
        "J1 tip                       cannot be  too far",
    ]


def test_without_other_places_there_is_no_table():
    assert why_text(Why("W1", ("W1 joins two.",), (), ())) == "W1\nW1 joins two."


def test_next_to_nothing_is_nothing():
    assert "  0  " in why_text(Why("W1", (), (), (Choice("there", -0.04, "costs the same"),)))
