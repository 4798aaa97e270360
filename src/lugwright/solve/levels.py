"""The steady part of a solved column, certified and read out without any waveform: what a moving slider asks for."""

from __future__ import annotations

import numpy as np

from lugwright.circuit.elements import VacuumDiode
from lugwright.circuit.operating import Levels, TubeIdle
from lugwright.errors import NoIdlePoint
from lugwright.solve.device_laws import diode_laws, tube_state
from lugwright.solve.readout import ERROR_V, read_tubes, rectifier_plate
from lugwright.solve.solved import Solved
from lugwright.solve.system import Array


def read_levels(solved: Solved) -> Levels:
    """Return volts and tubes of one solved column; the currents at every joint are certified to cancel.

    Raises
    ------
    NoIdlePoint
        They do not, or the volts are not known well enough. What `read_idle` asks besides, whether power in is
        power out, needs every waveform.
    """
    _certify(solved)
    system = solved.system
    volts = dict(zip(system.joints, solved.dc.volts[:-1, 0].tolist(), strict=True))
    tubes = read_tubes(system, tube_state(system, solved.values, solved.dc.volts))
    return Levels({system.circuit.ground: 0.0, **volts}, {**tubes, **_plates(solved)})


def _certify(solved: Solved) -> None:
    system, point = solved.system, solved.dc
    if not system.size:
        return
    share = np.abs(point.left_over_a[:, 0]) / point.allowed_a[:, 0]
    worst, unsure = int(np.argmax(share)), int(np.argmax(np.abs(point.error_v[:, 0])))
    error = float(np.abs(point.error_v[unsure, 0]))
    if bool(point.solved.all()) and share[worst] <= 1.0 and error <= ERROR_V:
        return
    raise NoIdlePoint(
        what="the idle point is not certified",
        found=f"{system.joints[worst]}: {abs(point.left_over_a[worst, 0]):.2g} A left over, "
        f"{system.joints[unsure]} known to {error:.2g} V",
        wanted=f"at most {point.allowed_a[worst, 0]:.2g} A left over, and volts known to {ERROR_V:g} V",
        do=f"look at the parts that meet at {system.joints[worst]}",
    )


def _plates(solved: Solved) -> dict[str, TubeIdle]:
    system = solved.system
    plates = [(row, d.name) for row, d in enumerate(system.diodes) if isinstance(d, VacuumDiode)]
    if not plates:
        return {}
    volts, amps = _through_diodes(solved)
    means = np.stack([volts.mean(axis=1), amps.mean(axis=1), np.mean(volts * amps, axis=1)], axis=1).tolist()
    return {name: rectifier_plate(name, *means[row]) for row, name in plates}


def _through_diodes(solved: Solved) -> tuple[Array, Array]:
    """Return volts and amps of every diode over the cycle (diode, instant), its leak with them."""
    system, values, dc = solved.system, solved.values, solved.dc.volts
    volts = dc[system.port_a] - dc[system.port_b] if solved.cycle is None else solved.cycle.port_v
    return volts, diode_laws(system, values).currents_a(volts)[0] + system.diode_leaks(values) * volts
