"""Component values: RKM code (IEC 60062) and engineering form in, plain text with unit out.

Strict: a text that is not understood as a whole is an error, never a guess.
"""

from __future__ import annotations

import math
import re
from decimal import Decimal
from typing import Literal, NamedTuple

from lugwright.errors import ValueSyntaxError

Kind = Literal["ohm", "farad", "henry"]

_PREFIX = {"p": -12, "n": -9, "u": -6, "m": -3, "": 0, "k": 3, "M": 6, "G": 9}
_UNIT: dict[Kind, tuple[str, ...]] = {"ohm": ("Ω", "ohm", "ohms", "R"), "farad": ("F",), "henry": ("H",)}
_EXAMPLE: dict[Kind, str] = {"ohm": "4k7", "farad": "22n", "henry": "10H"}
_NAME: dict[Kind, str] = {"ohm": "resistance", "farad": "capacitance", "henry": "inductance"}
_RANGE: dict[Kind, tuple[Decimal, Decimal]] = {
    "ohm": (Decimal("1e-3"), Decimal("1e9")),
    "farad": (Decimal("1e-13"), Decimal("1")),
    "henry": (Decimal("1e-9"), Decimal("1e4")),
}
# IEC 60062 tolerance letters, percent (from memory).
_TOLERANCE = {"B": 0.1, "C": 0.25, "D": 0.5, "F": 1.0, "G": 2.0, "J": 5.0, "K": 10.0, "M": 20.0}
_RKM = re.compile(r"(\d*)([pnumkKMGRLFH])(\d*)([BCDFGJKM]?)", re.ASCII)
_PLAIN = re.compile(r"(\d+(?:\.\d+)?) ?([pnumkMG]?) ?(Ω|ohms|ohm|R|F|H)?", re.ASCII)
_MAX_LENGTH = 40


class Value(NamedTuple):
    """A component value in base units, and its tolerance in percent where the text states one."""

    base: float
    tolerance_percent: float | None


def component_value(text: str, kind: Kind) -> Value:
    """Return the value a text such as ``4k7`` or ``22 nF`` states.

    Parameters
    ----------
    text : str
        The value as a person writes it.
    kind : {"ohm", "farad", "henry"}
        What is being written.

    Returns
    -------
    Value
        Base units (ohm, farad, henry) and the tolerance letter's percent or None.

    Raises
    ------
    ValueSyntaxError
        The text as a whole is not such a value, or lies outside any real part's range.

    Source
    ------
    IEC 60062:2016 (RKM code), read as described in an encyclopedia article; the
    standard itself was not read. Tolerance letters from memory.

    Examples
    --------
    >>> component_value("4k7", "ohm").base
    4700.0
    >>> component_value("2M2J", "ohm")
    Value(base=2200000.0, tolerance_percent=5.0)
    """
    plain = text.strip().replace("\u00b5", "u").replace("\u03bc", "u").replace("\u2126", "Ω")
    found = None if len(plain) > _MAX_LENGTH else _rkm_code(plain, kind) or _plain_form(plain, kind)
    if found is None:
        comma = " (a point or the letter form, not a comma)" if "," in plain else ""
        raise ValueSyntaxError(
            what=f"not a {_NAME[kind]}",
            found=repr(text[: _MAX_LENGTH + 10]),
            wanted=f'a {_NAME[kind]} such as "{_EXAMPLE[kind]}"{comma}',
            do="write digits and one letter (RKM code), or digits, prefix and unit",
        )
    base, tolerance = found
    low, high = _RANGE[kind]
    if base != 0 and not low <= base <= high:
        raise ValueSyntaxError(
            what=f"{_NAME[kind]} outside any real part",
            found=f"{text!r} is {float(base):g} {kind}",
            wanted=f"{float(low):g} to {float(high):g} {kind}",
            do="check the letter: p n u m are small, k M G are large",
        )
    return Value(float(base), tolerance)


def _rkm_code(text: str, kind: Kind) -> tuple[Decimal, float | None] | None:
    match = _RKM.fullmatch(text)
    if not match or not (match[1] or match[3]):
        return None
    letter = match[2]
    if kind == "ohm":
        exponent = {"L": -3, "R": 0, "k": 3, "K": 3, "M": 6, "G": 9}.get(letter)
    else:
        exponent = {"p": -12, "n": -9, "u": -6, "m": -3, _UNIT[kind][0]: 0}.get(letter)
    if exponent is None or (match[4] == "F" and kind == "henry"):
        return None
    # In 47uF the F is the unit, not 1 %.
    tolerance = None if match[4] == "F" and kind == "farad" else _TOLERANCE.get(match[4])
    return Decimal(f"{match[1] or 0}.{match[3] or 0}").scaleb(exponent), tolerance


