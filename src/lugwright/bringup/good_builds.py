"""Good builds differ: seeded draws of part values, tubes and mains, and the window a reading falls in."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from lugwright.buildfile.build import Build, Part, Pot, Resistor, Tube
from lugwright.circuit.edits import Edit, ScaleValue
from lugwright.circuit.elements import PentodeTube, TriodeTube, VacuumDiode, Windings
from lugwright.circuit.network import Circuit

Array = NDArray[np.float64]

DRAWS = 200
SEED = 1
MAINS_SPREAD = 0.03
COPPER_SPREAD = 0.05  # assumed; 0.4 percent for each kelvin
LOWEST_PERCENT, HIGHEST_PERCENT = 0.5, 99.5


def part_draws(build: Build, *, count: int = DRAWS, seed: int = SEED) -> list[Edit]:
    """Return edits that draw every resistor and pot evenly within its tolerance, the same for the same seed."""
    rng = np.random.default_rng(seed)
    ohmic = [(p, p.values.tolerance) for p in build.parts if isinstance(p.values, Resistor | Pot)]
    factors = 1.0 + rng.uniform(-1.0, 1.0, size=(count, len(ohmic))) * np.array([t for _, t in ohmic])
    return [
        Edit("", tuple(change for (part, _), f in zip(ohmic, row, strict=True) for change in _scaled(part, float(f))))
        for row in factors
    ]


def copper_draws(circuit: Circuit, *, count: int = DRAWS, seed: int = SEED) -> list[Edit]:
    """Return edits that draw the copper of every winding within 5 percent: specimen and a warmer room."""
    rng = np.random.default_rng(seed + 2)
    coils = [coil.name for e in circuit.elements if isinstance(e, Windings) for coil in e.coils]
    factors = 1.0 + rng.uniform(-COPPER_SPREAD, COPPER_SPREAD, size=(count, len(coils)))
    return [Edit("", tuple(ScaleValue(n, "ohm", float(f)) for n, f in zip(coils, row, strict=True))) for row in factors]


def running_draws(build: Build, circuit: Circuit, *, count: int = DRAWS, seed: int = SEED) -> list[Edit]:
    """Return `part_draws` with tubes drawn within their type's spread and mains within 3 percent."""
    rng = np.random.default_rng(seed + 1)
    spread = dict(section_spreads(build, circuit))
    tubes = 1.0 + rng.uniform(-1.0, 1.0, size=(count, len(spread))) * np.array(list(spread.values()))
    mains = 1.0 + rng.uniform(-MAINS_SPREAD, MAINS_SPREAD, size=count)
    return [
        edit
        + Edit("", tuple(ScaleValue(name, "on", float(f)) for name, f in zip(spread, row, strict=True)))
        + Edit("", (ScaleValue("mains", "rms_v", float(volts)),) if "mains" in circuit.by_name else ())
        for edit, row, volts in zip(part_draws(build, count=count, seed=seed), tubes, mains, strict=True)
    ]


def section_spreads(build: Build, circuit: Circuit) -> Iterator[tuple[str, float]]:
    """Yield every tube section of the circuit with the spread of its type. [-]"""
    types = {p.name: p.values.type for p in build.parts if isinstance(p.values, Tube)}
    for element in circuit.elements:
        if isinstance(element, TriodeTube | PentodeTube | VacuumDiode):
            owner = next(
                (n for n in types if element.name in _section_names(n) or element.name.startswith(f"{n}.")), ""
            )
            if owner:
                yield element.name, types[owner].spread


def sections_of(circuit: Circuit, tube: str) -> tuple[str, ...]:
    """Return the names of the elements that carry a tube's current."""
    return tuple(
        e.name
        for e in circuit.elements
        if isinstance(e, TriodeTube | PentodeTube | VacuumDiode)
        and (e.name in _section_names(tube) or e.name.startswith(f"{tube}."))
    )


def window(draws: Array) -> tuple[float, float]:
    """Return the bounds that 99 of 100 draws fall in; an infinite draw counts as the highest."""
    low = float(np.percentile(draws, LOWEST_PERCENT, method="lower"))
    high = float(np.percentile(draws, HIGHEST_PERCENT, method="higher"))
    return low, high


def _section_names(tube: str) -> tuple[str, ...]:
    return (tube, *(f"{tube}{letter}" for letter in "abcd"))


def _scaled(part: Part, factor: float) -> tuple[ScaleValue, ...]:
    if isinstance(part.values, Pot):
        return (ScaleValue(f"{part.name}.1-2", "ohm", factor), ScaleValue(f"{part.name}.2-3", "ohm", factor))
    return (ScaleValue(part.name, "ohm", factor),)
