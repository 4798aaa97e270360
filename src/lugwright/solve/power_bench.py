"""An amplifier on the bench: a generator in its input jack, a load on its speaker terminals, mains on."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from lugwright.buildfile.build import Build, Part, Speaker
from lugwright.circuit.audio import audio_circuit
from lugwright.circuit.elements import VoltageSource
from lugwright.circuit.points import input_jack, plugged, speaker
from lugwright.errors import NoSteadyState
from lugwright.solve.idle import solve_column
from lugwright.solve.power_readout import Load, Reading, load_of
from lugwright.solve.solved import Solved
from lugwright.solve.sustained import Sustained, Tone
from lugwright.solve.system import System

GENERATOR, GENERATOR_OHM = "generator", 600.0
COARSE, FINE = 24, 48  # harmonics
LEAST_GAIN = 0.1  # less of the input at the speaker is no signal path
_WHISPER_V = 1e-4


@dataclass(frozen=True)
class PowerBench:
    """The idle of the whole set-up, and what is driven and read."""

    idle: Solved
    jack: str
    speaker: str
    plus: str
    minus: str
    load: str
    load_ohm: float

    def driven(self, *, hz: float = 1000.0, harmonics: int = COARSE) -> Sustained:
        """Return it ready to be driven at multiples of a base frequency."""
        return Sustained(self.idle, GENERATOR, hz=hz, harmonics=harmonics)

    def load_on(self, driven: Sustained) -> Load:
        """Return the load as it is read."""
        return load_of(driven, self.speaker, self.plus, self.minus)


def power_bench(build: Build, *, loudspeaker: bool = False) -> PowerBench:
    """Return a build on the bench.

    Parameters
    ----------
    build : Build
        The amplifier, its knobs where they are meant to be.
    loudspeaker : bool
        The loudspeaker model as the load, in place of a resistor of the nominal impedance.

    Returns
    -------
    PowerBench
        With its idle.

    Raises
    ------
    NoSteadyState
        There is no input jack or no speaker.
    NoIdlePoint
        No certified idle.
    """
    jack, load = _wanted(input_jack(build), "input jack"), _wanted(speaker(build), "speaker")
    tip, sleeve = jack.terminal("tip").joint, jack.terminal("sleeve").joint
    generator = VoltageSource(GENERATOR, tip, sleeve, 0.0, 0.0, GENERATOR_OHM)
    system = System(audio_circuit(build, resistive_speaker=not loudspeaker).with_elements([generator]))
    idle = solve_column(system, system.values([plugged(build, tip)]))
    ohm = load.values.ohm if isinstance(load.values, Speaker) else float("nan")
    plus, minus = (terminal.joint for terminal in load.terminals[:2])
    kind = "loudspeaker model" if loudspeaker else "resistor"
    return PowerBench(idle, jack.name, load.name, plus, minus, kind, ohm)


def _wanted(part: Part | None, what: str) -> Part:
    if part is not None:
        return part
    raise NoSteadyState(
        what="the output power cannot be computed",
        found=f"no {what} in the build file",
        wanted="a jack that the signal goes into and a speaker that it comes out of",
        do=f"add the {what}",
    )


def gain(driven: Sustained, load: Load) -> float:
    """Return the small-signal gain from the generator to the speaker at the base frequency.

    Raises
    ------
    NoSteadyState
        Nothing of the signal reaches the speaker.
    """
    point = driven.drive([Tone(1, _WHISPER_V)], exact=False)
    reading = Reading(driven, point)
    row = reading.system.row
    volts = reading.joint_v[row[load.plus], 1] - reading.joint_v[row[load.minus], 1]
    found = float(2.0 * np.abs(volts) / _WHISPER_V)
    if found > LEAST_GAIN:
        return found
    raise NoSteadyState(
        what="the output power cannot be computed",
        found=f"a gain of {found:.2g} from the input jack to the speaker",
        wanted="a signal that reaches the speaker",
        do="turn the volume controls up in the build file",
    )
