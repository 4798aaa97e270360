"""What differs from build to build: each part, tube section and the mains, with how far it may be off."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from lugwright.bringup.good_builds import MAINS, Draws, ohmic_elements, section_spreads
from lugwright.buildfile.build import Build, Pot, Resistor
from lugwright.circuit.network import Circuit


@dataclass(frozen=True)
class Cause:
    """One thing that is off by up to ``extent``, and the values of the circuit that follow it."""

    part: str
    extent: float
    values: tuple[tuple[str, str], ...]  # (element, field)


def causes_of(build: Build, circuit: Circuit) -> tuple[Cause, ...]:
    """Return everything that is drawn."""
    found = [
        Cause(part.name, part.values.tolerance, tuple((name, "ohm") for name in ohmic_elements(part)))
        for part in build.parts
        if isinstance(part.values, Resistor | Pot)
    ]
    found += [Cause(name, extent, ((name, "on"),)) for name, extent in section_spreads(build, circuit)]
    if MAINS[0] in circuit.by_name:
        found.append(Cause("mains", build.mains_spread, (MAINS,)))
    return tuple(found)


def one_at_a_time(causes: Sequence[Cause]) -> Draws:
    """Return factors for one build per cause: that cause at its upper end, all others as drawn."""
    return factors_of(causes, np.eye(len(causes)))


def factors_of(causes: Sequence[Cause], ends: np.ndarray) -> Draws:
    """Return factors for builds (cause, build) whose causes stand at -1 (lower end) to 1 (upper end)."""
    return {value: 1.0 + cause.extent * ends[row] for row, cause in enumerate(causes) for value in cause.values}
