"""Rating rules: each one file, each one line in the table."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from lugwright.buildfile.build import Build
from lugwright.circuit.operating import Idle, Rating
from lugwright.circuit.rules.bleeder import bleeder
from lugwright.circuit.rules.capacitor_volts import capacitor_reversed, capacitor_volts
from lugwright.circuit.rules.case import Case, Checked
from lugwright.circuit.rules.cathode_current import cathode_current
from lugwright.circuit.rules.choke_current import choke_current
from lugwright.circuit.rules.contact_current import contact_current
from lugwright.circuit.rules.diode_limits import diode_current, diode_inverse, zener_heat
from lugwright.circuit.rules.fuse_size import fuse_size
from lugwright.circuit.rules.grid_circuit import grid_circuit
from lugwright.circuit.rules.heater_cathode import heater_cathode
from lugwright.circuit.rules.heater_volts import heater_volts
from lugwright.circuit.rules.inrush_limiter import inrush_limiter
from lugwright.circuit.rules.mains_wiring import (
    ground_on_chassis,
    mains_fuse_place,
    mains_switch_poles,
    second_ground_bond,
)
from lugwright.circuit.rules.measured_tube import measured_tube
from lugwright.circuit.rules.power_doubt import power_doubt
from lugwright.circuit.rules.primary_volts import primary_volts
from lugwright.circuit.rules.rectifier_tube import rectifier_tube
from lugwright.circuit.rules.resistor_heat import pot_heat, resistor_heat
from lugwright.circuit.rules.resistor_volts import resistor_volts
from lugwright.circuit.rules.speaker_load import speaker_load
from lugwright.circuit.rules.stacked_capacitors import stacked_capacitors
from lugwright.circuit.rules.tube_feed import tube_feed
from lugwright.circuit.rules.tube_heat import plate_heat, screen_heat
from lugwright.circuit.rules.tube_volts import tube_volts, tube_volts_cold
from lugwright.circuit.rules.unknown_limits import unknown_limits
from lugwright.circuit.rules.winding_load import winding_load
from lugwright.findings import Finding, sorted_by_grade

Rule = Callable[[Case], Iterator[Checked]]

# Rules whose figures move with the idle of a build; those below hold whatever its tubes and mains do.
AT_IDLE: tuple[Rule, ...] = (
    winding_load,
    heater_volts,
    primary_volts,
    resistor_heat,
    pot_heat,
    resistor_volts,
    capacitor_volts,
    capacitor_reversed,
    stacked_capacitors,
    plate_heat,
    screen_heat,
    tube_feed,
    tube_volts,
    tube_volts_cold,
    cathode_current,
    heater_cathode,
    diode_inverse,
    diode_current,
    zener_heat,
    choke_current,
    rectifier_tube,
    fuse_size,
)
RULES: tuple[Rule, ...] = (
    *AT_IDLE,
    grid_circuit,
    bleeder,
    mains_fuse_place,
    mains_switch_poles,
    ground_on_chassis,
    second_ground_bond,
    contact_current,
    inrush_limiter,
    speaker_load,
    unknown_limits,
    measured_tube,
    power_doubt,
)


def ratings(
    build: Build, idle: Idle, cold: Idle, rules: Sequence[Rule] = RULES
) -> tuple[tuple[Rating, ...], tuple[Finding, ...]]:
    """Return every figure held against its limit, and what was found, worst first.

    Parameters
    ----------
    build : Build
        The amplifier.
    idle : Idle
        Mains on, no signal.
    cold : Idle
        The same in the first seconds: no amplifying tube conducts.
    rules : sequence of rules
        Those to look with.

    Returns
    -------
    tuple
        Ratings in the order of the rules, findings by grade.
    """
    return judged(Case(build, idle, cold), rules)


def judged(case: Case, rules: Sequence[Rule] = RULES) -> tuple[tuple[Rating, ...], tuple[Finding, ...]]:
    """Return `ratings` of a case."""
    checked = [item for rule in rules for item in rule(case)]
    rows = tuple(item for item in checked if isinstance(item, Rating))
    return rows, tuple(sorted_by_grade([item for item in checked if isinstance(item, Finding)]))
