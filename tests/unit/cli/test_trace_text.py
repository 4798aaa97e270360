"""What tracing doubts is told with how it came about."""

from __future__ import annotations

from dataclasses import replace

from lugwright.bringup.trace_results import SlipWords, TracedReading, Tracing
from lugwright.cli.trace_text import tracing_text

GOOD = TracedReading("all tubes", "V1 pin 1 to ground", "V dc", 161.0, "161 V", 0.01)
SLIP = SlipWords("tip on V1.7", 0.7, "the tip was on V1 pin 7 instead of V1 pin 8", "read it again")
DOUBTED = TracedReading("all tubes", "V1 pin 8 to ground", "V dc", 0.0, "0 V", 0.8, (SLIP,))
FOUND = Tracing("open", "Not clear yet.", "", 0.6, 0.1, (), (), (), (GOOD, DOUBTED), 0, (), 600)


def test_a_doubted_reading_says_how_it_was_perhaps_taken() -> None:
    assert tracing_text(FOUND).splitlines()[:5] == [
        "Readings weighed: 2",
        "  1  all tubes: V1 pin 1 to ground 161 V",
        "  2  all tubes: V1 pin 8 to ground 0 V",
        "       perhaps taken wrongly (80 %); if so, most likely the tip was on V1 pin 7 instead of V1 pin 8: read it",
        "           again",
    ]


def test_a_doubted_reading_without_a_known_way() -> None:
    found = replace(FOUND, readings=(replace(DOUBTED, slips=()),))
    assert "       perhaps taken wrongly (80 %): read it again\n" in tracing_text(found)


def test_where_readings_are_not_listed_the_doubted_ones_still_are() -> None:
    lines = tracing_text(FOUND, readings=False).splitlines()
    assert lines[0] == "Reading 2, all tubes: V1 pin 8 to ground 0 V"
    assert lines[1].startswith("       perhaps taken wrongly (80 %)")
    assert not any("pin 1 to" in line for line in lines)
