"""Parts as they are asked for over the counter: what a seller has to know, and in the order of the drawers."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from lugwright.buildfile.build import (
    Can,
    Capacitor,
    Choke,
    Fitted,
    Fuse,
    Jack,
    Pot,
    Resistor,
    Switch,
    Transformer,
    Winding,
)  # fmt: skip
from lugwright.buildfile.color_bands import color_bands
from lugwright.buildfile.part_words import short_unit, value_words

_EXAMPLE_LOAD_OHM = 8.0  # the load through which a transformer given by its turns is told


def buying_words(values: Fitted) -> str:
    """Return what to ask for: ``100 kΩ 5 % 1 W metal film (brown black yellow gold)``, without the builder's label."""
    return _ASKED.get(type(values), value_words)(values)


def drawer(values: Fitted) -> tuple[float, ...]:
    """Return what sorts parts of one kind as drawers are sorted: by value, then by rating."""
    return _DRAWER.get(type(values), lambda _: ())(values)


def _resistor(values: Resistor) -> str:
    bands = color_bands(resistance_ohm=values.ohm, tolerance=values.tolerance)
    text = f"{short_unit(values.ohm, 'Ω')} {values.tolerance * 100:.3g} % {values.watts:g} W {values.style}"
    return f"{text} ({' '.join(bands)})" if bands else text


def _pot(values: Pot) -> str:
    switched = "" if values.switch_closed is None else " with switch"
    return f"pot {short_unit(values.ohm, 'Ω')} {values.taper}{switched}"


def _switch(values: Switch) -> str:
    poles = "1 pole" if values.poles == 1 else f"{values.poles} poles"
    return f"switch {poles}, {len(values.positions)} positions, {values.volts:g} V {values.amps:g} A"


def _jack(values: Jack) -> str:
    return f"{'isolated ' if values.isolated else ''}jack{' with switch' if values.switched else ''}"


def _transformer(values: Transformer) -> str:
    if values.role == "power":
        return "; ".join(["power transformer, volts without load", *map(_winding, values.windings)])
    if any(winding.impedances_ohm for winding in values.windings) or len(values.windings) < 2:
        return value_words(values)
    ratios = [sum(values.windings[0].turns) / turns for w in values.windings[1:] for turns in _from_first_end(w)]
    told = ", ".join(f"{ratio:.3g}" for ratio in ratios)
    seen = ", ".join(short_unit(_EXAMPLE_LOAD_OHM * ratio**2, "Ω") for ratio in ratios)
    return f"{values.role} transformer, turns {told} to 1 (shows {_EXAMPLE_LOAD_OHM:g} Ω as {seen})"


def _from_first_end(winding: Winding) -> list[float]:
    return [sum(winding.turns[: k + 1]) for k in range(len(winding.turns))]


def _winding(winding: Winding) -> str:
    """Return ``hv 315-0-315 V 0.25 A``; sections that are not alike are written one after the other."""
    volts = [f"{section:g}" for section in winding.turns]
    alike = len(volts) == 2 and volts[0] == volts[1]
    text = f"{winding.name} {'-0-'.join(volts) if alike else ' + '.join(volts)} V"
    return text if winding.amps is None else f"{text} {winding.amps:g} A"


_ASKED: dict[type[Fitted], Callable[[Any], str]] = {
    Resistor: _resistor,
    Pot: _pot,
    Switch: _switch,
    Jack: _jack,
    Transformer: _transformer,
    Choke: lambda v: f"{value_words(v)} {v.amps:g} A",
    Fuse: lambda v: f"fuse {v.amps:g} A {v.speed} {v.volts:g} V, with holder",
}

_DRAWER: dict[type[Fitted], Callable[[Any], tuple[float, ...]]] = {
    Resistor: lambda v: (v.ohm, v.watts),
    Capacitor: lambda v: (v.farad, v.volts),
    Can: lambda v: (*v.farads, v.volts),
    Pot: lambda v: (v.ohm,),
}
