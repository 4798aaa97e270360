"""From the waveforms and cycle means of a start to its figures."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from lugwright.circuit.elements import Resistor
from lugwright.circuit.fuse_curve import suggested_fuse_a
from lugwright.circuit.heated import Heated
from lugwright.circuit.operating import Idle
from lugwright.circuit.rules.discharge import SAFE_V
from lugwright.circuit.starting import CapacitorCourse, FuseInrush, Inrush, Line, Start, WarmingTube
from lugwright.solve.first_cycles import Cycles
from lugwright.solve.slow_course import Course
from lugwright.solve.system import Array, System
from lugwright.solve.warm_up import WarmUp

_FILTER_F = 1e-6
_STRETCH_S = (0.01, 0.02, 0.05, 0.1)


@dataclass(frozen=True)
class Run:
    """Everything a start left behind."""

    system: System
    values: Array
    cycles: Sequence[Cycles]
    course: Course
    decay: Course
    warm_up: WarmUp
    steps: int
    angles: tuple[str, ...]


def read_start(
    run: Run, heated: Heated, idle: Idle, cold: Idle, how: str, faults: Mapping[str, float]
) -> Start:  # fmt: skip
    """Return the figures of a run; ``faults`` are the fuses' currents with the supply shorted."""
    system = run.system
    off = {j: abs(float(run.course.volts[row, -1]) - idle.joints[j].volts) for j, row in system.row.items()}
    worst = max(off, key=lambda j: off[j])
    joints = _supply_joints(run, idle)
    cold_values = run.values.copy()
    run.warm_up.put(cold_values, 0.0)  # an inrush limiter is at its highest then
    saturated = _saturated_a(system, cold_values)
    return Start(
        how=how,
        inrush=tuple(_inrush(run)),
        saturated_a=saturated,
        saturated_a2s=saturated**2 / (4.0 * system.circuit.mains_hz),
        fuses=tuple(_fuses(run, idle, faults)),
        tubes=tuple(_tubes(run.warm_up, heated)),
        capacitors=tuple(_capacitors(run, idle, cold)),
        lines=tuple(_line(system, run.course, joint, run.cycles) for joint in joints),
        decay=tuple(_line(system, run.decay, joint) for joint in joints),
        duration_s=float(run.course.seconds[-1]),
        decay_s=float(run.decay.seconds[-1]),
        off_idle_v=off[worst],
        off_idle_joint=worst,
        steps=run.steps,
    )


def _inrush(run: Run) -> Iterator[Inrush]:
    seconds = np.concatenate([c.seconds for c in run.cycles])
    for column, words in enumerate(run.angles):
        amps = np.concatenate([c.mains_a[column] for c in run.cycles])
        peak = int(np.argmax(np.abs(amps)))
        first, last = run.cycles[0].mains_a[column], run.cycles[-1].mains_a[column]
        yield Inrush(words, float(abs(amps[peak])), float(seconds[peak]), _rms(first), _rms(last))


def _rms(wave: Array) -> float:
    return float(np.sqrt(np.mean(wave * wave)))


def _saturated_a(system: System, values: Array) -> float:
    """Return the peak of the mains over the resistance of everything in its way when no core pushes back. [A]"""
    matrix = np.zeros((system.size, system.size))
    matrix[system.dense_index] = np.real(system.matrix(system.admittances(values, 0.0)))[:-1, 0]
    drive = np.zeros(system.size + 1)
    source = system.sources[0]
    a, b = system.row[source.a], system.row[source.b]
    ohm = float(values[system.source_ohm[0], 0])
    emf = float(np.sqrt(2.0) * values[system.source_rms[0], 0])
    drive[a] += emf / ohm
    drive[b] -= emf / ohm
    volts = np.append(np.linalg.solve(matrix, drive[:-1]), 0.0)
    return float((emf - (volts[a] - volts[b])) / ohm)


def _fuses(run: Run, idle: Idle, faults: Mapping[str, float]) -> Iterator[FuseInrush]:
    system = run.system
    seconds = np.concatenate([c.seconds for c in run.cycles])
    steps, half_s = np.diff(seconds, prepend=0.0), 0.5 / system.circuit.mains_hz
    for fuse in (r for r in system.resistors if r.role == "fuse"):
        a, b = system.row[fuse.a], system.row[fuse.b]
        volts = np.concatenate([c.volts[a] - c.volts[b] for c in run.cycles], axis=-1)  # (batch, instant)
        squares = np.cumsum((volts / fuse.ohm) ** 2 * steps, axis=1)
        worst = int(np.argmax(squares[:, -1]))
        square = squares[worst]
        halves = square - np.interp(seconds - half_s, seconds, square, left=0.0)
        later = _later(run, idle, fuse, float(seconds[-1]), float(square[-1]))
        early = [(s, float(np.sqrt(np.interp(s, seconds, square) / s))) for s in _STRETCH_S]
        early.append((float(seconds[-1]), float(np.sqrt(square[-1] / seconds[-1]))))
        working = idle.parts[fuse.name]  # behind a slow rectifier a fuse sees more at idle than in the first cycles
        stretches, idle_a = (*early, *later), working.rms_a
        worst_a2s = max(float(halves.max()), idle_a**2 * half_s)
        yield FuseInrush(
            name=fuse.name,
            peak_a=max(float(np.abs(volts / fuse.ohm).max()), working.peak_a),
            half_cycle_a2s=worst_a2s,
            stretches=stretches,
            idle_a=idle_a,
            fault_a=faults.get(fuse.name),
            suggested_a=suggested_fuse_a(stretches, half_cycle_a2s=worst_a2s, working_a=idle_a),
        )


