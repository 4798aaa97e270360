"""The reference page says what the data files say."""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[3] / "tools"))

import tubes_page
from catalogue_page import PAGE, page


def test_reference_page_is_the_one_the_data_files_give() -> None:
    assert PAGE.read_text(encoding="utf-8") == page()


def test_reference_page_marks_what_is_from_memory() -> None:
    text = page()
    assert "| `plate_v` | 300 | Encyclopedia article 12AX7" in text
    assert "| `cathode_a` | 0.008 | Philips and Mullard sheet ECC83 (from memory) |" in text


def test_page_of_tube_laws_is_the_one_the_data_files_give() -> None:
    assert tubes_page.PAGE.read_text(encoding="utf-8") == tubes_page.page()


def test_page_of_tube_laws_lists_what_it_misses_and_what_is_disputed() -> None:
    text = tubes_page.page()
    assert "Promises no power: too few published rows: a low-current row is missing." in text
    kt88 = next(line for line in text.splitlines() if line.startswith("| KT88 |"))
    assert kt88.count("**") == 6  # three figures beyond a goal
    assert kt88.endswith("| no |")
    assert text.count("| disputed |") == 11
