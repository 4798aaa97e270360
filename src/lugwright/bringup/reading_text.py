"""Readings in print: with every figure the display showed, and their windows."""

from __future__ import annotations

import math

from lugwright.quantities import with_unit

OVER_RANGE = "over range"
YES_FROM = 0.5  # the value of a sign: 1 is seen, 0 is not
_MOST_FIGURES = 6
_SYMBOL = {"ohm": "Ω", "V": "V", "A": "A", "F": "F", "": ""}


def shown_text(value: float, quantity: str, unit: str, *, digit: float = 0.0) -> str:
    """Return a value as it is printed: ``203 V dc``, ``98.20 kΩ``, ``over range``."""
    if math.isinf(value):
        return OVER_RANGE
    figures = 3
    if digit > 0.0 and value != 0.0:
        figures = math.floor(math.log10(abs(value)) + 1e-9) - math.floor(math.log10(digit) + 1e-9) + 1
    text = with_unit(value, _SYMBOL[unit], figures=min(max(figures, 1), _MOST_FIGURES)).strip()
    return f"{text} {quantity.partition(' V ')[2] or _kind(quantity)}".strip()


def said_yes(value: float) -> str:
    """Return the answer to whether a sign is there."""
    return "yes" if value >= YES_FROM else "no"


def window_text(low: float, high: float, unit: str) -> str:
    """Return a window: ``195 V to 212 V``, ``above 20.0 MΩ``."""
    least = with_unit(low, _SYMBOL[unit])
    return f"above {least}" if math.isinf(high) else f"{least} to {with_unit(high, _SYMBOL[unit])}"


def _kind(quantity: str) -> str:
    return quantity.removeprefix("V ") if quantity.startswith("V ") else ""
