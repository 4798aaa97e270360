"""What a rectifier's law gives at the operating rows of its data file: full wave, capacitor input, steady load."""

from __future__ import annotations

from law_figures import Row, number
from lugwright.circuit.elements import Capacitor, CurrentSource, VacuumDiode, VoltageSource
from lugwright.circuit.network import Circuit
from lugwright.solve.idle import solve_idle

LEAK_S = 1e-7  # of the capacitor


def supply_v(perveance: float, row: Row) -> float:
    """Return the direct volts across the first capacitor. [V]"""
    rms, ohm = number(row, "plate_rms_v"), number(row, "supply_ohm")
    circuit = Circuit(
        (
            VoltageSource("S1", "a", "ground", 0.0, rms, ohm),
            VoltageSource("S2", "ground", "b", 0.0, rms, ohm),
            VacuumDiode("V1.plate1", "a", "out", perveance),
            VacuumDiode("V1.plate2", "b", "out", perveance),
            Capacitor("C1", "out", "ground", number(row, "reservoir_f"), leak_s=LEAK_S),
            CurrentSource("load", "out", "ground", number(row, "output_a")),
        ),
        mains_hz=number(row, "mains_hz"),
    )
    return solve_idle(circuit)[0].joints["out"].volts
