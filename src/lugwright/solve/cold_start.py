"""Cold start: mains on with everything cold, the first cycles instant by instant, the first minute in cycle means.

The capacitors, coils, windings and tubes are those of the idle. The heaters are cold resistors at first, the tubes
give no current, and both follow the warm-up laws. Left out: saturation of the core (a real primary can take many
times its computed inrush for some half cycles), the spread of heaters, and mains that sags at the wall.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from lugwright.circuit.edits import OPEN_OHM
from lugwright.circuit.elements import Element, Junction, Resistor
from lugwright.circuit.heated import Heated
from lugwright.circuit.network import Circuit
from lugwright.circuit.operating import Idle
from lugwright.circuit.starting import Start
from lugwright.solve.first_cycles import Cycles, FirstCycles
from lugwright.solve.shorted_supply import shorted_supply_a
from lugwright.solve.slow_course import Blocking, Course, Put, Rectifying, SlowCourse
from lugwright.solve.start_readout import Run, read_start
from lugwright.solve.system import Array, System
from lugwright.solve.warm_up import Warming, WarmUp

DURATION_S = 60.0
DECAY_S = 120.0
CYCLES = 12
FIRST_STEPS, LATER_STEPS = 252, 63  # in the first mains cycle, where the inrush bites, and in those after it
ANGLES = (("as the mains passes zero", 0.0), ("at the peak of the mains", np.pi / 2.0))
_SILENT_A = 1e-6  # a diode that never passes more at idle or with cold tubes is left out as a leak
_WAKES_V = 0.4  # forward volts at which such a diode would have mattered after all
_DECAY_SLACK = 4.0  # nobody counts the seconds after switch-off to the hundredth
_SUPPLY_A = 5e-3  # mean current from which a contact belongs to the supply
_TOGETHER = "everything switched on together"


@dataclass(frozen=True)
class Standby:
    """Contacts that are open at switch-on and closed later."""

    switch: str
    contacts: tuple[str, ...]
    closed_at_s: float


def solve_start(
    circuit: Circuit, heated: Heated, idle: Idle, cold: Idle, *, standby: Standby | None = None,
    duration_s: float = DURATION_S, decay_s: float = DECAY_S,
) -> Start:  # fmt: skip
    """Return the start of a circuit that has been off for long, and what its capacitors do after switch-off.

    Parameters
    ----------
    circuit : Circuit
        The circuit of the build.
    heated : Heated
        Its heaters, tubes and inrush limiters.
    idle, cold : Idle
        The circuit at idle, and with cold tubes.
    standby : Standby, optional
        Contacts closed late; without it everything is switched on together.
    duration_s, decay_s : float
        Time followed after switch-on and after switch-off. [s]

    Returns
    -------
    Start
        Nominal mains.

    Raises
    ------
    NoIdlePoint
        A step without an answer.
    """
    silent = {
        e.name
        for e in circuit.elements
        if isinstance(e, Junction) and max(i.parts[e.name].peak_a for i in (idle, cold)) < _SILENT_A
    }
    run = _Starting(_without(circuit, silent), heated, idle, standby).run(duration_s, decay_s)
    if _woken(run, silent):
        run = _Starting(circuit, heated, idle, standby).run(duration_s, decay_s)
    faults = shorted_supply_a(circuit, idle)
    how = _TOGETHER if standby is None else f"{standby.switch} closed after {standby.closed_at_s:g} s"
    return read_start(run, heated, idle, cold, how, faults)


def _without(circuit: Circuit, silent: set[str]) -> Circuit:
    """Return the circuit with these diodes as the leaks they are while they block."""

    def leak(element: Element) -> Element:
        if isinstance(element, Junction) and element.name in silent:
            return Resistor(element.name, element.anode, element.cathode, 1.0 / element.leak_s, "leak")
        return element

    return Circuit(tuple(leak(e) for e in circuit.elements), circuit.ground, circuit.mains_hz)


def _woken(run: Run, silent: set[str]) -> bool:
    system = run.system
    rows = [system.branch_row[name] for name in sorted(silent)]
    if not rows:
        return False
    a, b = system.branch_a[rows], system.branch_b[rows]
    waves = [cycle.volts.reshape(system.size + 1, -1) for cycle in run.cycles]
    waves += [run.course.volts, run.decay.volts]
    return any(float((wave[a] - wave[b]).max()) > _WAKES_V for wave in waves)


class _Starting:
    """One start of one circuit."""

    def __init__(self, circuit: Circuit, heated: Heated, idle: Idle, standby: Standby | None) -> None:
        self.system = System(circuit)
        self.values = self.system.values(())
        self.standby = standby
        self.contact_rows = [self.system.value_row[c, "ohm"] for c in (standby.contacts if standby else ())]
        self.contact_ohms = self.values[self.contact_rows].copy()
        volts = {name: _rms_v(idle, self.values[self.system.value_row[name, "ohm"], 0], name) for name in _warm(heated)}
        self.warming = Warming(self.system, self.values, heated, volts)
        self.idle = idle

    def run(self, duration_s: float, decay_s: float) -> Run:
        warm_up = self.warming.run(duration_s)
        closed_at = self.standby.closed_at_s if self.standby else 0.0

        def put(values: Array, seconds: float) -> None:
            warm_up.put(values, seconds)
            if self.standby is not None:
                values[self.contact_rows] = self.contact_ohms if seconds > closed_at else OPEN_OHM

        cycles = self._first_cycles(put)
        slow = SlowCourse(self.system, self.values, put, Rectifying(self.system))
        last = cycles[-1]
        states, volts = (w[:, :1].mean(axis=2) for w in (last.states, last.volts))
        start = float(last.seconds.mean())
        if self.standby is None:
            course = slow.run(start, duration_s, states, volts)
        else:
            open_ = slow.run(start, closed_at, states, volts)
            closed = SlowCourse(self.system, self.values, put, Rectifying(self.system))
            course = open_.joined(closed.run(closed_at + 1e-6, duration_s, open_.states[:, -1:], open_.volts[:, -1:]))
            slow.steps += closed.steps
        decay, steps = self._decay(course, warm_up, decay_s)
        angles = tuple(words for words, _ in ANGLES)
        return Run(self.system, self.values, cycles, course, decay, warm_up, slow.steps + steps, angles)

    def _first_cycles(self, put: Put) -> Sequence[Cycles]:
        angles = np.array([angle for _, angle in ANGLES])
        first = FirstCycles(self.system, self.values, angles, steps=FIRST_STEPS)
        values, cycles = self.values.copy(), []
        for count in range(CYCLES):
            if count == 1:
                first.coarsen(LATER_STEPS)
            put(values, count / self.system.circuit.mains_hz)
            cycles.append(first.cycle(values))
        return cycles

    def _decay(self, course: Course, warm_up: WarmUp, decay_s: float) -> tuple[Course, int]:
        """Follow the circuit after the plug is pulled with everything warm."""
        values = self.values.copy()
        for source in self.system.sources:
            values[self.system.value_row[source.name, "rms_v"]] = 0.0
            values[self.system.value_row[source.name, "ohm"]] = OPEN_OHM
        cooling = self.warming.run(decay_s, powered=False, start=warm_up.temperatures[:, -1])
        slow = SlowCourse(self.system, values, cooling.put, Blocking(self.system), _DECAY_SLACK)
        return slow.run(0.0, decay_s, course.states[:, -1:], course.volts[:, -1:]), slow.steps


def _warm(heated: Heated) -> list[str]:
    return [*(name for tube in heated.tubes for name in tube.heaters), *(name for name, _ in heated.limiters)]


def _rms_v(idle: Idle, ohm: float, name: str) -> float:
    return float(ohm * idle.parts[name].rms_a)


def silicon_instead(circuit: Circuit, heated: Heated) -> tuple[Circuit, Heated]:
    """Return the circuit with silicon in place of its rectifier tubes, whose heaters stay where they are."""
    rectifiers = {name for tube in heated.tubes if tube.rectifier for name in tube.emitting}

    def silicon(element: Element) -> Element:
        if element.name in rectifiers:
            anode, cathode = element.joints
            return Junction(element.name, anode, cathode)
        return element

    tubes = tuple(replace(tube, emitting=()) if tube.rectifier else tube for tube in heated.tubes)
    elements = tuple(silicon(e) for e in circuit.elements)
    return Circuit(elements, circuit.ground, circuit.mains_hz), replace(heated, tubes=tubes)


def standby_switches(idle: Idle, switches: Mapping[str, Sequence[str]]) -> dict[str, tuple[str, ...]]:
    """Return the switches that carry the direct current of the supply at idle, each with those contacts."""
    found = {}
    for name, contacts in switches.items():
        live = tuple(c for c in contacts if c in idle.parts and abs(idle.parts[c].amps) > _SUPPLY_A)
        if live:
            found[name] = live
    return found
