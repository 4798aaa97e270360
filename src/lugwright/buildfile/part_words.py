"""Parts as they are called at the bench: designator, value, rating."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

from lugwright.buildfile.build import (
    Bond,
    Bridge,
    Can,
    Capacitor,
    Choke,
    Diode,
    Fitted,
    Fuse,
    Inlet,
    Jack,
    Lamp,
    Part,
    Pot,
    Resistor,
    Speaker,
    Switch,
    Tank,
    Thermistor,
    Transformer,
    Tube,
)  # fmt: skip
from lugwright.buildfile.color_bands import color_bands
from lugwright.quantities import with_unit


def part_words(part: Part) -> str:
    """Return designator, value and rating: ``R3 100 kΩ 1 W (brown black yellow gold)``."""
    return f"{part.name} {value_words(part.values)}"


def value_words(values: Fitted) -> str:
    """Return value and rating of a part: ``100 kΩ 1 W (brown black yellow gold)``."""
    return _VALUE[type(values)](values)


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


def _transformer(values: Transformer) -> str:
    """Return ``output transformer 6.6 kΩ to 4, 8, 16 Ω`` where its impedances are known."""
    windings = [winding.impedances_ohm for winding in values.windings if winding.impedances_ohm]
    whole = [short_unit(winding[-1], "Ω") for winding in windings[:1]]
    others = [", ".join(f"{ohm:g}" for ohm in winding) + " Ω" for winding in windings[1:]]
    return " ".join([f"{values.role} transformer", " to ".join([*whole, *others])]).rstrip()


def _label(label: str) -> str:
    return f' "{label}"' if label else ""


_VALUE: dict[type[Fitted], Callable[[Any], str]] = {
    Resistor: _resistor,
    Capacitor: _capacitor,
    Can: _can,
    Diode: _diode,
    Pot: _pot,
    Choke: lambda v: f"choke {short_unit(v.henry, 'H')} {short_unit(v.ohm, 'Ω')}",
    Transformer: _transformer,
    Tube: lambda v: f"{v.socket} socket for {v.type.name}",
    Jack: lambda v: f"{'isolated ' if v.isolated else ''}jack{_label(v.label)}",
    Switch: lambda v: f"switch{_label(v.label)}",
    Fuse: lambda v: f"fuse holder ({v.amps:g} A {v.speed})",
    Lamp: lambda v: f"pilot lamp {v.volts:g} V",
    Thermistor: lambda v: f"inrush limiter {short_unit(v.cold_ohm, 'Ω')} cold",
    Bridge: lambda v: f"bridge rectifier {v.inverse_v:g} V {v.amps:g} A",
    Inlet: lambda v: "mains cord" if v.cord else "mains inlet",
    Speaker: lambda v: f"speaker {short_unit(v.ohm, 'Ω')} {v.watts:g} W",
    Tank: lambda v: f"reverb tank {short_unit(v.input_ohm, 'Ω')} in, {short_unit(v.output_ohm, 'Ω')} out",
    Bond: lambda v: v.purpose,
}
