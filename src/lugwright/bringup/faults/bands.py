"""What a resistor becomes when one of its color bands is taken for another."""

from __future__ import annotations

from lugwright.buildfile.color_bands import color_bands

# Pairs that are told apart badly under a warm lamp; from memory of benches, not counted.
CONFUSED = (
    ("brown", "red"), ("red", "orange"), ("orange", "yellow"), ("blue", "violet"), ("gray", "white"),
    ("black", "brown"),
)  # fmt: skip
DIGIT = ("black", "brown", "red", "orange", "yellow", "green", "blue", "violet", "gray", "white")
# The values of the rows of 12 and 24 in a decade (IEC 60063, from memory): others are in nobody's drawer.
DRAWER = (
    1.0, 1.1, 1.2, 1.3, 1.5, 1.6, 1.8, 2.0, 2.2, 2.4, 2.7, 3.0,
    3.3, 3.6, 3.9, 4.3, 4.7, 5.1, 5.6, 6.2, 6.8, 7.5, 8.2, 9.1,
)  # fmt: skip
SAME = 1e-6


def misread_ohms(*, resistance_ohm: float, tolerance: float) -> tuple[float, ...]:
    """Return the resistances that one misread band makes of a resistor, as far as such resistors are sold.

    Parameters
    ----------
    resistance_ohm : float
        What is planned. [ohm]
    tolerance : float
        Relative; it says how many bands there are. [-]

    Returns
    -------
    tuple of float
        The multiplier band first, so the decades come first; none where there are no bands. [ohm]

    Source
    ------
    IEC 60062 color code and IEC 60063 preferred values, both from memory.

    Examples
    --------
    >>> misread_ohms(resistance_ohm=1500.0, tolerance=0.05)
    (150.0, 15000.0)
    """
    bands = color_bands(resistance_ohm=resistance_ohm, tolerance=tolerance)
    if not bands:
        return ()
    *figures, multiplier = bands[:-1]
    found = []
    for other in _others(multiplier):
        found.append(_ohm([DIGIT.index(b) for b in figures], DIGIT.index(other)))
    for place in reversed(range(len(figures))):
        if multiplier not in DIGIT:
            break
        for other in _others(figures[place]):
            digits = [DIGIT.index(other if k == place else b) for k, b in enumerate(figures)]
            if digits[0]:
                found.append(_ohm(digits, DIGIT.index(multiplier)))
    return tuple(ohm for ohm in dict.fromkeys(found) if _sold(ohm))


def _others(band: str) -> list[str]:
    return [b if a == band else a for a, b in CONFUSED if band in (a, b)]


def _ohm(digits: list[int], exponent: int) -> float:
    return float(f"{''.join(map(str, digits))}e{exponent}")


def _sold(ohm: float) -> bool:
    if not 1.0 <= ohm <= 22e6:
        return False
    head = ohm
    while head >= 10.0 - SAME:
        head /= 10.0
    return any(abs(head / value - 1.0) < SAME for value in DRAWER)
