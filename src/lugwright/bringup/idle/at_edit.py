"""The amplifier solved anew under an edit: what every turn, target and corner of the idle is computed with."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from lugwright.bringup.bias_control import turned
from lugwright.bringup.idle.stage import OutputTube
from lugwright.bringup.idle_results import TubeState
from lugwright.buildfile.build import Part
from lugwright.circuit.edits import Edit
from lugwright.circuit.operating import Idle
from lugwright.solve.idle import solve_column
from lugwright.solve.readout import read_idle
from lugwright.solve.solved import Solved

INSTANTS = 63  # in a mains cycle: within 20 mV of every joint of the demonstration builds


@dataclass(frozen=True)
class AtEdit:
    """A circuit under an edit, solved and read. ``rotations`` says where the controls stand."""

    solved: Solved
    idle: Idle
    edit: Edit = field(default_factory=lambda: Edit(""))
    rotations: Mapping[str, float] = field(default_factory=dict)

    def further(self, edit: Edit) -> AtEdit:
        """Return the same circuit with one more edit.

        Raises
        ------
        NoIdlePoint
            There is no certified point.
        """
        both = Edit(edit.name, (*self.edit.changes, *edit.changes))
        system = self.solved.system
        solved = solve_column(system, system.values([both]), self.solved, instants=INSTANTS)
        return AtEdit(solved, read_idle(solved), both, self.rotations)

    def turned(self, rotations: Mapping[str, float], controls: Mapping[str, Part]) -> AtEdit:
        """Return the same circuit with controls turned to shares of their rotation."""
        changes = [c for name, share in rotations.items() for c in turned(controls[name], rotation=share).changes]
        further = self.further(Edit("", tuple(changes)))
        return AtEdit(further.solved, further.idle, further.edit, {**self.rotations, **rotations})

    def volts(self, red: str, black: str) -> float:
        """Return the DC volts from one joint to another. [V]"""
        joints = self.idle.joints
        return joints[red].volts - joints[black].volts

    def state(self, tube: OutputTube) -> TubeState:
        """Return how one output tube stands."""
        at = self.idle.tubes[tube.name]
        return TubeState(
            tube=tube.name,
            grid_v=self.idle.joints[tube.grid].volts,
            cathode_reading_v=self.volts(tube.cathode, tube.read_low),
            plate_a=at.plate_a,
            plate_to_cathode_v=at.plate_to_cathode_v,
            plate_w=at.plate_w,
            share=at.plate_w / tube.plate_limit_w,
        )
