"""Chances and doubts of tracing, in the words of a page."""

from __future__ import annotations

from lugwright.bringup.trace_results import TracedReading, Tracing

WRONG_FROM = 0.2  # chance from which a reading is said to be doubtful
# chance from which on -> in words
_WORDS = (
    (0.9, "almost certain"), (0.6, "very likely"), (0.3, "likely"), (0.1, "possible"), (0.02, "unlikely"),
)  # fmt: skip
_LEAST = "hardly"


def chance_words(chance: float) -> str:
    """Return a chance in words and in numbers: ``likely, 43 %``."""
    words = next((words for least, words in _WORDS if chance >= least), _LEAST)
    return f"{words}, {percent(chance)}"


def percent(chance: float) -> str:
    """Return a chance in percent, no surer than it is."""
    if chance > 0.99:
        return "over 99 %"
    return "under 1 %" if chance < 0.01 else f"{100.0 * chance:.0f} %"


def doubt_words(found: Tracing) -> list[tuple[TracedReading, str]]:
    """Return the readings that were perhaps taken wrongly, and how."""
    return [(each, _doubt(each)) for each in found.readings if each.wrong >= WRONG_FROM]


def _doubt(reading: TracedReading) -> str:
    head = f"perhaps taken wrongly ({percent(reading.wrong)})"
    if reading.slips:
        slip = reading.slips[0]
        return f"{head}; if so, most likely {slip.what}: {slip.do}"
    return f"{head}: read it again"
