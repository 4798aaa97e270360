"""Readings held against the charts: which row of which step it is, and whether it falls into its window."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from lugwright.bringup.gate import burning
from lugwright.bringup.ohms_chart import OVER_RANGE_FROM_OHM
from lugwright.bringup.reading_points import Held, ReadingPoints, Spot, plain_words
from lugwright.bringup.reading_text import window_text
from lugwright.bringup.results import JudgedReading, LampWindow, Reading, Step
from lugwright.buildfile.mistakes import nearest, printable
from lugwright.errors import NoSuchPoint, ReadingError
from lugwright.quantities import with_unit

OHMS = "ohms"
COARSEST = 0.02  # of a reading: a display whose last place is worth more was on the wrong range, or is told rounded
OK, HIGH, LOW = "ok", "high", "low"
_NAMED_BY_CHART = ("earth", "polarity")  # steps whose rows say more than the two points do: "C1, red on plus"
_OFF_BY = {"V": (1e-3,), "ohm": (1e3, 1e6)}  # what a bare number may have to be taken times
# unit of a chart -> unit of the log, factor to it
_UNITS = {
    "V": ("V", 1.0),
    "Vac": ("V", 1.0),
    "mV": ("V", 1e-3),
    "mA": ("A", 1e-3),
    "A": ("A", 1.0),
    "ohm": ("ohm", 1.0),
}


@dataclass(frozen=True)
class ChartedStep:
    """A step with its chart."""

    number: int
    key: str
    title: str
    readings: tuple[Reading, ...]
    lamp: LampWindow | None = None

    @property
    def words(self) -> str:
        """Return the step as it is printed."""
        return f"step {self.number}: {self.title}"

    @property
    def live(self) -> bool:
        """Return whether volts are read in it and no ohms: the plug is in."""
        quantities = {quantity_of(reading) for reading in self.readings}
        return bool(quantities & {"V dc", "V ac"}) and "ohm" not in quantities


def charted_steps(steps: Sequence[Step]) -> tuple[ChartedStep, ...]:
    """Return the steps that readings can belong to."""
    return tuple(ChartedStep(s.number, s.key, f"{s.title} ({s.mains})", s.readings, s.lamp_window) for s in steps)


def step_named(text: str, steps: Sequence[ChartedStep]) -> ChartedStep:
    """Return the step of that number, key or title.

    Raises
    ------
    ReadingError
        There is no such step.
    """
    plain = _plain(text)
    for step in steps:
        names = {_plain(name) for name in (step.key, step.title, step.title.partition(" (")[0])}
        if plain in names or plain == str(step.number):
            return step
    close = nearest(plain, [step.key for step in steps])
    raise ReadingError(
        what=f"there is no step {printable(text)[:60]!r}",
        found=printable(text)[:60],
        wanted=f"one of {'; '.join(step.key for step in steps)}; or its number",
        do=f"write {close!r}" if close else "look at the steps: lugwright charts FILE",
    )


def _plain(text: str) -> str:
    return " ".join(text.casefold().replace(",", " ").split())


def quantity_of(reading: Reading) -> str:
    """Return what a chart's row reads, in the words of the log."""
    return "ohm" if reading.unit == "ohm" else reading.quantity


@dataclass(frozen=True)
class _Row:
    held: Held
    reading: Reading


