"""Component values against the marking code and the preferred-number series."""

from __future__ import annotations

from typing import Any

import pytest

from lugwright.quantities import E24, component_value, nearest_preferred

E6 = (1.0, 1.5, 2.2, 3.3, 4.7, 6.8)
E12 = (1.0, 1.2, 1.5, 1.8, 2.2, 2.7, 3.3, 3.9, 4.7, 5.6, 6.8, 8.2)


def test_every_listed_code_reads_as_its_value(rows: list[dict[str, str]], tolerance: dict[str, Any]) -> None:
    assert len(rows) == 30
    for row in rows:
        value = component_value(row["code"], row["kind"])  # type: ignore[arg-type]
        assert value.base == pytest.approx(float(row["base"]), rel=tolerance["value"])
        stated = float(row["tolerance_percent"]) if row["tolerance_percent"] else None
        assert value.tolerance_percent == stated


@pytest.mark.parametrize(("series", "numbers"), [(6, E6), (12, E12), (24, E24)])
def test_preferred_numbers_of_each_series_are_their_own_nearest(series: int, numbers: tuple[float, ...]) -> None:
    assert len(numbers) == series
    for decade in (1.0, 1e3, 1e-9):
        for number in numbers:
            assert nearest_preferred(number * decade, series=series) == pytest.approx(number * decade, rel=1e-9)


def test_e24_steps_lie_near_the_24th_root_of_ten() -> None:
    for low, high in zip(E24, (*E24[1:], 10.0), strict=True):
        assert high / low == pytest.approx(10 ** (1 / 24), rel=0.05)


@pytest.mark.parametrize(("series", "within"), [(6, 0.20), (12, 0.10), (24, 0.05)])
def test_any_value_lies_within_the_series_tolerance_of_its_nearest_number(series: int, within: float) -> None:
    for step in range(200):
        value = 10 ** (step / 200)
        nearest = nearest_preferred(value, series=series)
        assert abs(value / nearest - 1) <= within + 0.035  # series numbers are rounded to two figures
