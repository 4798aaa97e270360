"""Many builds of one circuit in one batch: the same amplifier with other part values, tubes and mains."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from lugwright.circuit.elements import Junction, Resistor, VacuumDiode
from lugwright.circuit.operating import Idle, JointIdle, PartIdle, TubeIdle, WindingIdle
from lugwright.errors import CircuitError
from lugwright.solve.dc import DcProblem, refuse_unsolved, solve_dc
from lugwright.solve.device_laws import TubeState, tube_state
from lugwright.solve.idle import static_law, tangent_law
from lugwright.solve.port_laws import PortLaw
from lugwright.solve.readout import read_tubes
from lugwright.solve.solved import Solved
from lugwright.solve.system import Array, System


@dataclass(frozen=True)
class ManyIdles:
    """The DC point of many builds around one that is solved whole; the last axis counts the builds."""

    base: Solved
    values: Array  # (value, build)
    volts: Array  # (joint + ground, build)
    diode_a: Array  # mean current (diode, build)

    @property
    def count(self) -> int:
        """Return how many builds there are."""
        return int(self.volts.shape[1])

    @cached_property
    def tubes(self) -> TubeState:
        """Return every tube's voltages and currents."""
        return tube_state(self.base.system, self.values, self.volts)

    def level_at(self, joint: str) -> Array:
        """Return the DC volts of a joint (build). [V]"""
        return np.asarray(self.volts[self.base.system.row[joint]])


def solve_many(base: Solved, factors: Mapping[tuple[str, str], Array]) -> ManyIdles:
    """Return the DC point of many builds, each some percent off the base.

    Parameters
    ----------
    base : Solved
        The build as drawn, solved whole.
    factors : mapping
        (element, field) to what that value of the base is multiplied with (build). [-]

    Returns
    -------
    ManyIdles
        One column for each build.

    Raises
    ------
    CircuitError
        A factor belongs to no value of the circuit.
    NoIdlePoint
        One of the builds has no certified point.

    Valid
    -----
    Within some ten percent of the base: the rectifiers keep the law they have there, scaled with the
    mains. What changes inside the power transformer is not seen.

    Source
    ------
    Kirchhoff's laws; `lugwright.solve.idle.tangent_law`.
    """
    system = base.system
    count = next((len(f) for f in factors.values()), 1)
    values = np.repeat(base.values, count, axis=1)
    for (element, field), factor in factors.items():
        row = system.value_row.get((element, field))
        if row is None:
            raise CircuitError(
                what="a spread does not fit the circuit",
                found=f"{element}.{field}",
                wanted="an element of the circuit and one of its values",
                do="check the part's name",
            )
        values[row] = base.values[row, 0] * factor
    return many_at(base, values)


def many_at(base: Solved, values: Array) -> ManyIdles:
    """Return the DC point of many builds at these values (value, build), near the base; see `solve_many`."""
    system, law = base.system, _law(base, values)
    start = np.repeat(base.dc.volts, values.shape[1], axis=1)
    point = solve_dc(DcProblem(system, values, law), start)
    refuse_unsolved(system, point)
    across = point.volts[system.port_a] - point.volts[system.port_b]
    amps, _ = law(across, np.arange(values.shape[1]))
    return ManyIdles(base, values, point.volts, amps)


def _law(base: Solved, values: Array) -> PortLaw:
    system = base.system
    if base.cycle is None or not system.diodes:
        return static_law(system, values)
    return tangent_law(base.cycle, _mains_factor(base, values))


def _mains_factor(base: Solved, values: Array) -> Array:
    """Return the mains of each build against that of the base."""
    if not base.system.sources:
        return np.ones(values.shape[1])
    mains = int(base.system.source_rms[int(np.argmax(base.values[base.system.source_rms, 0]))])
    rms = base.values[mains, 0]
    return np.asarray(values[mains] / rms if rms else np.ones(values.shape[1]))


