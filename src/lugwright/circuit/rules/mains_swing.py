"""The idle with mains 10 percent low and high: what moves, and tubes that pass a limit which may never be passed."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from lugwright.buildfile.build import Build, Tube
from lugwright.circuit.elements import Capacitor, Resistor
from lugwright.circuit.operating import Idle
from lugwright.circuit.rules.case import MAINS_HIGH, Case
from lugwright.circuit.rules.discharge import SAFE_V
from lugwright.findings import Finding, Grade
from lugwright.quantities import with_unit

RULE = "high-mains-heat"
MAINS_LOW = 0.9
_FILTER_F = 1e-6
_HEATER_HIGH = 1.1
_WARM_SHARE = 0.3  # of its limit; cooler tubes are not listed


@dataclass(frozen=True)
class MainsRow:
    """One reading at low, nominal and high mains; ``limit`` is what it may be at the most, where that is known."""

    reading: str
    unit: str
    low: float
    nominal: float
    high: float
    limit: float | None


@dataclass(frozen=True)
class MainsSwing:
    """The idles with mains 10 percent low, nominal and 10 percent high."""

    low: Idle
    nominal: Idle
    high: Idle

    def row(self, reading: str, unit: str, read: Callable[[Idle], float], limit: float | None = None) -> MainsRow:
        """Return one reading at all three."""
        return MainsRow(reading, unit, read(self.low), read(self.nominal), read(self.high), limit)


def mains_rows(case: Case, swing: MainsSwing) -> tuple[MainsRow, ...]:
    """Return supply, heaters and warm tubes at low, nominal and high mains."""
    return (*_supply(case, swing), *_heaters(case, swing), *_tubes(case, swing))


def _supply(case: Case, swing: MainsSwing) -> Iterator[MainsRow]:
    yield swing.row("from the mains", "A", lambda idle: idle.mains_rms_a)
    ground = case.circuit.ground
    held = {
        joint
        for e in case.circuit.elements
        if isinstance(e, Capacitor) and e.farad >= _FILTER_F and ground in e.joints
        for joint in e.joints
        if abs(swing.nominal.joints[joint].volts) > SAFE_V
    }
    for joint in sorted(held, key=lambda j: (-swing.nominal.joints[j].volts, j)):
        yield swing.row(joint, "V", _joint_v(joint))


def _heaters(case: Case, swing: MainsSwing) -> Iterator[MainsRow]:
    """Yield the volts of one heater of each pair of joints: those beside it have the same."""
    seen = set()
    for part, tube in case.parts(Tube):
        for e in case.circuit.elements:
            mine = isinstance(e, Resistor) and e.role == "heater" and e.name.split(".")[0] == part.name
            if mine and isinstance(e, Resistor) and (pair := frozenset(e.joints)) not in seen:
                seen.add(pair)
                most = _HEATER_HIGH * tube.type.heater.volts
                yield swing.row(f"heater of {part.name}", "V", _heater_v(e), most)


def _tubes(case: Case, swing: MainsSwing) -> Iterator[MainsRow]:
    for part, tube, letter, idle in case.sections():
        limit = tube.type.limits.get("plate_w")
        if limit is not None and idle.plate_w > _WARM_SHARE * limit.value:
            name = f"{part.name}{letter}"
            yield swing.row(f"{name} plate heat", "W", _plate_w(name), limit.value)


def _joint_v(joint: str) -> Callable[[Idle], float]:
    return lambda idle: idle.joints[joint].volts


def _heater_v(heater: Resistor) -> Callable[[Idle], float]:
    return lambda idle: heater.ohm * idle.parts[heater.name].rms_a


def _plate_w(section: str) -> Callable[[Idle], float]:
    return lambda idle: idle.tubes[section].plate_w


def high_mains_findings(build: Build, swing: MainsSwing) -> tuple[Finding, ...]:
    """Return a doubt for every plate over a limit that may never be passed; others allow for the mains already."""
    case = Case(build, swing.nominal, swing.nominal)
    return tuple(_too_hot(case, swing.high))


def _too_hot(case: Case, high: Idle) -> Iterator[Finding]:
    for part, tube, letter, idle in case.sections():
        limit = tube.type.limits.get("plate_w")
        name = f"{part.name}{letter}"
        if limit is None or tube.type.rating_system in ("", "design-center"):
            continue
        heat_w = high.tubes[name].plate_w
        if idle.plate_w <= limit.value < heat_w:
            yield case.finding(
                RULE, Grade.DOUBT, part,
                what=f"the plate of {name} is overloaded when the mains is {MAINS_HIGH - 1.0:.0%} high",
                found=f"{with_unit(heat_w, 'W')}, {with_unit(idle.plate_w, 'W')} at nominal mains",
                wanted=f"at most {limit.value:g} W at any mains ({tube.type.name}, {tube.type.rating_system})",
                do="make its bias more negative, or its screen volts lower",
                source=str(limit.source),
            )  # fmt: skip
