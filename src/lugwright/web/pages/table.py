"""The table of pages, in the order of the work."""

from __future__ import annotations

from lugwright.web.pages.page import Page

PAGES: tuple[Page, ...] = (
    Page("wiring", "Wiring side", asks=("wiring",), hands_in=True, short="Wiring"),
    Page("work", "Work", asks=("work", "log tail"), hands_in=True),
    Page("power-up", "Power-up", hands_in=True, short="Power"),
    Page("circuit", "Circuit", asks=("circuit drawings",)),
    Page("ratings", "Ratings", asks=("quick checks",), whole=("all checks",)),
    Page("parts", "Parts", asks=("parts",)),
    Page("book", "Book", asks=("books", "take away")),
)