def idle_of(many: ManyIdles, build: int, nominal: Idle) -> Idle:
    """Return the idle of one of many builds, as far as its DC point tells.

    Parameters
    ----------
    many : ManyIdles
        The builds.
    build : int
        Which of them.
    nominal : Idle
        The whole idle of the base.

    Returns
    -------
    Idle
        DC of joints, parts and tubes is that build's own; what alternates follows the mains; peak and RMS
        currents of rectifiers and of the windings that feed them follow their mean current.

    Valid
    -----
    As `solve_many`. Where resistors share an alternating voltage (two from heater to ground), each one's
    heat is right to within their tolerance only.

    Source
    ------
    Ohm's law for every resistor.
    """
    system = many.base.system
    mains = float(_mains_factor(many.base, many.values)[build])
    joints = {
        name: JointIdle(
            float(many.volts[system.row[name], build]),
            mains * joint.ripple_rms_v,
            mains * joint.ripple_peak_to_peak_v,
        )
        for name, joint in nominal.joints.items()
    }
    swell, one = _swell(many, build), _One.of(many, build, mains)
    parts = {name: _part(one, part, swell) for name, part in nominal.parts.items()}
    tubes = dict(nominal.tubes) | read_tubes(system, _column(many.tubes, build))
    plates = {name: _plate(tube, parts[name]) for name, tube in nominal.tubes.items() if name in parts}
    most = max(swell.values(), default=1.0)
    feeding = _feeding(system)
    windings = {
        name: _winding(winding, mains, most if name in feeding else mains) for name, winding in nominal.windings.items()
    }
    return replace(nominal, joints=joints, parts=parts, tubes=tubes | plates, windings=windings)


def _swell(many: ManyIdles, build: int) -> dict[str, float]:
    """Return each rectifier's mean current against that of the base."""
    cycle, swell = many.base.cycle, {}
    for row, diode in enumerate(many.base.system.diodes):
        mean = 0.0 if cycle is None else float(cycle.mean_a[row])
        swell[diode.name] = float(many.diode_a[row, build]) / mean if mean > 1e-9 else 1.0
    return swell


@dataclass(frozen=True)
class _One:
    """One of many builds, in plain numbers: volts by joint, its own values and those of the base, its mains."""

    system: System
    volts: list[float]
    values: list[float]
    base: list[float]
    mains: float

    @staticmethod
    def of(many: ManyIdles, build: int, mains: float) -> _One:
        volts, values, base = many.volts[:, build], many.values[:, build], many.base.values[:, 0]
        return _One(many.base.system, volts.tolist(), values.tolist(), base.tolist(), mains)


def _part(one: _One, part: PartIdle, swell: Mapping[str, float]) -> PartIdle:
    system, mains = one.system, one.mains
    element = system.circuit.by_name.get(part.name)
    row = system.branch_row.get(part.name)
    if element is None or row is None:
        return part
    volts = one.volts[system.branch_a[row]] - one.volts[system.branch_b[row]]
    peak = mains * max(0.0, part.peak_v - abs(part.volts))
    if isinstance(element, Junction | VacuumDiode):
        by = swell[part.name]
        return replace(
            part, volts=volts, amps=part.amps * by, rms_a=part.rms_a * by, peak_a=part.peak_a * by,
            peak_v=abs(volts) + peak, inverse_v=max(0.0, part.inverse_v - volts + part.volts), watts=part.watts * by,
        )  # fmt: skip
    if not isinstance(element, Resistor):
        return replace(part, volts=volts, peak_v=abs(volts) + peak)
    at = system.value_row[part.name, "ohm"]
    ohm = one.values[at]
    amps, share = volts / ohm, mains * one.base[at] / ohm
    rms = math.sqrt(amps * amps + share * share * max(0.0, part.rms_a**2 - part.amps**2))
    return PartIdle(
        name=part.name, part=part.part, volts=volts, amps=amps, rms_a=rms,
        peak_a=abs(amps) + share * max(0.0, part.peak_a - abs(part.amps)),
        peak_v=abs(volts) + peak, inverse_v=part.inverse_v, watts=ohm * rms * rms,
    )  # fmt: skip


def _plate(tube: TubeIdle, part: PartIdle) -> TubeIdle:
    return replace(tube, plate_to_cathode_v=part.volts, plate_a=part.amps, plate_w=part.watts)


def _winding(winding: WindingIdle, mains: float, by: float) -> WindingIdle:
    return replace(winding, rms_v=winding.rms_v * mains, rms_a=winding.rms_a * by, peak_a=winding.peak_a * by)


def _feeding(system: System) -> frozenset[str]:
    """Return the windings whose ends a rectifier touches."""
    ends = {joint for diode in system.diodes for joint in diode.joints}
    return frozenset(
        system.branch_names[branch].rsplit(".", 1)[0]
        for group in system.groups
        for branch in group.branches
        if {_joint(system, int(system.branch_a[branch])), _joint(system, int(system.branch_b[branch]))} & ends
    )


def _joint(system: System, row: int) -> str:
    return system.circuit.ground if row == system.size else system.joints[row]


def _column(state: TubeState, build: int) -> TubeState:
    """Return one build's column of a tube state."""

    def one(arrays: tuple[Array, ...]) -> tuple[Array, ...]:
        return tuple(a[:, [build]] for a in arrays)

    return TubeState(*(one(getattr(state, name)) for name in state.__dataclass_fields__))  # type: ignore[arg-type]