@dataclass(frozen=True)
class Charts:
    """The charts of every step, each row found by where the meter is held."""

    points: ReadingPoints
    steps: tuple[ChartedStep, ...]

    @cached_property
    def _rows(self) -> Mapping[str, tuple[_Row, ...]]:
        return {
            step.key: tuple(_Row(self._place(reading), reading) for reading in step.readings) for step in self.steps
        }

    def _place(self, reading: Reading) -> Held:
        """Return where a row is read; some places stand on the chart alone: bare metal, the shaft of a control."""
        if not reading.red:
            return self.points.held(reading.point)
        red, black = (self._spot(key, reading.point) for key in (reading.red, reading.black))
        return Held(red, black, reading.at)

    def _spot(self, key: str, words: str) -> Spot:
        try:
            return self.points.spot(key)
        except NoSuchPoint:
            one, _, other = words.partition(" to ")
            return Spot(key, key, other if key.startswith("chassis") else one)

    def held(self, step: str, text: str) -> Held:
        """Return where a meter was held, in the words of the step's chart or any others.

        Raises
        ------
        NoSuchPoint
            The text names no place of this build.
        """
        plain = plain_words(text)
        for row in self._rows.get(step, ()):
            if plain == plain_words(row.reading.point):
                return row.held
        return self.points.held(text)

    def place(self, step: str, *, red: str, black: str) -> Held:
        """Return a place by the keys the log holds.

        Raises
        ------
        NoSuchPoint
            It is no longer there.
        """
        rows = (row.held for row in self._rows.get(step, ()))
        found = next((held for held in rows if (held.red.key, held.black.key) == (red, black)), None)
        return found or Held(self.points.spot(red), self.points.spot(black))

    def quantities(self, step: str, held: Held) -> tuple[str, ...]:
        """Return what the chart of a step reads at a place."""
        found = (quantity_of(row.reading) for row in self._rows.get(step, ()) if _turned(row.held, held) is not None)
        return tuple(dict.fromkeys(found))

    def row(self, step: str, held: Held, quantity: str) -> tuple[Reading, float] | None:
        """Return the row of a place, that of the very terminals first, and -1 where the leads are the other way."""
        there = [
            (row, sign)
            for row in self._rows.get(step, ())
            if quantity_of(row.reading) == quantity and (sign := _turned(row.held, held)) is not None
        ]
        only = len({row.held.condition for row, _ in there}) == 1 and not held.condition
        found = [each for each in there if only or _same(each[0].held.condition, held.condition)]
        if not found:
            return None
        row, sign = min(found, key=lambda each: _farness(each[0].held, held, turned=each[1] < 0.0))
        return row.reading, sign if quantity == "V dc" else 1.0

    def full_condition(self, step: str, held: Held) -> str:
        """Return a condition as the chart says it in full: ``full clockwise`` for the control there."""
        said = [
            row.held.condition
            for row in self._rows.get(step, ())
            if _turned(row.held, held) is not None and row.held.condition and _same(row.held.condition, held.condition)
        ]
        return said[0] if held.condition and len(set(said)) == 1 else held.condition

    def judged(self, taken: JudgedReading, held: Held) -> JudgedReading:
        """Return a reading with the window of the chart and whether it falls into it."""
        found = self.row(taken.step, held, taken.quantity)
        if found is None:
            return taken
        row, sign = found
        factor = _UNITS.get(row.unit, (row.unit, 1.0))[1] * sign
        low, high = sorted((row.low * factor, row.high * factor))
        verdict = _verdict(taken, low=low, high=high)
        window = window_text(low, high, taken.unit)
        return replace(
            taken,
            point=row.point if taken.step in _NAMED_BY_CHART else taken.point,
            verdict=verdict,
            expected=row.expected * factor,
            low=low,
            high=high,
            window=window,
            note=row.note,
            slip="" if verdict == OK else _slip(taken, low=low, high=high),
            burns=burning(row, taken.value / factor, off=verdict != OK),
        )


def _turned(chart: Held, held: Held) -> float | None:
    """Return 1 where both are the same place electrically, -1 with the leads the other way, None elsewhere."""
    one, other = (chart.red.joint, chart.black.joint), (held.red.joint, held.black.joint)
    if one == other:
        return 1.0
    return -1.0 if one == other[::-1] else None


def _farness(chart: Held, held: Held, *, turned: bool) -> tuple[bool, bool, bool]:
    """Return what ranks rows of one place: the very terminals first, the leads as they were held."""
    keys, said = (chart.red.key, chart.black.key), (held.red.key, held.black.key)
    return keys != said, turned, set(keys) != set(said)


def _same(charted: str, said: str) -> bool:
    if not said:
        return not charted
    return set(said.casefold().split()) <= set(charted.casefold().split())


def _slip(taken: JudgedReading, *, low: float, high: float) -> str:
    """Return the value a thousand or a million off where that is right: the unit of the display was left out."""
    for factor in _OFF_BY.get(taken.unit, ()):
        if low <= taken.value * factor <= high:
            return with_unit(taken.value * factor, "Ω" if taken.unit == "ohm" else taken.unit)
    return ""


def _verdict(taken: JudgedReading, *, low: float, high: float) -> str:
    half = min(taken.digit / 2.0, COARSEST * abs(taken.value))
    if math.isinf(taken.value) and taken.unit == "ohm" and high >= OVER_RANGE_FROM_OHM:
        return OK  # this meter's ranges end before the window does
    if taken.value > high + half:
        return HIGH
    return LOW if taken.value < low - half else OK
