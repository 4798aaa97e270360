"""From values to places on the sheet, and the ticks in between: linear, by decades, or in seconds."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from lugwright.documents.drawings.chart_records import Axis
from lugwright.documents.drawings.svg import text_width_mm

TICK_SIZE = 2.5
TICK_GAP_MM = 1.6
TIME_STEPS_S = (1, 2, 5, 10, 20, 30, 60, 120, 300, 600, 1200, 1800, 3600, 7200, 14400, 36000, 86400)
PREFIXES = ((1e9, " G"), (1e6, " M"), (1e3, " k"))


@dataclass(frozen=True)
class Scale:
    """From values to places on the sheet."""

    low: float
    high: float
    start: float
    end: float
    axis: Axis

    def at(self, value: float) -> float:
        """Return the place of a value; no number for one that a decade axis cannot show."""
        low, high = self.low, self.high
        if self.axis.kind == "log":
            if not value > 0:
                return math.nan
            low, high, value = math.log10(low), math.log10(high), math.log10(value)
        return self.start + (value - low) / (high - low) * (self.end - self.start)

    def holds(self, value: float) -> bool:
        """Return whether a value lies between the ends."""
        slack = 1e-9 * (abs(self.low) + abs(self.high))
        return self.low - slack <= value <= self.high + slack

    def ticks(self) -> tuple[tuple[float, str], ...]:
        """Return every value with a grid line, and its words; "" where only the line fits."""
        if self.axis.kind == "log":
            return _decade_ticks(self)
        step = _step(self.axis, self.low, self.high)
        first, last = math.ceil(self.low / step - 1e-9), math.floor(self.high / step + 1e-9)
        values = [k * step for k in range(first, last + 1)]
        if self.axis.kind == "time" and step >= 1.0:
            return tuple((v, _time_words(v, step)) for v in values)
        decimals = next((d for d in range(9) if abs(round(step, d) - step) < 1e-9 * step), 9)
        unit = " s" if self.axis.kind == "time" else ""
        return tuple((v, _plain(v, decimals) + unit) for v in values)


def scale_of(axis: Axis, values: Sequence[float], *, start: float, end: float) -> Scale:
    """Return the scale that shows the values, its free ends on ticks."""
    usable = [v for v in values if math.isfinite(v) and (v > 0 or axis.kind != "log")]
    usable = usable or [1.0, 10.0 if axis.kind == "log" else 0.0]
    low = min(usable) if axis.low is None else axis.low
    high = max(usable) if axis.high is None else axis.high
    if axis.kind == "log":
        low = _round_down(low) if axis.low is None else low
        high = 1.0 / _round_down(1.0 / high) if axis.high is None else high
        return Scale(low, high if high > low else low * 10.0, start, end, axis)
    step = _step(axis, low, high)
    low = math.floor(low / step + 1e-9) * step if axis.low is None else low
    high = math.ceil(high / step - 1e-9) * step if axis.high is None else high
    return Scale(low, high if high > low else low + step, start, end, axis)


def tick_step(low: float, high: float, wanted: int = 6) -> float:
    """Return a round step (1, 2 or 5 times a power of ten) that gives about the wanted number of ticks."""
    rough = _rough(low, high, wanted)
    power = 10.0 ** math.floor(math.log10(rough))
    return next(m * power for m in (1.0, 2.0, 5.0, 10.0) if m * power >= rough * (1.0 - 1e-9))


def _step(axis: Axis, low: float, high: float) -> float:
    if axis.step is not None:
        return axis.step
    rough = _rough(low, high, 6)
    if axis.kind == "time" and rough > 1.0:
        return float(next((s for s in TIME_STEPS_S if s >= rough * (1.0 - 1e-9)), tick_step(low, high)))
    return tick_step(low, high)


def _rough(low: float, high: float, wanted: int) -> float:
    return (high - low) / wanted if high > low else max(abs(high), 1.0) / wanted


def _round_down(value: float) -> float:
    """Return the next 1, 2 or 5 times a power of ten that is not above the value."""
    power = 10.0 ** math.floor(math.log10(value) + 1e-9)
    return next(m * power for m in (5.0, 2.0, 1.0, 0.5) if m * power <= value * (1.0 + 1e-9))


def _decade_ticks(scale: Scale) -> tuple[tuple[float, str], ...]:
    """Return lines at 1 to 9 of each decade; words at the decades, then at all the 2s and 5s that fit."""
    first, last = math.floor(math.log10(scale.low) - 1e-9), math.ceil(math.log10(scale.high) + 1e-9)
    lines = [(d, m * 10.0**d) for d in range(first, last + 1) for m in range(1, 10)]
    lines = [(d, v) for d, v in lines if scale.holds(v)]
    families: dict[int, list[float]] = {1: [], 2: [], 5: []}
    for d, value in lines:
        families.get(round(value / 10.0**d), []).append(value)
    worded: list[float] = list(families[1])
    for family in (families[2], families[5]):
        if all(_fits(scale, value, [*worded, *family]) for value in family):
            worded += family
    if len(worded) < 2:  # less than a decade: whatever fits
        for _, value in lines:
            worded += [value] if _fits(scale, value, worded) else []
    worded += [e for e in (scale.low, scale.high) if e not in worded and _fits(scale, e, worded)]
    found = {value: log_words(value) if value in worded else "" for _, value in lines}
    return tuple(sorted({**found, **{e: log_words(e) for e in worded}}.items()))


def _fits(scale: Scale, value: float, others: Sequence[float]) -> bool:
    """Return whether a label at a value stays clear of the others, along a level axis."""
    level = scale.end > scale.start  # places grow to the right; on an upright axis they grow downward
    room = text_width_mm(log_words(value), TICK_SIZE) + TICK_GAP_MM if level else TICK_SIZE + TICK_GAP_MM
    return all(abs(scale.at(value) - scale.at(o)) >= room for o in others if o != value)


def log_words(value: float) -> str:
    """Return a value of a decade axis in few characters: 20, 1 k, 100 k, 0.1."""
    factor, prefix = next(((f, p) for f, p in PREFIXES if value >= f * (1.0 - 1e-9)), (1.0, ""))
    return f"{value / factor:.6g}{prefix}"


def _time_words(value: float, step: float) -> str:
    if step >= 3600 and step % 3600 == 0:
        return f"{value / 3600:g} h"
    return f"{value / 60:g} min" if step >= 60 and step % 60 == 0 else f"{value:g} s"


def _plain(value: float, decimals: int) -> str:
    words = f"{value:.{decimals}f}".replace("-", "−")
    return words.removeprefix("−") if float(f"{value:.{decimals}f}") == 0 else words
