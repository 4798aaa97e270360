"""All small-signal answers about one build, from one linearized circuit."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np

from lugwright.buildfile.build import GROUND, Build, Part, Pot, Speaker, Transformer
from lugwright.buildfile.build import Resistor as FittedResistor
from lugwright.circuit.audio import audio_circuit
from lugwright.circuit.edits import OPEN_OHM, Edit, SetValue
from lugwright.circuit.elements import Resistor
from lugwright.circuit.network import Circuit
from lugwright.circuit.points import input_jack, joint_of, plugged, speaker, turned
from lugwright.errors import NoSuchPoint
from lugwright.quantities import with_unit
from lugwright.solve.frequencies import decade_steps_hz
from lugwright.solve.hiss import EXCESS_V_PER_V, against_full_power, hiss_at
from lugwright.solve.loop import feedback_paths, loop_gain, output_joints
from lugwright.solve.poles import amplifier_poles, growing_poles
from lugwright.solve.power_results import NoPower, Power
from lugwright.solve.response import AS_IT_IS, Port, load_admittance_s, port_of, response_curves, stage_gains
from lugwright.solve.response_results import (
    AmplifierResponse,
    Hiss,
    KnobEffect,
    LoopGain,
    ResponseCurve,
    ResponseWish,
    TurnedPole,
)
from lugwright.solve.small_signal import Complex, Network, SmallSignal, linearized_system
from lugwright.solve.solved import Solved
from lugwright.solve.system import Array, System

AS_BUILT, RESTING = 0, 1  # the first two settings: a plug in the input, and none
GUITAR = "guitar"
AS_SET = "knobs as set"
_KNOB_STEPS, _LOOP_STEPS = 20, 20  # frequencies in a decade
_LOOP_HZ, _HISS_HZ = (0.1, 1e7), (20.0, 20e3)
_KNOB_HZ = (20.0, 20e3)
_LEVEL_DB = 20.0  # a knob that changes the middle of the band by more turns the level
_SHAPES_DB = 1.0


def has_signal_path(build: Build) -> bool:
    """Return whether a build says by itself where the signal goes in and comes out."""
    return input_jack(build) is not None and speaker(build) is not None


def at_full_power(response: AmplifierResponse | None, power: Power | NoPower | None) -> AmplifierResponse | None:
    """Return a response whose hiss is held against the power at 10 % distortion, or the most that was reached."""
    if response is None or not isinstance(power, Power):
        return response
    point = power.ten_percent or power.full_drive
    hiss = against_full_power(response.hiss, watts=point.watts, load_ohm=power.load_ohm)
    return replace(response, hiss=hiss)


@dataclass(frozen=True, eq=False)
class Study:
    """One build, its idle, and what is asked for."""

    build: Build
    solved: Solved
    wish: ResponseWish = field(default_factory=ResponseWish)

    def response(self) -> AmplifierResponse:
        """Return every answer.

        Raises
        ------
        NoSuchPoint
            A point or knob that the build does not have, or no point given where it says none itself.
        NoIdlePoint
            A setting of the knobs without an idle.
        """
        network = self._signal.chosen(self._asked).at(self._hertz)
        curves = response_curves(network, self._source, self._output, self._usual_load)
        return AmplifierResponse(
            source=self._names[0],
            output=self._names[1],
            curves=tuple(curves),
            knobs=tuple(self._knob_effects()),
            stages=tuple(stage_gains(self._network([AS_BUILT], low=_KNOB_HZ[0], high=_KNOB_HZ[1]), self._source)),
            loop=self._loop(),
            poles=amplifier_poles(self._signal),
            turned=tuple(self._turned_poles()),
            hiss=self._hiss(),
            hiss_source=self._at_input,
        )

    def curve_at(self, solved: Solved, edit: Edit) -> ResponseCurve:
        """Return the one curve of the build under an edit, around the idle it has there.

        Parameters
        ----------
        solved : Solved
            The idle under that edit, or one that the edit does not move.
        edit : Edit
            Every change to the build.

        Returns
        -------
        ResponseCurve
            From 10 Hz to 100 kHz unless other ends were wished for, with a plug in the jack it starts from.

        Source
        ------
        `linearized_system`, `response_curves`.
        """
        setting = Edit(AS_SET, (*self._plug.changes, *edit.changes))
        network = linearized_system(self._system, solved, [setting]).at(self._hertz)
        load = self._load(self._hertz, edit) if self._changes_load(edit) else self._usual_load
        (curve,) = response_curves(network, self._source, self._output, load)
        return curve

    # ---- points -----------------------------------------------------------------------------

    @cached_property
    def _names(self) -> tuple[str, str]:
        jack, loud = input_jack(self.build), speaker(self.build)
        source = self.wish.source or (f"{jack.name}.tip" if jack else None)
        output = self.wish.output or (loud.name if loud else None)
        if source is None or output is None:
            raise NoSuchPoint(
                what=f"it is not said where the signal {'goes in' if source is None else 'comes out'}",
                found=f"no {'input jack' if source is None else 'speaker'} in the build file",
                wanted="a joint such as in, or a terminal such as V1a.grid",
                do=f"name it with {'--from' if source is None else '--to'}",
            )
        return source, output

    def _joints(self, name: str) -> tuple[str, str]:
        part = self.build.part_by_name.get(name)
        if part is not None and isinstance(part.values, Speaker):
            return part.terminal("plus").joint, part.terminal("minus").joint
        first, _, second = name.partition("/")
        return joint_of(self.build, first), joint_of(self.build, second) if second else GROUND

    def _port(self, name: str) -> Port:
        return port_of(self._system, *self._joints(name))

    @cached_property
    def _source(self) -> Port:
        return self._port(self._names[0])

    @cached_property
    def _output(self) -> Port:
        return self._port(self._names[1])

    @cached_property
    def _loudspeaker(self) -> Part | None:
        """Return the speaker that the output point is, where it is one."""
        first, second = self._joints(self._names[1])
        parts = (p for p in self.build.parts if isinstance(p.values, Speaker))
        return next(
            (p for p in parts if (p.terminal("plus").joint, p.terminal("minus").joint) == (first, second)), None
        )

    def _changes_load(self, edit: Edit) -> bool:
        part = self._loudspeaker
        return part is not None and any(c.element.partition(".")[0] == part.name for c in edit.changes)

    def _load(self, hertz: Array, edit: Edit = AS_IT_IS) -> Complex | None:
        part = self._loudspeaker
        if part is None:
            return None
        plus, minus = part.terminal("plus").joint, part.terminal("minus").joint
        return load_admittance_s(self._circuit, part.name, plus, minus, hertz, edit)

    @cached_property
    def _usual_load(self) -> Complex | None:
        return self._load(self._hertz)

    # ---- the circuit ------------------------------------------------------------------------

    @cached_property
    def _circuit(self) -> Circuit:
        circuit = audio_circuit(self.build, resistive_speaker=self.wish.resistive_speaker)
        if self.wish.guitar_ohm is None:
            return circuit
        return circuit.with_elements([Resistor(GUITAR, *self._joints(self._names[0]), OPEN_OHM, GUITAR)])

    @cached_property
    def _system(self) -> System:
        return System(self._circuit)

    @cached_property
    def _plug(self) -> Edit:
        return plugged(self.build, self._joints(self._names[0])[0])

    @cached_property
    def _hertz(self) -> Array:
        return decade_steps_hz(low=self.wish.low_hz, high=self.wish.high_hz)

    @cached_property
    def _pots(self) -> list[tuple[Part, Pot]]:
        """Return the pots a player turns: those that have a name and do not set the idle."""
        setting = {stage.name for stage in self.build.stages if stage.duty == "bias"}
        pots = ((p, p.values) for p in self.build.parts if p.stage not in setting)
        return [(part, values) for part, values in pots if isinstance(values, Pot) and values.label]

    @cached_property
    def _family(self) -> list[Edit]:
        return [turned(self.build, name, share) for name, shares in self.wish.knobs for share in shares]

    @cached_property
    def _ends(self) -> list[Edit]:
        return [turned(self.build, part.name, share) for part, _ in self._pots for share in (0.0, 1.0)]

    @cached_property
    def _extremes(self) -> list[Edit]:
        """Return the settings at which an amplifier is most likely to oscillate: every knob at one end."""
        return [
            Edit(name, tuple(c for edit in self._ends[start::2] for c in edit.changes))
            for start, name in ((0, "every knob at 0"), (1, "every knob full"))
            if self._ends
        ]

    @property
    def _asked(self) -> list[int]:
        return [AS_BUILT, *range(2, 2 + len(self._family))]

    @cached_property
    def _signal(self) -> SmallSignal:
        plug = Edit(AS_SET, self._plug.changes)
        resting = Edit("nothing plugged in")
        if self.wish.guitar_ohm is not None:
            resting = Edit("guitar", (*plug.changes, SetValue(GUITAR, "ohm", self.wish.guitar_ohm)))
        turns = (*self._family, *self._ends, *self._extremes)
        settings = [plug, resting, *(Edit(e.name, (*plug.changes, *e.changes)) for e in turns)]
        return linearized_system(self._system, self.solved, settings)

    def _network(self, settings: list[int], *, low: float, high: float, steps: int = 30) -> Network:
        return self._signal.chosen(settings).at(decade_steps_hz(low=low, high=high, per_decade=steps))

    # ---- answers ----------------------------------------------------------------------------

    def _knob_effects(self) -> Iterator[KnobEffect]:
        if not self._pots:
            return
        first = 2 + len(self._family)
        network = self._network(
            [*range(first, first + len(self._ends))], low=_KNOB_HZ[0], high=_KNOB_HZ[1], steps=_KNOB_STEPS
        )
        curves = response_curves(network, self._source, self._output, self._load(network.hertz))
        for (part, pot), low, high in zip(self._pots, curves[::2], curves[1::2], strict=True):
            yield _effect(part.name, pot.label, low, high)

    def _turned_poles(self) -> Iterator[TurnedPole]:
        first = 2 + len(self._family)
        for setting in range(first, len(self._signal.settings)):
            for pole in growing_poles(self._signal, setting):
                yield TurnedPole(self._signal.settings[setting].name, pole)

    def _loop(self) -> LoopGain | None:
        build, circuit = self.build, self._circuit
        outputs = [p.name for p in build.parts if isinstance(p.values, Transformer) and p.values.role == "output"]
        joints = output_joints(circuit.elements, outputs, circuit.ground)
        paths = feedback_paths(circuit.elements, joints, circuit.ground)
        return loop_gain(self._network([AS_BUILT], low=_LOOP_HZ[0], high=_LOOP_HZ[1], steps=_LOOP_STEPS), paths)

    @property
    def _at_input(self) -> str:
        ohm = self.wish.guitar_ohm
        return "nothing plugged in" if ohm is None else f"a guitar of {with_unit(ohm, 'Ω')}"

    def _hiss(self) -> Hiss:
        with_plug, without = (self._network([k], low=_HISS_HZ[0], high=_HISS_HZ[1]) for k in (AS_BUILT, RESTING))
        (curve,) = response_curves(with_plug, self._source, self._output)
        gain = 10.0 ** (np.array(curve.gain_db) / 20.0)
        grain = {
            part.name: EXCESS_V_PER_V[part.values.style]
            for part in self.build.parts
            if isinstance(part.values, FittedResistor) and part.values.style in EXCESS_V_PER_V
        }
        hiss = hiss_at(without, self._output, self._names[1], gain=gain, excess=grain)
        part, watts = self._loudspeaker, self.wish.full_power_w
        if watts is None or part is None or not isinstance(part.values, Speaker):
            return hiss
        return against_full_power(hiss, watts=watts, load_ohm=part.values.ohm)


def _effect(part: str, label: str, low: ResponseCurve, high: ResponseCurve) -> KnobEffect:
    change = np.array(high.gain_db) - np.array(low.gain_db)
    most = int(np.argmax(np.abs(change)))
    shape = float(np.ptp(change))
    return KnobEffect(
        part=part,
        label=label,
        ends=(low, high),
        most_db=float(change[most]),
        at_hz=low.hertz[most],
        shapes=shape > _SHAPES_DB and abs(float(np.median(change))) < _LEVEL_DB,
    )
