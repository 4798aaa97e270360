"""A process made ready to solve wirings by the thousand before anybody has asked for any."""

from __future__ import annotations

from lugwright.circuit.edits import ScaleValue
from lugwright.circuit.elements import Capacitor, Coil, Junction, Resistor, VoltageSource, Windings
from lugwright.circuit.network import Circuit
from lugwright.circuit.rewiring import Moved, Rewiring
from lugwright.solve import by_machine
from lugwright.solve.idle import solve_columns
from lugwright.solve.kernel.kept import prepared
from lugwright.solve.rewired import solve_rewired
from lugwright.solve.rewired_newton import full_move


def load() -> None:
    """Load all machine code for wirings; compiles what has not been compiled yet.

    A half wave into a filter, in three wirings: with another load, the other way round, and onto the second capacitor.
    These settle at once; a step that points take that have not is taken by itself. What solves single columns is loaded
    where it has been compiled before.
    """
    coils = (Coil("T1.1", "line", "ground", 120.0, 2.0), Coil("T1.2", "a", "ground", 100.0, 40.0))
    parts = (
        VoltageSource("mains", "line", "ground", 0.0, 120.0, 0.4), Windings("T1", coils, 2.0),
        Junction("CR1", "a", "raw"), Capacitor("C1", "raw", "ground", 47e-6), Resistor("R1", "raw", "out", 1e3),
        Capacitor("C2", "out", "ground", 47e-6), Resistor("R2", "out", "ground", 4e3),
    )  # fmt: skip
    (base,) = solve_columns(Circuit(parts))
    heavier = Rewiring("heavier", changes=(ScaleValue("R2", "ohm", 0.1),))
    back = Rewiring("back", moved=(Moved("CR1", "anode", "raw"), Moved("CR1", "cathode", "a")))
    if prepared():
        by_machine.load()
    many = solve_rewired(base, [heavier, back, Rewiring("late", moved=(Moved("CR1", "cathode", "out"),))])
    block = many.blocks[0]
    full_move(base.system, block, many.answer.only(block.chosen), many.left_over_a[:, block.chosen])
