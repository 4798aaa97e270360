"""The color bands of a resistor, so that the right one is picked from the tray."""

from __future__ import annotations

from decimal import Decimal

_DIGIT = ("black", "brown", "red", "orange", "yellow", "green", "blue", "violet", "gray", "white")
_MULTIPLIER = {-2: "silver", -1: "gold", **dict(enumerate(_DIGIT))}
_TOLERANCE = {
    0.001: "violet", 0.0025: "blue", 0.005: "green", 0.01: "brown", 0.02: "red", 0.05: "gold", 0.1: "silver",
}  # fmt: skip


def color_bands(*, resistance_ohm: float, tolerance: float) -> tuple[str, ...]:
    """Return the bands from the end on: four for 5 % and wider, five for closer ones; empty if there are none.

    Parameters
    ----------
    resistance_ohm : float
        The value printed. [ohm]
    tolerance : float
        Relative. [-]

    Returns
    -------
    tuple of str
        Color names, tolerance last.

    Source
    ------
    IEC 60062 color code, from memory.

    Examples
    --------
    >>> color_bands(resistance_ohm=100e3, tolerance=0.05)
    ('brown', 'black', 'yellow', 'gold')
    >>> color_bands(resistance_ohm=1500.0, tolerance=0.01)
    ('brown', 'green', 'black', 'brown', 'brown')
    """
    last = _TOLERANCE.get(round(tolerance, 6))
    if resistance_ohm <= 0.0 or last is None:
        return ()
    figures = 2 if tolerance >= 0.05 else 3
    number = Decimal(repr(resistance_ohm))
    exponent = number.adjusted() - figures + 1
    digits = number.scaleb(-exponent)
    if digits != digits.to_integral_value() or exponent not in _MULTIPLIER:
        return ()
    return (*(_DIGIT[int(d)] for d in str(int(digits))), _MULTIPLIER[exponent], last)
