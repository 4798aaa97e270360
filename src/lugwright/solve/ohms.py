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
from lugwright.solve.dc import DcPoint, DcProblem, solve_dc
from lugwright.solve.idle import static_law
from lugwright.solve.sparse_lu import factor, solve_factored
from lugwright.solve.system import Array, Index, System

METER_V = 1.0  # open-circuit volts; half of it stands on the circuit at full scale
RANGES_OHM = (600.0, 6e3, 60e3, 600e3, 6e6, 60e6)  # full scale, and the resistor of the range
JUNCTION_SHARE = 0.02  # a reading that a junction changes by more than this is marked
OTHER = 2.0  # times what a pair reads as the circuit is, from which on an edit's reading is looked at for itself
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
        apart = np.flatnonzero(red != black)
        shown, volts = _with_junctions(system, np.repeat(system.base_values, len(apart), axis=1), apart, nominal[apart])
        junction[apart] = np.abs(shown / nominal[apart] - 1.0) > JUNCTION_SHARE
        through, count = apart[junction[apart]], values.shape[1]
        many, _ = _with_junctions(
            system,
            np.tile(values, len(through)),
            np.repeat(through, count),
            np.repeat(shown[junction[apart]], count),
            np.repeat(volts[:, junction[apart]], count, axis=1),
        )
        many = many.reshape(len(through), count)
        ohm[:, through] = np.where(np.isfinite(many).all(axis=1, keepdims=True), many, ohm[:, through].T).T
        _through_other_junctions(system, values, ohm, (red != black) & ~junction, nominal)
    ohm[ohm > RANGES_OHM[-1]] = np.inf
    return OhmReadings(ohm, junction)


def _through_other_junctions(
    system: System, values: Array, ohm: Array, straight: NDArray[np.bool_], nominal: Array
) -> None:
    """Read again what an edit makes another reading, such as a contact that opens: it may lead through a junction now.

    ``straight`` says which pairs do not as the circuit is, ``nominal`` what these read then.
    """
    another = straight & (np.maximum(ohm, nominal) > OTHER * np.minimum(ohm, nominal))
    edit, pair = np.nonzero(another)
    if len(edit):
        shown, _ = _with_junctions(system, values[:, edit], pair, ohm[edit, pair])
        with np.errstate(divide="ignore", invalid="ignore"):
            through = np.abs(shown / ohm[edit, pair] - 1.0) > JUNCTION_SHARE
        ohm[edit[through], pair[through]] = shown[through]


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


def _with_junctions(
    system: System, values: Array, pairs: Index, guess: Array, start: Array | None = None
) -> tuple[Array, Array]:
    """Return a reading for each column of values, of that column's pair, with its junctions conducting, and its volts.

    Not a number where even the last range overflows. ``start`` holds volts near the answer (joint + ground, column).
    """
    found = np.full(len(pairs), np.nan)
    volts = np.zeros((system.size + 1, len(pairs))) if start is None else start.copy()
    meters, batteries = (
        np.array([system.value_row[f"{name}.{pair}", field] for pair in pairs], dtype=np.intp)
        for name, field in (("meter", "ohm"), ("battery", "amps"))
    )
    ends = [system.circuit.by_name[f"meter.{pair}"].joints for pair in pairs]
    red, black = (np.array([system.row[e[k]] for e in ends], dtype=np.intp) for k in (0, 1))
    for scale in RANGES_OHM:
        columns = np.flatnonzero(np.isnan(found) & (scale >= np.minimum(guess, RANGES_OHM[-1]) * 1e-3))
        if not len(columns):
            continue
        table = values[:, columns]
        each = np.arange(len(columns))
        table[meters[columns], each] = scale
        table[batteries[columns], each] = METER_V / scale
        point = solve_dc(DcProblem(system, table, static_law(system, table)), volts[:, columns])
        volts[:, columns] = point.volts
        _refuse_uncertified(system, point, pairs[columns])
        across = point.volts[red[columns], each] - point.volts[black[columns], each]
        through = METER_V / scale - across / scale
        reading = np.where(through > 0, across / np.maximum(through, 1e-18), np.inf)
        found[columns] = np.where(reading <= scale, reading, np.nan)
    return found, volts


def _refuse_uncertified(system: System, point: DcPoint, pairs: Index) -> None:
    if not point.solved.all():
        raise NoIdlePoint(
            what="a resistance reading is not certified",
            found=f"between {_ends(system, int(pairs[np.flatnonzero(~point.solved)[0]]))}: currents do not cancel",
            wanted="currents that cancel at every joint",
            do="look for an unusual part between these joints",
        )


def _ends(system: System, pair: int) -> str:
    return " and ".join(system.circuit.by_name[f"meter.{pair}"].joints)