def _plain_form(text: str, kind: Kind) -> tuple[Decimal, float | None] | None:
    match = _PLAIN.fullmatch(text)
    if not match or (match[3] and match[3] not in _UNIT[kind]):
        return None
    if kind != "ohm" and not match[2] and not match[3]:
        return None  # "47" for a capacitor: of what?
    if kind == "ohm" and match[2] in ("p", "n", "u", "m"):
        return None  # "10m" for a resistor is nearly always a slip for 10M
    return Decimal(match[1]).scaleb(_PREFIX[match[2]]), None


def rkm(value: float, kind: Kind) -> str:
    """Return the shortest RKM form of a value, at most four figures.

    Parameters
    ----------
    value : float
        In base units. [ohm, F, H]
    kind : {"ohm", "farad", "henry"}
        What the value is.

    Returns
    -------
    str
        For example ``4k7``, ``R47``, ``22n``. [-]

    Source
    ------
    IEC 60062 (RKM code), as in `component_value`.

    Examples
    --------
    >>> rkm(4700, "ohm"), rkm(0.47, "ohm"), rkm(22e-9, "farad")
    ('4k7', 'R47', '22n')
    """
    unit = _UNIT[kind][0]
    names = {0: "R", 3: "k", 6: "M", 9: "G"} if kind == "ohm" else {-12: "p", -9: "n", -6: "u", -3: "m", 0: unit}
    if value == 0:
        return "0" + names[0]
    exact = Decimal(f"{value:.4g}")
    exponent = max((e for e in names if exact.scaleb(-e) >= 1), default=min(names))
    whole, _, fraction = f"{exact.scaleb(-exponent).normalize():f}".partition(".")
    return f"{'' if whole == '0' else whole}{names[exponent]}{fraction}"


# Less than this no meter at a bench shows, and a computed one is what rounding left over.
_NOTHING = {"V": 1e-9, "A": 1e-12, "W": 1e-9}


def with_unit(value: float, unit: str, *, figures: int = 3) -> str:
    """Return a value with its prefix and unit, rounded to some significant figures.

    Parameters
    ----------
    value : float
        In the base unit. [unit]
    unit : str
        ``V``, ``A``, ``W``, ``Ω``, ``F``, ``H``, ``Hz``, ``s``. [-]
    figures : int
        Significant figures shown. [-]

    Returns
    -------
    str
        Below a nanovolt, a nanowatt or a picoampere zero. For example ``4.70 kΩ``, ``423 V``, ``48.2 mA``. [-]

    Source
    ------
    SI prefixes.

    Examples
    --------
    >>> with_unit(0.0482, "A"), with_unit(423.4, "V"), with_unit(4700.0, "Ω")
    ('48.2 mA', '423 V', '4.70 kΩ')
    """
    if not math.isfinite(value):
        return f"∞ {unit}" if value > 0 else "-"
    if abs(value) < _NOTHING.get(unit, 0.0) or value == 0:
        return f"0 {unit}"
    value = float(f"{value:.{figures - 1}e}")
    exponent = math.floor(math.log10(abs(value)) / 3 + 1e-9) * 3
    exponent = min(max(exponent, -12), 9)
    names = {-12: "p", -9: "n", -6: "µ", -3: "m", 0: "", 3: "k", 6: "M", 9: "G"}
    scaled = value / 10.0**exponent
    digits = max(0, figures - 1 - math.floor(math.log10(abs(scaled)) + 1e-12)) if abs(scaled) >= 1 else figures
    return f"{scaled:.{digits}f} {names[exponent]}{unit}"


# IEC 60063 preferred numbers, E24 (contains E12 and E6 by every second and fourth entry). From memory.
E24 = (1.0, 1.1, 1.2, 1.3, 1.5, 1.6, 1.8, 2.0, 2.2, 2.4, 2.7, 3.0, 3.3, 3.6, 3.9, 4.3, 4.7, 5.1, 5.6, 6.2, 6.8, 7.5,
       8.2, 9.1)  # fmt: skip


def nearest_preferred(value: float, *, series: int = 24) -> float:
    """Return the nearest preferred value, by ratio.

    Parameters
    ----------
    value : float
        Any positive value. [base unit]
    series : int
        6, 12 or 24. [-]

    Returns
    -------
    float
        A value of that series. [base unit]

    Valid
    -----
    Positive values; series E6, E12, E24.

    Source
    ------
    IEC 60063, tables from memory.

    Examples
    --------
    >>> nearest_preferred(86100.0)
    82000.0
    """
    decade = 10.0 ** math.floor(math.log10(value))
    numbers = [*E24[:: 24 // series], 10.0]
    best = min(numbers, key=lambda n: abs(math.log(n * decade / value)))
    return float(f"{best * decade:.3g}")
