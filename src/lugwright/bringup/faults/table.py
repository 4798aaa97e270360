"""All kinds of faults, one line each. A kind reads its faults off the planned wiring of a build."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

from lugwright.bringup.faults.backward import backward, leaky
from lugwright.bringup.faults.bridged import bridged, cut_insulation, dirty_strip, shield
from lugwright.bringup.faults.case import FaultCase
from lugwright.bringup.faults.controls import fuse, pot_wiring, switch_or_jack
from lugwright.bringup.faults.dry_joint import cold_lead, dry_joint
from lugwright.bringup.faults.fault import Fault
from lugwright.bringup.faults.grounds import broken_bus, mains_side, second_ground
from lugwright.bringup.faults.heater_wiring import heater_wiring
from lugwright.bringup.faults.missing_wire import missing_wire
from lugwright.bringup.faults.odds import ODDS
from lugwright.bringup.faults.one_over import part_one_over, wire_one_over
from lugwright.bringup.faults.part_values import decade_off, misread, part_open, part_shorted
from lugwright.bringup.faults.socket_wiring import counted_wrong, swapped
from lugwright.bringup.faults.transformer_leads import output_load, transformer_leads
from lugwright.bringup.faults.tube_faults import tube_faults
from lugwright.bringup.faults.wrong_tube import wrong_tube
from lugwright.buildfile.build import Build
from lugwright.circuit.network import Circuit
from lugwright.layout.results import Plan

Kind = Callable[[FaultCase], Iterator[Fault]]

KINDS: tuple[tuple[str, Kind], ...] = (
    ("missing wire", missing_wire),
    ("dry joint", dry_joint),
    ("cold lead", cold_lead),
    ("wire end one over", wire_one_over),
    ("part lead one over", part_one_over),
    ("bridged", bridged),
    ("shield", shield),
    ("cut insulation", cut_insulation),
    ("dirty strip", dirty_strip),
    ("part open", part_open),
    ("part shorted", part_shorted),
    ("part a decade off", decade_off),
    ("part misread", misread),
    ("wired backward", backward),
    ("leaky", leaky),
    ("pot wiring", pot_wiring),
    ("switch or jack", switch_or_jack),
    ("fuse", fuse),
    ("socket counted wrong", counted_wrong),
    ("electrodes swapped", swapped),
    ("heater wiring", heater_wiring),
    ("tube", tube_faults),
    ("wrong tube", wrong_tube),
    ("transformer leads", transformer_leads),
    ("output load", output_load),
    ("mains side", mains_side),
    ("second ground", second_ground),
    ("broken bus", broken_bus),
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
