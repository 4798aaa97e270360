"""Parts with another value than planned: open, shorted, a decade off, one color band misread."""

from __future__ import annotations

import math
from collections.abc import Iterator

from lugwright.bringup.faults.bands import misread_ohms
from lugwright.bringup.faults.case import FaultCase
from lugwright.bringup.faults.codes import HIGH, LOW, MISREAD, OPEN, SHORT
from lugwright.bringup.faults.fault import Fault
from lugwright.buildfile.build import Bridge, Can, Capacitor, Choke, Diode, Lamp, Part, Resistor, Thermistor
from lugwright.buildfile.part_words import short_unit
from lugwright.circuit.edits import OPEN_OHM, ScaleValue, SetValue

DECADE = 10.0
SHORT_OHM = 0.05
NO_FARAD, NO_LEAK_S = 1e-18, 1e-15
OFTEN, SELDOM = 1.0, 0.5
SHORTED_TURNS = 0.1  # share of the inductance that a choke keeps; of its copper it keeps nine tenths. From memory.


def part_open(case: FaultCase) -> Iterator[Fault]:
    """Yield each resistor, capacitor, diode and choke open."""
    for part, _ in case.parts(Resistor):
        yield _open(case, part, part.name, (SetValue(part.name, "ohm", OPEN_OHM),))
    for part, _ in case.parts(Capacitor):
        yield _open(case, part, part.name, _no_capacitor(part.name))
    for part, can in case.parts(Can):
        for k in range(len(can.farads)):
            letter = chr(ord("a") + k)
            yield _open(case, part, f"{part.name}.{letter}", _no_capacitor(f"{part.name}.{letter}"))
    for part, _ in case.parts(Diode):
        changes = (SetValue(part.name, "on", 0.0), SetValue(part.name, "leak_s", NO_LEAK_S))
        yield _open(case, part, part.name, changes)
    for part, _ in case.parts(Bridge):
        for element in _diodes_of(case, part):
            changes = (SetValue(element, "on", 0.0), SetValue(element, "leak_s", NO_LEAK_S))
            yield _open(case, part, element, changes)
    for kind in (Choke, Thermistor, Lamp):
        for part, _ in case.parts(kind):
            yield _open(case, part, part.name, (SetValue(part.name, "ohm", OPEN_OHM),))


def _diodes_of(case: FaultCase, part: Part) -> list[str]:
    return [e.name for e in case.circuit.elements if e.name.startswith(f"{part.name}.")]


def _no_capacitor(name: str) -> tuple[SetValue, ...]:
    return SetValue(name, "farad", NO_FARAD), SetValue(name, "leak_s", NO_LEAK_S)


def _open(case: FaultCase, part: Part, element: str, changes: tuple[SetValue, ...]) -> Fault:
    code = case.code(element if element in case.roles else part.name, OPEN)
    return case.fault(
        f"open {element}", code.code, what=f"{_name(case, part, element)} is open",
        do="lift one lead and measure it; put in a new one", changes=changes, part=part.name, danger=code.danger,
    )  # fmt: skip


def _name(case: FaultCase, part: Part, element: str) -> str:
    section = element.removeprefix(part.name).removeprefix(".")
    name = case.part_name(part.name)
    word = "the diode" if isinstance(part.values, Bridge) else "section"
    return f"{word} {section} of {name}" if section else name


def part_shorted(case: FaultCase) -> Iterator[Fault]:
    """Yield each resistor, capacitor, diode and choke shorted."""
    for part, resistor in case.parts(Resistor):
        if resistor.ohm > SHORT_OHM * DECADE:
            yield _shorted(case, part, part.name, (SetValue(part.name, "ohm", SHORT_OHM),))
    for part, _ in case.parts(Capacitor):
        yield _shorted(case, part, part.name, (SetValue(part.name, "leak_s", 1.0 / SHORT_OHM),))
    for part, can in case.parts(Can):
        for k in range(len(can.farads)):
            element = f"{part.name}.{chr(ord('a') + k)}"
            yield _shorted(case, part, element, (SetValue(element, "leak_s", 1.0 / SHORT_OHM),))
    for part, _ in case.parts(Diode):
        yield _shorted(case, part, part.name, (SetValue(part.name, "leak_s", 1.0 / SHORT_OHM),))
    for part, _ in case.parts(Bridge):
        for element in _diodes_of(case, part):
            yield _shorted(case, part, element, (SetValue(element, "leak_s", 1.0 / SHORT_OHM),))
    for part, _ in case.parts(Choke):
        turns = (ScaleValue(part.name, "magnetizing_h", SHORTED_TURNS), ScaleValue(part.name, "ohm", 0.9))
        yield case.fault(
            f"shorted turns {part.name}", "F29", what=f"{case.part_name(part.name)} has shorted turns",
            do="put in a new one", changes=turns, part=part.name, shows=("hum",),
        )  # fmt: skip


def _shorted(case: FaultCase, part: Part, element: str, changes: tuple[SetValue, ...]) -> Fault:
    code = case.code(element if element in case.roles else part.name, SHORT)
    return case.fault(
        f"shorted {element}", code.code, what=f"{_name(case, part, element)} is shorted",
        do="look for a blob or a strand across it; lift one lead and measure it", changes=changes, part=part.name,
        danger=code.danger,
    )  # fmt: skip


def decade_off(case: FaultCase) -> Iterator[Fault]:
    """Yield each resistor and capacitor ten times too large and too small."""
    for part, resistor in case.parts(Resistor):
        for way, factor in ((LOW, 1.0 / DECADE), (HIGH, DECADE)):
            yield _instead(case, part, "ohm", resistor.ohm * factor, way, "Ω")
    for part, capacitor in case.parts(Capacitor):
        for way, factor in ((LOW, 1.0 / DECADE), (HIGH, DECADE)):
            yield _instead(case, part, "farad", capacitor.farad * factor, way, "F")


def misread(case: FaultCase) -> Iterator[Fault]:
    """Yield each resistor with the values that one misread figure makes of it; the decades have their own kind."""
    for part, resistor in case.parts(Resistor):
        for ohm in misread_ohms(resistance_ohm=resistor.ohm, tolerance=resistor.tolerance):
            if round(abs(math.log10(ohm / resistor.ohm)), 6) != 1.0:
                yield _instead(case, part, "ohm", ohm, MISREAD, "Ω")


def _instead(case: FaultCase, part: Part, field: str, value: float, way: str, unit: str) -> Fault:
    planned = getattr(part.values, field)
    code = case.code(part.name, (HIGH if value > planned else LOW) if way != MISREAD else MISREAD)
    words = short_unit(value, unit)
    key = "misread" if way == MISREAD else "decade"
    return case.fault(
        f"{key} {part.name} {value:.3g}", code.code,
        what=f"{part.name} is {words} instead of {short_unit(planned, unit)}",
        do=f"read it again; put in {short_unit(planned, unit)}", changes=(SetValue(part.name, field, value),),
        part=part.name, danger=code.danger if way != MISREAD else "", odds=SELDOM if unit == "F" else OFTEN,
    )  # fmt: skip
