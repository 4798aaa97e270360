"""What a builder reads at idle, in few words: ``V5 = 34.2 mV``, ``V5 plate = 405 V``."""

from __future__ import annotations

import difflib
import math
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from lugwright.bringup.idle.stage import OutputTube, Path, Stage
from lugwright.buildfile.build import GROUND
from lugwright.errors import ReadingError

MOST_READINGS = 200
METER_SHARE = 0.005  # of a reading, from memory of hand meters
METER_STEPS = 2.0  # and of the last digit shown
_UNITS = {
    "mV": ("V", -3), "V": ("V", 0), "mA": ("A", -3), "A": ("A", 0), "ohm": ("ohm", 0), "ohms": ("ohm", 0),
    "Ω": ("ohm", 0), "kohm": ("ohm", 3),
}  # fmt: skip
_MOST = {"V": 2000.0, "A": 2.0, "ohm": 100e3}
_VALUE = re.compile(r"([-+]?)(\d+(?:\.\d+)?|\.\d+) ?([a-zA-ZΩ]+)", re.ASCII)
_FORM = "a tube, what is read, and a value with its unit: 'V5 = 34.2 mV', 'V5 plate = 405 V'"


@dataclass(frozen=True)
class IdleReading:
    """One reading. ``red`` and ``black`` are the joints of the tips; for volts only these are used."""

    tube: str
    what: str  # a key of `WHAT`
    value: float  # V, A, ohm
    unit: str
    step: float  # the last digit the meter showed, in the same unit
    red: str
    black: str
    said: str

    @property
    def off(self) -> float:
        """Return by how much the meter may be off, its own accuracy and its last digits."""
        return METER_SHARE * abs(self.value) + METER_STEPS * self.step


Ends = tuple[str, str]


@dataclass(frozen=True)
class What:
    """One thing to read at a tube: its unit, and where the tips go; None where the tube has no such thing."""

    unit: str
    ends: Callable[[OutputTube], Ends | None]
    signed: bool = False  # may be negative


def _over(path: Path | None) -> Ends | None:
    return (path.high, path.low) if path else None


WHAT: Mapping[str, What] = {
    "cathode": What("V", lambda t: (t.cathode, t.read_low), signed=True),
    "cathode to ground": What("V", lambda t: (t.cathode, GROUND), signed=True),
    "plate": What("V", lambda t: (t.plate, GROUND)),
    "plate to cathode": What("V", lambda t: (t.plate, t.cathode)),
    "screen": What("V", lambda t: (t.screen, GROUND)),
    "grid": What("V", lambda t: (t.grid, GROUND), signed=True),
    "B+": What("V", lambda t: (t.feed, GROUND)),
    "primary": What("V", lambda t: _over(t.primary)),
    "screen resistor": What("V", lambda t: _over(t.screen_resistor)),
    "adapter": What("A", lambda t: (t.cathode, t.read_low)),  # a socket adapter: cathode current
    "shunt": What("A", lambda t: _over(t.primary)),  # an ammeter across the winding
    "cathode resistor ohms": What("ohm", lambda t: _over(t.read_over)),
    "primary ohms": What("ohm", lambda t: _over(t.primary)),
    "screen resistor ohms": What("ohm", lambda t: _over(t.screen_resistor)),
}


def readings_of(stage: Stage, texts: Sequence[str]) -> tuple[IdleReading, ...]:
    """Return the readings some texts state; the last one counts where the same is read twice.

    Raises
    ------
    ReadingError
        A text is none, or there are too many.
    """
    if len(texts) > MOST_READINGS:
        raise ReadingError(
            what="too many readings for one idle",
            found=f"{len(texts)}",
            wanted=f"at most {MOST_READINGS}",
            do="give the last one of each point",
        )
    found = {}
    for text in texts:
        reading = reading_of(stage, text)
        found[reading.tube, reading.what] = reading
    return tuple(found.values())


