"""Figures of a build with names of their own, so that those of a changed one can be laid beside them."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from lugwright.quantities import with_unit

if TYPE_CHECKING:
    from lugwright.bringup.results import SpreadRow
    from lugwright.circuit.operating import Idle
    from lugwright.circuit.starting import FilterRow, Start
    from lugwright.solve.power_results import Power, PowerPoint
    from lugwright.solve.response_results import AmplifierResponse

# Units that take no prefix, with the figures behind the point.
_PLAIN = {"dB": 1, "%": 1, "°": 0, "": 3}
_NONE = "–"


@dataclass(frozen=True)
class Quantity:
    """One reading of one build: its name, the same before and after; ``aside`` stands in brackets behind the value."""

    name: str
    value: float | None
    unit: str
    aside: str = ""


@dataclass(frozen=True)
class MovedFigure:
    """A reading that a change moves, in words before and after."""

    name: str
    was: str
    now: str


def idle_figures(idle: Idle) -> Iterator[Quantity]:
    """Yield every reading of an idle."""
    yield Quantity("from the mains", idle.mains_rms_a, "A")
    yield Quantity("from the mains, power", idle.mains_w, "W")
    for name, joint in idle.joints.items():
        yield Quantity(f"{name} DC", joint.volts, "V")
        yield Quantity(f"{name} ripple p-p", joint.ripple_peak_to_peak_v, "V")
    for tube in idle.tubes.values():
        yield Quantity(f"{tube.name} plate to cathode", tube.plate_to_cathode_v, "V")
        yield Quantity(f"{tube.name} grid to cathode", tube.grid_to_cathode_v, "V")
        yield Quantity(f"{tube.name} plate", tube.plate_a, "A")
        yield Quantity(f"{tube.name} screen", None if tube.screen_to_cathode_v is None else tube.screen_a, "A")
        yield Quantity(f"{tube.name} plate heat", tube.plate_w, "W")
    for winding in idle.windings.values():
        yield Quantity(f"{winding.name} RMS volts", winding.rms_v, "V")
        yield Quantity(f"{winding.name} RMS amps", winding.rms_a, "A")


def power_figures(power: Power) -> Iterator[Quantity]:
    """Yield the figures of the power that a changed part may move."""
    for name, point in named_points(power):
        yield Quantity(f"power at {name}", None if point is None else point.watts, "W")
        yield Quantity(f"drive for {name}", None if point is None else point.drive_rms_v, "V")
    full = power.full_drive
    yield Quantity("distortion at full drive", 100.0 * full.distortion, "%")
    for joint, volts in full.b_plus_v.items():
        yield Quantity(f"{joint} at full drive", volts, "V")
    for tube in full.tubes.values():
        if tube.screen_a:
            yield Quantity(f"{tube.name} plate heat at full drive", tube.plate_w, "W")
            yield Quantity(f"{tube.name} screen heat at full drive", tube.screen_w, "W")
    for limit in power.limits:
        yield Quantity(f"{limit.tube}, {limit.how} from", limit.drive_rms_v, "V")


def named_points(power: Power) -> tuple[tuple[str, PowerPoint | None], ...]:
    """Return the drives that are looked at closely, by what they are called."""
    return ("5 %", power.five_percent), ("10 %", power.ten_percent), ("full drive", power.full_drive)


def start_figures(start: Start | None, rows: Iterable[FilterRow]) -> Iterator[Quantity]:
    """Yield every reading of a start; none for a build without mains."""
    if start is None:
        return
    for inrush in start.inrush:
        yield Quantity(f"mains peak, switched {inrush.switched}", inrush.peak_a, "A")
    for fuse in start.fuses:
        yield Quantity(f"{fuse.name} inrush integral, A²s", fuse.half_cycle_a2s, "")
        yield Quantity(f"{fuse.name} with the supply shorted", fuse.fault_a, "A")
    for row in rows:
        yield Quantity(f"{row.name} highest volts, mains +10 %", row.high_v, "V")
        yield Quantity(f"{row.name} to 60 V, tubes warm", row.warm_s, "s")
        yield Quantity(f"{row.name} to 60 V, tubes cold", row.cold_s, "s")


def spread_figures(rows: Iterable[SpreadRow]) -> Iterator[Quantity]:
    """Yield the ends of every reading."""
    for row in rows:
        yield Quantity(f"{row.reading}, 0.5 % of builds read less", row.lowest, row.unit)
        yield Quantity(f"{row.reading}, half of the builds read less", row.middle, row.unit)
        yield Quantity(f"{row.reading}, 0.5 % of builds read more", row.highest, row.unit)


def rest_figures(response: AmplifierResponse) -> Iterator[Quantity]:
    """Yield what each stage gives, what feedback takes and leaves, and how loud the hiss is."""
    for stage in response.stages:
        yield Quantity(f"{stage.tube} {stage.driven_at} to {stage.taken_at}, gain", stage.gain, "")
    if response.loop is not None:
        yield Quantity("feedback takes at 1 kHz", response.loop.reduction_db, "dB")
        phases = [m.phase_deg for m in response.loop.margins if m.phase_deg is not None]
        yield Quantity("least phase left", min(phases, default=None), "°")
    yield Quantity("hiss", response.hiss.volts, "V")
    yield Quantity("hiss, A-weighted", response.hiss.weighted_volts, "V")


def moved_figures(before: Iterable[Quantity], after: Iterable[Quantity], *, most: int) -> tuple[list[MovedFigure], int]:
    """Return the readings whose words differ, the ``most`` that move furthest in their own order, and how many do."""
    first, second = ({q.name: q for q in quantities} for quantities in (before, after))
    rows = []
    for name in dict.fromkeys([*first, *second]):
        was, now = first.get(name), second.get(name)
        row = MovedFigure(name, _words(was), _words(now))
        if row.was != row.now:
            rows.append((_share(was, now), row))
    far = sorted((share for share, _ in rows), reverse=True)[:most]
    kept: Sequence[MovedFigure] = [row for share, row in rows if far and share >= far[-1]][:most]
    return list(kept), len(rows)


def _words(quantity: Quantity | None) -> str:
    if quantity is None or quantity.value is None:
        return _NONE
    value, unit = quantity.value, quantity.unit
    if math.isinf(value):
        return "over range" if unit == "ohm" else "∞"
    if unit in _PLAIN:
        return f"{value + 0.0:.{_PLAIN[unit]}f} {unit}".rstrip()
    return with_unit(value, "Ω" if unit == "ohm" else unit)


def _share(was: Quantity | None, now: Quantity | None) -> float:
    """Return how far a reading moves, as a share of itself; one that only one of both has moves furthest."""
    if was is None or now is None or was.value is None or now.value is None:
        return math.inf
    if not (math.isfinite(was.value) and math.isfinite(now.value)):
        return math.inf
    return abs(now.value - was.value) / max(abs(was.value), abs(now.value), 1e-12)
