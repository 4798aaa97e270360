"""All kinds of faults, one line each. A kind reads its faults off the planned wiring of a build."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

from lugwright.bringup.faults.case import FaultCase
from lugwright.bringup.faults.fault import Fault
from lugwright.bringup.faults.missing_wire import missing_wire
from lugwright.bringup.faults.odds import ODDS
from lugwright.bringup.faults.part_values import decade_off, misread, part_open, part_shorted
from lugwright.buildfile.build import Build
from lugwright.circuit.network import Circuit
from lugwright.layout.results import Plan

Kind = Callable[[FaultCase], Iterator[Fault]]

KINDS: tuple[tuple[str, Kind], ...] = (
    ("missing wire", missing_wire),
    ("part open", part_open),
    ("part shorted", part_shorted),
    ("part a decade off", decade_off),
    ("part misread", misread),
)


def faults_of(build: Build, circuit: Circuit, plan: Plan) -> tuple[Fault, ...]:
    """Return everything that is likely to go wrong with this build, each fault with a key of its own.

    Parameters
    ----------
    build : Build
        The amplifier.
    circuit : Circuit
        Its circuit.
    plan : Plan
        Its lug plan.

    Returns
    -------
    tuple of Fault
        In the order of the table. Several may do the same to the circuit: a wire that is missing, and one that was
        never wetted. The odds of a kind are shared among its faults.

    Valid
    -----
    One fault at a time; each is written for the build as planned.

    Source
    ------
    `lugwright.bringup.faults.odds` for how often.
    """
    case = FaultCase(build, circuit, plan)
    found: list[Fault] = []
    for name, kind in KINDS:
        some = list(kind(case))
        share = ODDS[name][0] / sum(fault.odds for fault in some) if some else 0.0
        found += [replace(fault, odds=fault.odds * share) for fault in some]
    return tuple(found)
