"""Power-off resistance: what an ohmmeter settles to, plug out, tubes cold, capacitors charged by the meter.

The meter is in the circuit: a battery behind the resistor of its range, the lowest range that does not
overflow. A silicon junction conducts as far as the meter can open it, so a reading through one depends
on the meter; such readings are marked.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from lugwright.circuit.edits import Edit
from lugwright.circuit.elements import CurrentSource, PentodeTube, Resistor, TriodeTube, VacuumDiode, VoltageSource
from lugwright.circuit.network import Circuit
from lugwright.errors import NoIdlePoint
from lugwright.solve.dc import DcProblem, solve_dc
from lugwright.solve.idle import static_law
from lugwright.solve.sparse_lu import factor, solve_factored
from lugwright.solve.system import Array, Index, System

METER_V = 1.0  # open-circuit volts; half of it stands on the circuit at full scale
RANGES_OHM = (600.0, 6e3, 60e3, 600e3, 6e6, 60e6)  # full scale, and the resistor of the range
JUNCTION_SHARE = 0.02  # a reading that a junction changes by more than this is marked
_BLOCK = 32  # pairs solved together
_OPEN_OHM = 1e15


@dataclass(frozen=True)
class OhmReadings:
    """Readings (edit, pair), infinite above the last range; and which pairs read through a junction. [ohm]"""

    ohm: Array
    through_junction: NDArray[np.bool_]


def power_off(circuit: Circuit) -> Circuit:
    """Return the circuit with the plug pulled and every tube cold: no mains, no section conducting."""
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
    Every capacitor has finished charging from the meter; its leakage counts.

    Source
    ------
    Ohm and Kirchhoff; the meter is an assumption: 1 V behind the resistor of its range.
    """
    return ohm_readings(circuit, pairs, edits).ohm


def ohm_readings(circuit: Circuit, pairs: Sequence[tuple[str, str]], edits: Sequence[Edit] = ()) -> OhmReadings:
    """Return `resistance_ohm` and which pairs read through a junction."""
    meter = [
        part
        for k, (a, b) in enumerate(pairs)
        if a != b
        for part in (Resistor(f"meter.{k}", a, b, _OPEN_OHM, "meter"), CurrentSource(f"battery.{k}", b, a, 0.0))
    ]
    system = System(power_off(circuit).with_elements(meter))
    wanted = list(edits) or [Edit("")]
    values = system.values(wanted)
    red = np.array([system.row[a] for a, _ in pairs], dtype=np.intp)
    black = np.array([system.row[b] for _, b in pairs], dtype=np.intp)
    ohm = _linear(system, values, red, black)
    junction = np.zeros(len(pairs), dtype=bool)
    if system.diodes:
        nominal = _linear(system, system.base_values, red, black)[0]
        for k, (a, b) in enumerate(pairs):
            if a != b and (shown := _with_junctions(system, system.base_values, k, nominal[k])) is not None:
                junction[k] = abs(shown[0] / nominal[k] - 1.0) > JUNCTION_SHARE
                if junction[k]:
                    many = _with_junctions(system, values, k, shown[0])
                    ohm[:, k] = ohm[:, k] if many is None else many
    ohm[ohm > RANGES_OHM[-1]] = np.inf
    return OhmReadings(ohm, junction)


def _linear(system: System, values: Array, red: Index, black: Index) -> Array:
    """Return the resistance of the linear circuit between each pair (edit, pair)."""
    pattern = system.pattern
    factors = factor(pattern, system.matrix(np.real(system.admittances(values, 0.0))))
    result = np.empty((values.shape[1], len(red)))
    for first in range(0, len(red), _BLOCK):
        a, b = red[first : first + _BLOCK], black[first : first + _BLOCK]
        k = np.arange(len(a))
        drive = np.zeros((system.size + 1, len(a), values.shape[1]))
        drive[a, k] += 1.0
        drive[b, k] -= 1.0
        drive[-1] = 0.0
        x = np.concatenate([solve_factored(pattern, factors, drive[:-1]), np.zeros((1, len(a), values.shape[1]))])
        result[:, first : first + _BLOCK] = (x[a, k] - x[b, k]).T
    return result


def _with_junctions(system: System, values: Array, pair: int, guess: float) -> Array | None:
    """Return the readings of one pair with its junctions conducting, or None when over range."""
    table = values.copy()
    for scale in (r for r in RANGES_OHM if r >= min(guess, RANGES_OHM[-1]) * 1e-3):
        table[system.value_row[f"meter.{pair}", "ohm"]] = scale
        table[system.value_row[f"battery.{pair}", "amps"]] = METER_V / scale
        point = solve_dc(
            DcProblem(system, table, static_law(system, table)), np.zeros((system.size + 1, table.shape[1]))
        )
        if not point.solved.all():
            raise NoIdlePoint(
                what="a resistance reading is not certified",
                found=f"between {_ends(system, pair)}: currents do not cancel",
                wanted="currents that cancel at every joint",
                do="look for an unusual part between these joints",
            )
        element = system.circuit.by_name[f"meter.{pair}"]
        a, b = (system.row[j] for j in element.joints)
        across = point.volts[a] - point.volts[b]
        through = METER_V / scale - across / scale
        reading = np.where(through > 0, across / np.maximum(through, 1e-18), np.inf)
        if reading.max() <= scale:
            return np.asarray(reading)
    return None


def _ends(system: System, pair: int) -> str:
    return " and ".join(system.circuit.by_name[f"meter.{pair}"].joints)
