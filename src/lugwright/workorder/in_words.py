"""Parts, wires and terminals as they are called on a job card."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

from lugwright.buildfile.build import (
    Build,
    Can,
    Capacitor,
    Choke,
    Diode,
    Fitted,
    Fuse,
    Jack,
    Lamp,
    Part,
    Pot,
    Resistor,
    Switch,
    Thermistor,
    Transformer,
    Tube,
)  # fmt: skip
from lugwright.layout.results import Plan, Wire
from lugwright.quantities import with_unit
from lugwright.workorder.color_bands import color_bands
from lugwright.workorder.cut_list import cut_length_mm


def part_words(part: Part) -> str:
    """Return designator, value and rating: ``R3 100 kΩ 1 W (brown black yellow gold)``."""
    words = _VALUE.get(type(part.values))
    text = words(part.values) if words else part.kind
    return f"{part.name} {text}".strip()


def short_unit(value: float, unit: str) -> str:
    """Return a value without the zeros that only fill up: ``100 kΩ``, ``4.7 kΩ``."""
    return re.sub(r"(\.\d*?)0+(?= )", r"\1", with_unit(value, unit)).replace(". ", " ")


def _resistor(values: Resistor) -> str:
    bands = color_bands(resistance_ohm=values.ohm, tolerance=values.tolerance)
    text = f"{short_unit(values.ohm, 'Ω')} {values.watts:g} W"
    return f"{text} ({' '.join(bands)})" if bands else text


def _capacitor(values: Capacitor) -> str:
    return f"{short_unit(values.farad, 'F')} {values.volts:g} V {values.style}"


def _can(values: Can) -> str:
    sections = " + ".join(short_unit(farad, "F") for farad in values.farads)
    return f"can {sections} {values.volts:g} V"


def _diode(values: Diode) -> str:
    if values.zener_v is not None:
        return f"Zener {values.zener_v:g} V {values.watts:g} W"
    return f"diode {values.inverse_v:g} V {values.amps:g} A"


def _pot(values: Pot) -> str:
    return f"pot {short_unit(values.ohm, 'Ω')} {values.taper}{_label(values.label)}"


def _label(label: str) -> str:
    return f' "{label}"' if label else ""


_VALUE: dict[type[Fitted], Callable[[Any], str]] = {
    Resistor: _resistor,
    Capacitor: _capacitor,
    Can: _can,
    Diode: _diode,
    Pot: _pot,
    Choke: lambda v: f"choke {short_unit(v.henry, 'H')} {short_unit(v.ohm, 'Ω')}",
    Transformer: lambda v: f"{v.role} transformer",
    Tube: lambda v: f"{v.socket} socket for {v.type.name}",
    Jack: lambda v: f"{'isolated ' if v.isolated else ''}jack{_label(v.label)}",
    Switch: lambda v: f"switch{_label(v.label)}",
    Fuse: lambda v: f"fuse holder ({v.amps:g} A {v.speed})",
    Lamp: lambda v: f"pilot lamp {v.volts:g} V",
    Thermistor: lambda v: f"inrush limiter {short_unit(v.cold_ohm, 'Ω')} cold",
}


def terminal_words(build: Build, plan: Plan, key: str) -> str:
    """Return a terminal's label; a tube pin says which electrode it carries: ``V1 pin 6 (b plate)``."""
    terminal = plan.terminals[key]
    part = build.part_by_name.get(terminal.owner)
    if part is None or not isinstance(part.values, Tube):
        return terminal.label
    pin = int(key.rpartition(".")[2])
    names = [f"{t.section} {t.name}".strip() for t in part.terminals if pin in t.pins]
    return f"{terminal.label} ({names[0]})" if names else terminal.label


def lead_words(part: Part, lead: str) -> str:
    """Return how a lead is told from the other one: ``+``, ``-``, ``cathode (band)``, else its number."""
    if isinstance(part.values, Capacitor) and part.values.polar:
        return {"1": "+", "2": "-"}[lead]
    if isinstance(part.values, Diode):
        return "cathode (band)" if lead == "cathode" else lead
    return lead


def wire_words(build: Build, plan: Plan, wire: Wire) -> str:
    """Return number, type, color, cut length, strip lengths and both ends of a wire."""
    first, second = (terminal_words(build, plan, key) for key in wire.terminals)
    twist = f", twisted with its partner ({wire.twist})" if wire.twist else ""
    if wire.type == "lead":
        return (
            f"W{wire.number}: {first}, the part's own {wire.color} lead; route it to {second}, "
            f"cut at {cut_length_mm(wire.length_mm):g} mm, strip {wire.strip_mm[1]:g} mm{twist}."
        )
    return (
        f"W{wire.number}: {wire.color} {wire.type}, cut {cut_length_mm(wire.length_mm):g} mm, "
        f"strip {wire.strip_mm[0]:g} mm for {first} and {wire.strip_mm[1]:g} mm for {second}{twist}."
    )
