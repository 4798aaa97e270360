"""What a builder reads at idle, in few words: ``V5 = 34.2 mV``, ``V5 plate = 405 V``."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from lugwright.bringup.idle.stage import OutputTube, Path, Stage
from lugwright.bringup.meter_value import Shown, shown
from lugwright.bringup.reading_points import ReadingPoints
from lugwright.buildfile.build import GROUND
from lugwright.errors import ReadingError

MOST_READINGS = 200
METER_SHARE = 0.005  # of a reading, from memory of hand meters
METER_STEPS = 2.0  # and of the last digit shown
MOST_V = 2000.0  # at any point of an output stage
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


@dataclass(frozen=True)
class Reader:
    """Understands readings of one output stage, in its own few words or by the points of the build."""

    stage: Stage
    points: ReadingPoints

    def of_all(self, texts: Sequence[str]) -> tuple[IdleReading, ...]:
        """Return the readings some texts state; the last one counts where the same is read twice.

        Raises
        ------
        ReadingError, NoSuchPoint
            A text is none, or there are too many.
        """
        if len(texts) > MOST_READINGS:
            raise _bad(
                "too many readings for one idle", f"{len(texts)}", f"at most {MOST_READINGS}",
                "give the last one of each point",
            )  # fmt: skip
        found = {}
        for text in texts:
            reading = self.of(text)
            found[reading.tube, reading.what] = reading
        return tuple(found.values())

    def of(self, text: str) -> IdleReading:
        """Return the reading a text states; see `WHAT` for what can be read.

        Raises
        ------
        ReadingError, NoSuchPoint
            The text is no reading of an output tube.
        """
        said = " ".join(text.split())
        left, sign, right = said.partition("=")
        if not sign or not left.strip() or not right.strip():
            raise _bad("this is no reading", repr(said[:60]), _FORM, "write it so, in quotes")
        found = _shown(right.strip())
        place = self._tube_words(left.strip(), found.unit) or self._point(left.strip(), said)
        return self._reading(*place, found, said)

    def _tube_words(self, left: str, unit: str) -> tuple[OutputTube, str, float] | None:
        """Return tube, what is read and 1 where the text is in this page's own words."""
        name, _, what = left.partition(" ")
        tube = next((t for t in self.stage.tubes if t.name.casefold() == name.casefold()), None)
        if tube is None:
            return None
        plain = what.strip().casefold()
        key = {**_OTHER_WORDS, "": "adapter" if unit == "A" else "cathode"}.get(plain) or _NAMES.get(plain)
        return None if key is None else (tube, key, 1.0)

    def _point(self, left: str, said: str) -> tuple[OutputTube, str, float]:
        """Return what a point of the build tells of an output tube; -1 where the leads are the other way round."""
        held = self.points.held(left)
        found = self.between(held.red.joint, held.black.joint)
        if found is None:
            raise _bad(
                f"{left[:60]} tells nothing of the idle", repr(said[:60]),
                f"a point of {', '.join(t.name for t in self.stage.tubes)}: {', '.join(WHAT)}",
                "read the output tubes; other points go into the log with lugwright read",
            )  # fmt: skip
        return found

    def between(self, red: str, black: str) -> tuple[OutputTube, str, float] | None:
        """Return what volts between two joints tell of an output tube, and 1 or, leads the other way round, -1."""
        for sign, ends in ((1.0, (red, black)), (-1.0, (black, red))):
            for key, what in WHAT.items():
                for tube in self.stage.tubes:
                    if what.unit == "V" and what.ends(tube) == ends:
                        return tube, key, sign
        return None

    def _reading(self, tube: OutputTube, key: str, sign: float, found: Shown, said: str) -> IdleReading:
        what = WHAT[key]
        if found.unit != what.unit:
            raise _bad(
                f"{key} is not read in {_UNIT_WORDS.get(found.unit, 'that unit')}", repr(said[:60]),
                f"a value in {_UNIT_WORDS[what.unit]}", f"check the unit, or name what was read: {', '.join(WHAT)}",
            )  # fmt: skip
        return volts_or_other(tube, key, sign * found.value, found.digit, said)


def volts_or_other(tube: OutputTube, key: str, value: float, digit: float, said: str) -> IdleReading:
    """Return one reading of a tube, once it is known what was read.

    Raises
    ------
    ReadingError
        That tube has nothing of it, or nothing shows such a value there.
    """
    ends = WHAT[key].ends(tube)
    if ends is None:
        raise _bad(
            f"{tube.name} has no {key}", "nothing of it in the build file", "something of that tube that can be read",
            "read the volts over its cathode resistor",
        )  # fmt: skip
    if value < 0.0 and not WHAT[key].signed:
        raise _bad(
            f"{tube.name} {key} cannot be negative", repr(said[:60]), "a value above zero",
            "black lead to ground, red to the point; turn the leads and read again",
        )  # fmt: skip
    if WHAT[key].unit == "ohm" and value == 0.0:
        raise _bad(
            f"{tube.name} {key} cannot be zero", repr(said[:60]), "the ohms of a resistor or a winding",
            "zero the leads and read again",
        )  # fmt: skip
    if WHAT[key].unit == "V" and abs(value) > MOST_V:
        raise _bad(
            "no meter shows that at an output tube", repr(said[:60]), f"at most {MOST_V:g} V",
            "check the digits and the unit",
        )  # fmt: skip
    return IdleReading(tube.name, key, value, WHAT[key].unit, digit, *ends, said)


_NAMES = {key.casefold(): key for key in WHAT}
_OTHER_WORDS = {"cathode resistor": "cathode", "resistor ohms": "cathode resistor ohms",
                "plate-to-cathode": "plate to cathode"}  # fmt: skip
_UNIT_WORDS = {"V": "volts (V, mV)", "A": "amperes (mA, A)", "ohm": "ohms"}


def _shown(text: str) -> Shown:
    """Return what the meter showed: direct, finite, with its unit."""
    found = shown(text)
    if not found.unit or found.alternating or not math.isfinite(found.value):
        raise _bad(
            "an idle is read in direct volts, milliamperes or ohms", repr(text[:40]),
            "a value with its unit: 34.2 mV, 405 V, 62 ohm", "set the meter to DC and to a range that holds the value",
        )  # fmt: skip
    return found


def _bad(what: str, found: str, wanted: str, do: str) -> ReadingError:
    return ReadingError(what=what, found=found, wanted=wanted, do=do)
