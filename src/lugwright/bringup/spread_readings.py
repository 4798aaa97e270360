"""The readings of which the spread is told: supplies, pins, currents, heat."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lugwright.solve.many import ManyIdles
from lugwright.solve.system import System

Array = NDArray[np.float64]


@dataclass(frozen=True)
class SpreadReading:
    """One reading of many builds; ``key`` marks those that worst corners are looked for."""

    name: str
    unit: str
    of: Callable[[ManyIdles], Array]
    key: bool = False


def spread_readings(system: System) -> tuple[SpreadReading, ...]:
    """Return the readings of a circuit: B+ nodes, then tube by tube."""
    return (*_supplies(system), *_triodes(system), *_pentodes(system))


def _joint(name: str, joint: str, *, key: bool = False) -> SpreadReading:
    return SpreadReading(name, "V", lambda many: many.level_at(joint), key)


def _supplies(system: System) -> Iterator[SpreadReading]:
    nodes = sorted((j for j in system.joints if j.startswith("B+")), key=lambda j: (len(j), j))
    for position, joint in enumerate(nodes):
        yield _joint(f"{joint} to ground", joint, key=position == 0)


def _triodes(system: System) -> Iterator[SpreadReading]:
    last = not system.pentodes  # without pentodes the triodes are what gets hot
    for row, tube in enumerate(system.triodes):
        yield from _pins(system, tube.name, (("plate", tube.plate), ("grid", tube.grid), ("cathode", tube.cathode)))
        yield SpreadReading(f"{tube.name} plate current", "A", lambda many, row=row: many.tubes.triode_a[0][row])  # type: ignore[misc]
        yield SpreadReading(
            f"{tube.name} plate heat", "W",
            lambda many, row=row: many.tubes.triode_a[0][row] * many.tubes.triode_v[0][row], last,  # type: ignore[misc]
        )  # fmt: skip


def _pentodes(system: System) -> Iterator[SpreadReading]:
    for row, tube in enumerate(system.pentodes):
        pins = (("plate", tube.plate), ("screen", tube.screen), ("grid", tube.grid), ("cathode", tube.cathode))
        yield from _pins(system, tube.name, pins)
        for which, electrode in enumerate(("plate", "screen")):
            yield SpreadReading(
                f"{tube.name} {electrode} current", "A",
                lambda many, row=row, which=which: many.tubes.pentode_a[which][row],  # type: ignore[misc]
            )  # fmt: skip
            yield SpreadReading(
                f"{tube.name} {electrode} heat", "W",
                lambda many, row=row, which=which: (  # type: ignore[misc]
                    many.tubes.pentode_a[which][row] * many.tubes.pentode_v[which][row]
                ),
                electrode == "plate",
            )  # fmt: skip


def _pins(system: System, tube: str, pins: tuple[tuple[str, str], ...]) -> Iterator[SpreadReading]:
    for electrode, joint in pins:
        if joint != system.circuit.ground:
            yield _joint(f"{tube} {electrode}", joint)
