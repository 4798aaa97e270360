"""Which elements of a build's circuit change while it warms up: heaters, what they make emit, inrush limiters."""

from __future__ import annotations

from dataclasses import dataclass

from lugwright.buildfile.build import Build, Thermistor, Tube
from lugwright.circuit.elements import PentodeTube, Resistor, TriodeTube, VacuumDiode
from lugwright.circuit.network import Circuit
from lugwright.circuit.thermistor import LimiterHeat
from lugwright.circuit.tubes.heating import FILAMENT, HEATER, WarmingTimes


@dataclass(frozen=True)
class HeatedTube:
    """A tube with the elements that are its heater and those whose ``on`` follows its emission."""

    name: str
    heaters: tuple[str, ...]
    emitting: tuple[str, ...]
    times: WarmingTimes
    rectifier: bool
    filament: bool


@dataclass(frozen=True)
class Heated:
    """All that warms up in a build."""

    tubes: tuple[HeatedTube, ...]
    limiters: tuple[tuple[str, LimiterHeat], ...]  # element, its heat


def heated_parts(build: Build, circuit: Circuit) -> Heated:
    """Return the tubes and inrush limiters of a build by their elements."""
    tubes = tuple(_tube(part.name, part.values, circuit) for part in build.parts if isinstance(part.values, Tube))
    limiters = tuple(
        (part.name, LimiterHeat.of(cold_ohm=p.cold_ohm, hot_ohm=p.hot_ohm, hot_a=p.hot_a))
        for part in build.parts
        if isinstance(p := part.values, Thermistor)
    )
    return Heated(tubes, limiters)


def _tube(name: str, tube: Tube, circuit: Circuit) -> HeatedTube:
    owners = {f"{name}{section.letter}" for section in tube.type.sections}
    mine = [e for e in circuit.elements if e.name.split(".")[0] in {name, *owners}]
    rectifier = any(isinstance(e, VacuumDiode) for e in mine)
    return HeatedTube(
        name,
        tuple(e.name for e in mine if isinstance(e, Resistor) and e.role == "heater"),
        tuple(e.name for e in mine if isinstance(e, TriodeTube | PentodeTube | VacuumDiode)),
        FILAMENT if tube.type.heater.filament else HEATER,
        rectifier,
        tube.type.heater.filament,
    )
