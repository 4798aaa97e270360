"""Good builds differ: seeded draws of part values, tubes and mains, and the window a reading falls in."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import numpy as np
from numpy.typing import NDArray

from lugwright.buildfile.build import (
    COPPER_SPREAD,
    Build,
    Can,
    Capacitor,
    Choke,
    Part,
    Pot,
    Resistor,
    Transformer,
    Tube,
)
from lugwright.circuit.edits import Edit, ScaleValue
from lugwright.circuit.elements import PentodeTube, TriodeTube, VacuumDiode, Windings
from lugwright.circuit.network import Circuit

Array = NDArray[np.float64]

DRAWS = 200
SEED = 1
MEASURED_SPREAD = 0.02  # of a tube whose own emission is given: its meter
MAINS = ("mains", "rms_v")
SHARE = 0.99  # of good builds that fall in a window
MOST_SHARE = 0.99  # that this many draws can tell


Draws = Mapping[tuple[str, str], Array]  # (element, field) -> factor (draw)


def part_draws(build: Build, *, count: int = DRAWS, seed: int = SEED) -> list[Edit]:
    """Return edits that draw every resistor and pot evenly within its tolerance, the same for the same seed."""
    return edits_of(part_factors(build, count=count, seed=seed), count)


def copper_draws(build: Build, circuit: Circuit, *, count: int = DRAWS, seed: int = SEED) -> list[Edit]:
    """Return edits that draw the copper of every winding within what the build says of it."""
    rng = np.random.default_rng(seed + 2)
    spreads = {
        coil.name: copper_spread(build, e.name, coil.name)
        for e in circuit.elements
        if isinstance(e, Windings)
        for coil in e.coils
    }
    factors = 1.0 + rng.uniform(-1.0, 1.0, size=(count, len(spreads))) * np.array(list(spreads.values()))
    return edits_of({(name, "ohm"): column for name, column in zip(spreads, factors.T, strict=True)}, count)


def copper_spread(build: Build, part: str, coil: str) -> float:
    """Return how far the ohms of a coil of the circuit may be off, relative: less where they were measured.

    Parameters
    ----------
    build : Build
        The build.
    part, coil : str
        Names of the transformer or choke, and of the coil.

    Returns
    -------
    float
        To either side. [-]

    Source
    ------
    The build's own figures.
    """
    found = build.part_by_name.get(part)
    values = None if found is None else found.values
    if isinstance(values, Choke):
        return values.copper_spread
    windings = values.windings if isinstance(values, Transformer) else ()
    return next((w.copper_spread for w in windings if coil.startswith(f"{part}.{w.name}.")), COPPER_SPREAD)


def part_factors(build: Build, *, count: int, seed: int = SEED) -> Draws:
    """Return what every resistor and pot is multiplied with, evenly within its tolerance."""
    rng = np.random.default_rng(seed)
    ohmic = [(p, p.values.tolerance) for p in build.parts if isinstance(p.values, Resistor | Pot)]
    factors = 1.0 + rng.uniform(-1.0, 1.0, size=(count, len(ohmic))) * np.array([t for _, t in ohmic])
    return {
        (name, "ohm"): column
        for (part, _), column in zip(ohmic, factors.T, strict=True)
        for name in ohmic_elements(part)
    }


def capacitor_factors(build: Build, circuit: Circuit, *, count: int = DRAWS, seed: int = SEED) -> Draws:
    """Return what every capacitor is multiplied with, evenly within its tolerance, the same for the same seed."""
    rng = np.random.default_rng(seed + 3)
    known = {element.name for element in circuit.elements}
    farads = [
        (name, part.values.tolerance)
        for part in build.parts
        if isinstance(part.values, Capacitor | Can)
        for name in (part.name, *(f"{part.name}.{terminal.name}" for terminal in part.terminals))
        if name in known
    ]
    factors = 1.0 + rng.uniform(-1.0, 1.0, size=(count, len(farads))) * np.array([t for _, t in farads])
    return {(name, "farad"): column for (name, _), column in zip(farads, factors.T, strict=True)}


def running_factors(build: Build, circuit: Circuit, *, count: int = DRAWS, seed: int = SEED) -> Draws:
    """Return `part_factors` with tubes drawn within their type's spread and mains within the build's."""
    rng = np.random.default_rng(seed + 1)
    spread = dict(section_spreads(build, circuit))
    tubes = 1.0 + rng.uniform(-1.0, 1.0, size=(count, len(spread))) * np.array(list(spread.values()))
    mains = 1.0 + rng.uniform(-build.mains_spread, build.mains_spread, size=count)
    drawn: dict[tuple[str, str], Array] = dict(part_factors(build, count=count, seed=seed))
    drawn |= {(name, "on"): column for name, column in zip(spread, tubes.T, strict=True)}
    if MAINS[0] in circuit.by_name:
        drawn[MAINS] = mains
    return drawn


def edits_of(draws: Draws, count: int) -> list[Edit]:
    """Return the draws one by one, as edits."""
    return [
        Edit("", tuple(ScaleValue(element, field, float(f[k])) for (element, field), f in draws.items()))
        for k in range(count)
    ]


def section_spreads(build: Build, circuit: Circuit) -> Iterator[tuple[str, float]]:
    """Yield every tube section of the circuit with the spread of its type, or of its measurement. [-]"""
    tubes = {p.name: p.values for p in build.parts if isinstance(p.values, Tube)}
    for element in circuit.elements:
        if isinstance(element, TriodeTube | PentodeTube | VacuumDiode):
            owner = next(
                (n for n in tubes if element.name in _section_names(n) or element.name.startswith(f"{n}.")), ""
            )
            if owner:
                measured = element.name.removeprefix(owner) in tubes[owner].measured
                yield element.name, MEASURED_SPREAD if measured else tubes[owner].type.spread


def sections_of(circuit: Circuit, tube: str) -> tuple[str, ...]:
    """Return the names of the elements that carry a tube's current."""
    return tuple(
        e.name
        for e in circuit.elements
        if isinstance(e, TriodeTube | PentodeTube | VacuumDiode)
        and (e.name in _section_names(tube) or e.name.startswith(f"{tube}."))
    )


def window(draws: Array, share: float = SHARE) -> tuple[float, float]:
    """Return the bounds that a share of the draws falls in; an infinite draw counts as the highest."""
    low = float(np.percentile(draws, 50.0 * (1.0 - share), method="lower"))
    high = float(np.percentile(draws, 50.0 * (1.0 + share), method="higher"))
    return low, high


def _section_names(tube: str) -> tuple[str, ...]:
    return (tube, *(f"{tube}{letter}" for letter in "abcd"))


def ohmic_elements(part: Part) -> tuple[str, ...]:
    """Return the elements of the circuit that a resistor or pot stands for."""
    return (f"{part.name}.1-2", f"{part.name}.2-3") if isinstance(part.values, Pot) else (part.name,)
