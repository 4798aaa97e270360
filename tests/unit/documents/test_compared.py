"""Named figures laid beside those of a changed build."""

from __future__ import annotations

from lugwright.documents.compared import Quantity, moved_figures


def test_what_moves_is_told_in_its_own_order_and_counted() -> None:
    before = [Quantity("a", 1.0, "V"), Quantity("b", 2.0, "V"), Quantity("c", None, "W"), Quantity("d", 5.0, "")]
    after = [Quantity("a", 1.5, "V"), Quantity("b", 2.0, "V"), Quantity("c", 3.0, "W"), Quantity("d", 5.05, "")]
    rows, count = moved_figures(before, after, most=2)
    assert [(row.name, row.was, row.now) for row in rows] == [("a", "1.00 V", "1.50 V"), ("c", "–", "3.00 W")]
    assert count == 3


def test_figures_out_of_the_meters_range_have_words() -> None:
    rows, _ = moved_figures(
        [Quantity("r", 1e3, "ohm"), Quantity("p", 50.0, "°")], [Quantity("r", float("inf"), "ohm")], most=9
    )
    assert [(row.was, row.now) for row in rows] == [("1.00 kΩ", "over range"), ("50 °", "–")]
