"""What an ohmmeter reads in thousands of wirings, plug out; `lugwright.solve.ohms` does the same for one.

The circuit is linear but for its silicon junctions. A reading that these could change is solved again with the meter
and the junctions in; where a wiring leaves a reading alone, the answer of the circuit as planned stands for it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from lugwright.circuit.elements import PentodeTube, TriodeTube, VacuumDiode, VoltageSource
from lugwright.circuit.network import Circuit
from lugwright.circuit.rewiring import Rewiring
from lugwright.solve.device_laws import DiodeLaws, diode_laws
from lugwright.solve.ohms import JUNCTION_SHARE, METER_V, RANGES_OHM, power_off
from lugwright.solve.rewired_causes import BranchCauses, Cause, branch_causes
from lugwright.solve.rewired_columns import RewiredColumns, compiled
from lugwright.solve.rewired_matrix import UpdatedInverse, base_inverse, solved_each
from lugwright.solve.rewired_ports import Ports
from lugwright.solve.system import TIE_S, Array, Index, System

STIRS = 1e-3  # share of the meter's current through a junction from which on it is looked at
SAME = 1e-7  # a reading and what it shows of the junctions count as those of the circuit as planned
STEPS = 60
BENCH_LEAK_S = 1e-10  # at a joint that a wiring makes: far beyond the last range, and above the noise of a milliohm

Pair = tuple[str, str]


@dataclass(frozen=True)
class OhmsRewired:
    """Readings (column, pair) in ohms, infinite above the last range.

    ``by_cause`` is how the logarithm of a reading follows the logarithm of each cause's value (column, pair, cause);
    a reading through a junction follows none, for the meter itself decides it.
    """

    ohm: Array
    by_cause: Array
    through_junction: NDArray[np.bool_]


def ohms_rewired(
    circuit: Circuit,
    pairs: Sequence[Pair],
    rewirings: Sequence[Rewiring],
    *,
    stands: Sequence[Sequence[Pair]] | None = None,
    causes: Sequence[Cause] = (),
) -> OhmsRewired:
    """Return what the meter reads between pairs of joints in many wirings of a circuit.

    Parameters
    ----------
    circuit : Circuit
        The circuit on the bench; plug and tubes are taken care of.
    pairs : sequence of (str, str)
        Red lead, black lead.
    rewirings : sequence of Rewiring
        What is otherwise in each column.
    stands : sequence of sequences of (str, str)
        For each wiring the joints its leads stand on, where these are not the same for all.
    causes : sequence of (str, str)
        Element (or coil) and field whose share in each reading is wanted.

    Returns
    -------
    OhmsRewired
        Readings (column, pair). [ohm]

    Raises
    ------
    CircuitError
        A wiring moves an end, or sets a value, that the circuit does not have.

    Valid
    -----
    As `lugwright.solve.ohms.resistance_ohm`, but not where a wiring touches joints that float with the plug out, as
    the mains side does: between these only the difference of two huge numbers is left, and
    `lugwright.solve.ohms.ohm_readings` of that one wiring is to be asked.

    Source
    ------
    Ohm and Kirchhoff; Woodbury's identity.
    """
    system = _bench_system(circuit)
    columns = compiled(system, tuple(_unplugged(circuit, rewiring) for rewiring in rewirings), BENCH_LEAK_S, TIE_S)
    leads = _leads(columns, stands if stands is not None else [pairs] * len(rewirings), pairs)
    unplugged = [e.name for e in circuit.elements if isinstance(e, VoltageSource)]
    return _Bench(columns, leads, branch_causes(system, causes, unplugged)).read()


@lru_cache(maxsize=2)
def _bench_system(circuit: Circuit) -> System:
    """Return the circuit that the meter sees; whoever asks about the same again gets the same."""
    return System(power_off(circuit))


def _unplugged(circuit: Circuit, rewiring: Rewiring) -> Rewiring:
    """Return a wiring without what a cold and unplugged amplifier does not show."""
    gone = {e.name for e in circuit.elements if isinstance(e, VoltageSource)}
    cold = {e.name for e in circuit.elements if isinstance(e, TriodeTube | PentodeTube | VacuumDiode)}
    changes = tuple(
        c for c in rewiring.changes if c.element not in gone and not (c.element in cold and c.field == "on")
    )
    return replace(rewiring, changes=changes, moved=tuple(m for m in rewiring.moved if m.element not in gone))


def _leads(columns: RewiredColumns, stands: Sequence[Sequence[Pair]], pairs: Sequence[Pair]) -> tuple[Index, Index]:
    """Return the rows of red and black (column, pair)."""
    if all(own is pairs for own in stands):
        red, black = (columns.rows([pair[k] for pair in pairs]) for k in (0, 1))
        return red, black
    apart = {id(own): tuple([pair[k] for pair in own] for k in (0, 1)) for own in stands}
    red, black = (columns.rows_in(range(columns.count), [apart[id(own)][k] for own in stands]) for k in (0, 1))
    return red, black


class _Bench:
    def __init__(self, columns: RewiredColumns, leads: tuple[Index, Index], causes: BranchCauses) -> None:
        self.columns, self.system = columns, columns.system
        self.red, self.black = leads
        self.values = columns.values(self.system.base_values)
        self.own_y = np.real(self.system.admittances(self.values, 0.0))
        self.base_y = np.real(self.system.admittances(self.system.base_values, 0.0))[:, 0]
        self.causes = causes
        self.ohm = np.full(self.red.shape, np.inf)
        self.junction = np.zeros(self.red.shape, dtype=bool)
        self.by_cause = np.zeros((*self.red.shape, causes.count))

    def read(self) -> OhmsRewired:
        """Return every reading."""
        inverse = base_inverse(self.columns, self.system.matrix(self.base_y[:, None])[:, 0])
        for layout in self.columns.layouts(coupled=False, held=inverse.held):
            part = layout.differences(self.base_y, self.own_y)
            updated = UpdatedInverse(inverse, part)
            self._straight(part.columns, updated)
            if len(self.system.diodes):
                self._through_junctions(part.columns, updated)
            if self.causes.count:
                self._shares(part.columns, updated)
        self.by_cause[self.junction] = 0.0
        self.ohm[self.ohm > RANGES_OHM[-1]] = np.inf
        return OhmsRewired(self.ohm, self.by_cause, self.junction)

    def _straight(self, chosen: Index, updated: UpdatedInverse) -> None:
        self.ohm[chosen] = np.maximum(updated.shown(self.red[chosen], self.black[chosen]), 0.0)

    def _through_junctions(self, chosen: Index, updated: UpdatedInverse) -> None:
        """Read again, with the meter and all junctions in, where a junction would carry a share of its current."""
        ports = Ports.of(self.system, self.columns.ends[:, chosen])
        junctions = (ports.a[-len(self.system.diodes) :].T, ports.b[-len(self.system.diodes) :].T)
        seen = updated.between((self.red[chosen], self.black[chosen]), junctions)
        laws = diode_laws(self.system, self.values[:, chosen])
        stirred = _stirred(laws, self.ohm[chosen], seen)
        column, pair = np.nonzero(stirred)
        if not len(column):
            return
        between = updated.between(junctions, junctions)
        ohm = self.ohm[chosen[column], pair]
        shown = _read_with_junctions(_only(laws, column), between[column], seen[column, pair], ohm)
        through = np.isfinite(shown) & (np.abs(shown - ohm) > JUNCTION_SHARE * ohm)
        self.junction[chosen[column], pair] = through
        self.ohm[chosen[column], pair] = np.where(through, shown, ohm)

    def _shares(self, chosen: Index, updated: UpdatedInverse) -> None:
        n = len(self.system.branch_a)
        ends = self.columns.ends[:, chosen]
        branches = self.causes.branches
        at = (ends[branches].T, ends[branches + n].T)
        volts = updated.between((self.red[chosen], self.black[chosen]), at)  # of each part, for 1 A
        siemens = self.own_y[:, chosen][self.causes.pairs].T[:, None, :]
        ohm = self.ohm[chosen][:, :, None]
        share = np.where(np.isfinite(ohm) & (ohm > 0.0), volts * volts * siemens / np.maximum(ohm, 1e-12), 0.0)
        self.by_cause[chosen] = self.causes.spread(share * self.causes.signs)


def _only(laws: DiodeLaws, pick: Index) -> DiodeLaws:
    """Return the laws of some columns, in the order asked for."""
    fields = ("on", "threshold_v", "smooth_v", "bulk_ohm", "at_zero", "zener_v", "perveance")
    return replace(laws, **{name: getattr(laws, name)[:, pick] for name in fields})


def _range_of(ohm: Array) -> Array:
    """Return the range, by its full scale, that shows each reading. [ohm]"""
    scales = np.array(RANGES_OHM)
    return scales[np.minimum(np.searchsorted(scales, ohm), len(scales) - 1)]


def _stirred(laws: DiodeLaws, ohm: Array, seen: Array) -> NDArray[np.bool_]:
    """Return which readings (column, pair) push a share of the meter's current through a junction."""
    amps = METER_V / (_range_of(ohm) + ohm)
    every = np.broadcast_to(seen.transpose(2, 0, 1) * amps, (seen.shape[2], *amps.shape))
    flat = every.reshape(seen.shape[2], -1)
    column = np.repeat(np.arange(len(ohm)), ohm.shape[1])
    current, _ = _only(laws, column).currents_a(flat)
    return np.asarray(np.abs(current).max(axis=0).reshape(amps.shape) > STIRS * amps)