def _later(run: Run, idle: Idle, fuse: Resistor, start: float, square: float) -> list[tuple[float, float]]:
    """Return the stretches beyond the first cycles: what the heaters still draw too much fades with their current."""
    rms = idle.parts[fuse.name].rms_a
    last = run.cycles[-1]
    a, b = run.system.row[fuse.a], run.system.row[fuse.b]
    above = max(0.0, max(_rms((last.volts[a, k] - last.volts[b, k]) / fuse.ohm) for k in range(len(run.angles))) - rms)
    times = run.warm_up.seconds
    drawn = (run.warm_up.amps**2 * run.warm_up.ohms).sum(axis=0)
    shape = np.zeros_like(times)
    if len(run.warm_up.rows) and (rise := np.interp(start, times, drawn) - drawn[-1]) > 0:
        shape = np.clip((drawn - drawn[-1]) / rise, 0.0, 1.0)
    amps = rms + above * shape
    found = []
    for until in (0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 60.0):
        inside = (times > start) & (times <= until)
        more = float(np.trapezoid(amps[inside] ** 2, times[inside])) if inside.sum() > 1 else 0.0
        found.append((until, float(np.sqrt((square + more) / until))))
    return found


def _tubes(warm_up: WarmUp, heated: Heated) -> Iterator[WarmingTube]:
    row = 0
    for tube, share in zip(heated.tubes, warm_up.emission, strict=True):
        rows = range(row, row + len(tube.heaters))
        row += len(tube.heaters)
        cold, hot = (float(sum(warm_up.amps[r, at] for r in rows)) for at in (0, -1))
        ratio = cold / hot if hot > 0.0 else 1.0
        times = [_reached_s(warm_up.seconds, share, level) for level in (0.5, 0.9)]
        yield WarmingTube(tube.name, tube.rectifier, tube.filament, ratio, times[0], times[1])


def _reached_s(seconds: Array, share: Array, level: float) -> float | None:
    at = int(np.argmax(share >= level))
    if share[at] < level:
        return None
    if at == 0:
        return 0.0
    part = (level - share[at - 1]) / (share[at] - share[at - 1])
    return float(seconds[at - 1] + part * (seconds[at] - seconds[at - 1]))


def _capacitors(run: Run, idle: Idle, cold: Idle) -> Iterator[CapacitorCourse]:
    early = np.concatenate([c.states for c in run.cycles], axis=-1)
    early_s = np.concatenate([c.seconds for c in run.cycles])
    for row, capacitor in enumerate(run.system.capacitors):
        ripple = max(i.parts[capacitor.name].peak_v - abs(i.parts[capacitor.name].volts) for i in (idle, cold))
        first = np.abs(early[row]).max(axis=0)
        late = np.abs(run.course.states[row]) + ripple
        at_first, at_late = int(np.argmax(first)), int(np.argmax(late))
        in_first = first[at_first] >= late[at_late]
        peak = float(first[at_first] if in_first else late[at_late])
        when = float(early_s[at_first] if in_first else run.course.seconds[at_late])
        decay = np.abs(run.decay.states[row])
        yield CapacitorCourse(
            capacitor.name, peak, when, idle.parts[capacitor.name].volts, _safe_s(run.decay.seconds, decay),
            float(decay[-1]),
        )  # fmt: skip


def _safe_s(seconds: Array, volts: Array) -> float | None:
    """Return when the volts are below 60 V for good; None when they are not at the end."""
    above = np.flatnonzero(volts > SAFE_V)
    if not len(above):
        return 0.0
    last = int(above[-1])
    if last == len(seconds) - 1:
        return None
    share = np.log(volts[last] / SAFE_V) / np.log(volts[last] / max(volts[last + 1], 1e-3))
    return float(seconds[last] + share * (seconds[last + 1] - seconds[last]))


def _supply_joints(run: Run, idle: Idle) -> list[str]:
    """Return the joints that stand at more than 60 V and hold a filter capacitor to ground, highest first."""
    ground = run.system.circuit.ground
    joints = {
        joint
        for c in run.system.capacitors
        if c.farad >= _FILTER_F and ground in c.joints
        for joint in c.joints
        if joint != ground and abs(idle.joints[joint].volts) > SAFE_V
    }
    return sorted(joints, key=lambda j: (-abs(idle.joints[j].volts), j))


def _line(system: System, course: Course, joint: str, cycles: Sequence[Cycles] = ()) -> Line:
    """Return a joint over time: the mean of each of the first cycles, then the course."""
    row = system.row[joint]
    early_s = [float(c.seconds.mean()) for c in cycles[:-1]]
    early_v = [float(c.volts[row, 0].mean()) for c in cycles[:-1]]
    seconds, volts = map(float, course.seconds), map(float, course.volts[row])
    return Line(joint, (*early_s, *seconds), (*early_v, *volts))