def reading_of(stage: Stage, text: str) -> IdleReading:
    """Return the reading a text states; see `WHAT` for what can be read.

    Raises
    ------
    ReadingError
        The text is no reading of an output tube.
    """
    said = " ".join(text.split())
    left, sign, right = said.partition("=")
    name, _, what = left.strip().partition(" ")
    if not sign or not name or not right.strip():
        raise _bad(said, "this is no reading", repr(said[:60]), _FORM, "write it so, in quotes")
    tube = _tube(stage, said, name)
    value, unit, step = _value(said, right.strip())
    key = _what(said, what.strip() or ("adapter" if unit == "A" else "cathode"))
    if unit != WHAT[key].unit:
        raise _bad(
            said, f"{key} is not read in {unit}", repr(right.strip()[:40]), f"a value in {_UNIT_WORDS[WHAT[key].unit]}",
            "check the unit, or name what was read: " + ", ".join(WHAT),
        )  # fmt: skip
    if value < 0.0 and not WHAT[key].signed:
        raise _bad(
            said, f"{tube.name} {key} cannot be negative", repr(right.strip()[:40]), "a value above zero",
            "black lead to ground, red to the point; turn the leads and read again",
        )  # fmt: skip
    ends = WHAT[key].ends(tube)
    if ends is None or (unit == "ohm" and value == 0.0):
        lacks = ends is None
        raise _bad(
            said, f"{tube.name} has no {key}" if lacks else f"{tube.name} {key} cannot be zero",
            "nothing of it in the build file" if lacks else "0 ohm", "something of that tube that can be read",
            "read the volts over its cathode resistor" if lacks else "zero the leads and read again",
        )  # fmt: skip
    return IdleReading(tube.name, key, value, unit, step, *ends, said)


_UNIT_WORDS = {"V": "volts (V, mV)", "A": "amperes (mA, A)", "ohm": "ohms"}


def _tube(stage: Stage, said: str, name: str) -> OutputTube:
    names = {tube.name.casefold(): tube for tube in stage.tubes}
    if name.casefold() in names:
        return names[name.casefold()]
    raise _bad(
        said, f"{name[:20]} is no output tube of this build", repr(said[:60]), ", ".join(t.name for t in stage.tubes),
        "only output tubes have an idle to set",
    )  # fmt: skip


def _what(said: str, what: str) -> str:
    names = {key.casefold(): key for key in WHAT}
    names |= {
        "cathode resistor": "cathode",
        "resistor ohms": "cathode resistor ohms",
        "plate-to-cathode": "plate to cathode",
    }
    found = names.get(what.casefold())
    if found:
        return found
    near = difflib.get_close_matches(what.casefold(), list(names), n=1, cutoff=0.5)
    raise _bad(
        said, f"{what[:30]!r} is nothing to read at an output tube", repr(said[:60]), ", ".join(WHAT),
        f"did you mean {names[near[0]]!r}?" if near else "use one of these",
    )  # fmt: skip


def _value(said: str, text: str) -> tuple[float, str, float]:
    """Return value, unit and the last digit shown."""
    match = _VALUE.fullmatch(text)
    if match is None or match[3] not in _UNITS or len(text) > 30:
        raise _bad(said, "no value with a unit", repr(text[:40]), "digits, a point, a unit: 34.2 mV, 405 V, 62 ohm",
                   "write the value as the meter shows it")  # fmt: skip
    unit, power = _UNITS[match[3]]
    exact = Decimal(match[1] + match[2]).scaleb(power)
    value, step = float(exact), float(Decimal(1).scaleb(int(exact.as_tuple().exponent)))
    if not math.isfinite(value) or abs(value) > _MOST[unit]:
        raise _bad(
            said, "no meter shows that at an output tube", repr(text[:40]), f"at most {_MOST[unit]:g} {unit}",
            "check the digits and the unit",
        )  # fmt: skip
    return value, unit, step


def _bad(said: str, what: str, found: str, wanted: str, do: str) -> ReadingError:
    return ReadingError(what=what, found=found, wanted=wanted, do=do)