def _read_with_junctions(laws: DiodeLaws, between: Array, seen: Array, ohm: Array) -> Array:
    """Return readings (reading) of the meter with the junctions in: the lowest range that shows each.

    ``between`` is the resistance between junctions (reading, junction, junction), ``seen`` that between the leads and
    each junction (reading, junction), ``ohm`` that between the leads.
    """
    found = np.full(len(ohm), np.inf)
    open_ = np.ones(len(ohm), dtype=bool)
    u = np.zeros(seen.shape)
    for scale in RANGES_OHM:
        going = np.flatnonzero(open_)
        if not len(going):
            continue
        whole = scale + ohm[going]
        pull = seen[going][:, :, None] * seen[going][:, None, :] / whole[:, None, None]
        start = seen[going] * (METER_V / whole)[:, None]
        u[going], amps = _junction_volts(_only(laws, going), between[going] - pull, start, u[going])
        across = METER_V * ohm[going] / whole - np.sum(seen[going] * amps, axis=1) * scale / whole
        reading = scale * across / np.maximum(METER_V - across, 1e-12)
        shows = (reading <= scale) & np.isfinite(reading)
        found[going[shows]] = reading[shows]
        open_[going[shows]] = False
    return found


def _junction_volts(laws: DiodeLaws, between: Array, open_v: Array, start: Array) -> tuple[Array, Array]:
    """Return the junctions' volts and currents (reading, junction): u = open - Z i(u), by Newton's method."""
    u, going = start.copy(), np.arange(len(start))
    unit = np.arange(start.shape[1])
    with np.errstate(over="ignore", invalid="ignore"):  # a reading that runs away ends without numbers
        for _ in range(STEPS):
            amps, steep = _only(laws, going).currents_a(u[going].T)
            left = u[going] - open_v[going] + np.einsum("kij,jk->ki", between[going], amps)
            matrix = between[going] * steep.T[:, None, :]
            matrix[:, unit, unit] += 1.0
            move = solved_each(matrix, left[:, :, None])[:, :, 0]
            u[going] -= move
            going = going[~(np.abs(move).max(axis=1) <= 1e-9)]
            if not len(going):
                break
        u[going] = np.nan
        return u, laws.currents_a(u.T)[0].T
