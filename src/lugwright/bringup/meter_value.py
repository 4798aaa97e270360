"""What a meter showed, in words: ``203 V``, ``98k2``, ``-38.5``, ``6.28 Vac``, ``OL``. Strict: never a guess."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation

from lugwright.buildfile.mistakes import printable
from lugwright.errors import ReadingError
from lugwright.log.ranges import RANGES

MOST_LETTERS = 40
_PREFIX = {"p": -12, "n": -9, "u": -6, "m": -3, "": 0, "k": 3, "K": 3, "M": 6, "G": 9}
_NUMBER = r"([+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d{1,3})?)"
_UNITS = {"v": "V", "ohm": "ohm", "ohms": "ohm", "ω": "ohm", "r": "ohm", "a": "A", "f": "F"}
_UNIT = r"(ohms|ohm|Ω|[vVaAfFR])"
_WORDS = re.compile(rf"{_NUMBER} ?(?:([pnumkKMG])? ?{_UNIT} ?(ac|dc|~)?)?", re.ASCII | re.IGNORECASE)
_LETTER = re.compile(r"(\d+)([kKMR])(\d*)|(\d+(?:\.\d*)?|\.\d+) ?([kKM])", re.ASCII)
_OVER = re.compile(
    r"(?:o\.?l\.?|0\.?l\.?|over ?range|overload|open)(?: ?([kM])?(ohms?|Ω|v) ?(?:ac|dc)?)?", re.IGNORECASE
)
_WANTED = 'a number with its unit as the meter shows it: "203 V", "98k2", "-38.5 V", "6.28 Vac", "12 mV", or "OL"'
_MOST = {"V": "5000 V", "ohm": "1 Gohm", "A": "50 A", "F": "1 F", "": "1e9"}


@dataclass(frozen=True)
class Shown:
    """What a meter showed, in the base unit; infinite for over range."""

    value: float
    unit: str  # "V", "ohm", "A", "F"; "" where none was said
    alternating: bool | None  # None: not said
    digit: float  # last place of the display


def shown(text: str) -> Shown:
    """Return what a text says that a meter showed.

    Parameters
    ----------
    text : str
        As a person writes it down.

    Returns
    -------
    Shown
        Value and last place of the display, in volts, ohms, amperes or farads.

    Raises
    ------
    ReadingError
        The text as a whole is no such thing, or no meter shows it.

    Source
    ------
    SI prefixes; letters in place of the point as in IEC 60062.

    Examples
    --------
    >>> shown("98k2")
    Shown(value=98200.0, unit='ohm', alternating=None, digit=100.0)
    >>> shown("-38.5 V").value
    -38.5
    """
    plain = " ".join(
        text.replace("\u2212", "-").replace("\u00b5", "u").replace("\u03bc", "u").replace("\u2126", "Ω").split()
    )
    if len(plain) > MOST_LETTERS:
        raise _refused(text, f"{len(plain)} letters", _WANTED, "write one value")
    if over := _OVER.fullmatch(plain):
        unit = _UNITS.get((over[2] or "").casefold(), "")
        return Shown(math.inf, unit, None, 0.0)
    found = _with_letter(plain) or _with_unit(plain)
    if found is None:
        do = "write a point, not a comma" if "," in plain else "correct that value"
        raise _refused(text, printable(text)[:MOST_LETTERS], _WANTED, do)
    _check(text, found)
    return found


def _with_letter(plain: str) -> Shown | None:
    match = _LETTER.fullmatch(plain)
    if match is None:
        return None
    number, letter = (match[4], match[5]) if match[4] else (f"{match[1]}.{match[3]}", match[2])
    exact = Decimal(number).scaleb({"R": 0, "k": 3, "K": 3, "M": 6}[letter])
    return Shown(float(exact), "ohm", None, _last_place(exact))


def _with_unit(plain: str) -> Shown | None:
    match = _WORDS.fullmatch(plain)
    if match is None:
        return None
    number, prefix, unit, kind = match.groups()
    if prefix and prefix not in _PREFIX:  # case counts: m is not M
        prefix = {"P": "p", "N": "n", "U": "u", "g": "G"}.get(prefix, prefix)
    exponent = _PREFIX[prefix or ""]
    try:
        exact = Decimal(number).scaleb(exponent)
    except InvalidOperation:
        return None
    alternating = None if kind is None else kind.casefold() != "dc"
    return Shown(float(exact), _UNITS[unit.casefold()] if unit else "", alternating, _last_place(exact))


def _last_place(exact: Decimal) -> float:
    places = exact.as_tuple().exponent
    return 10.0**places if isinstance(places, int) and -15 < places < 15 else 0.0


def _check(text: str, found: Shown) -> None:
    unit = found.unit
    low, high = RANGES[unit] if unit else (-1e9, 1e9)
    if unit == "ohm" and found.value < 0.0:
        raise _refused(
            text, f"{found.value:g} ohm", "ohms that are not negative",
            "negative ohms mean that volts stand there: plug out, every filter capacitor below 60 V, then read again",
        )  # fmt: skip
    if unit == "V" and found.alternating and found.value < 0.0:
        raise _refused(
            text, f"{found.value:g} V ac", "volts of alternating current without a sign", "take the sign out"
        )
    if not (math.isfinite(found.value) and low <= found.value <= high):
        raise _too_much(text, found.value, unit)


def refuse_beyond(text: str, value: float, unit: str) -> None:
    """Refuse a bare number that is more than any meter shows in the unit that follows from its place.

    Raises
    ------
    ReadingError
        It is.
    """
    low, high = RANGES[unit]
    if math.isfinite(value) and not low <= value <= high:
        raise _too_much(text, value, unit)


def _too_much(text: str, value: float, unit: str) -> ReadingError:
    return _refused(
        text, f"{value:g} {unit}".rstrip(), f"at most {_MOST[unit]}: no meter at a bench shows more",
        "check the letter before the unit: m is small, k and M are large",
    )  # fmt: skip


def _refused(text: str, found: str, wanted: str, do: str) -> ReadingError:
    return ReadingError(
        what=f"{printable(text)[:MOST_LETTERS]!r} is not what a meter shows", found=found, wanted=wanted, do=do
    )
