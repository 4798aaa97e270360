"""From a solved column to operating values with a certificate: volts, ripple, currents, heat."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from lugwright.circuit.elements import VacuumDiode, Windings
from lugwright.circuit.operating import Certificate, Idle, JointIdle, PartIdle, TubeIdle, WindingIdle
from lugwright.errors import NoIdlePoint
from lugwright.solve.device_laws import TubeState, diode_laws, tube_state
from lugwright.solve.solved import Solved
from lugwright.solve.system import Array, System

POWER_BALANCE = 1e-6  # largest share of the power that may be unaccounted for
LEAST_W = 1e-3  # of a build switched off the share of this much: a nanowatt, printed as nothing
ERROR_V = 1e-4  # largest estimated error of a joint's DC volts
LIMITER = "limiter"


@dataclass(frozen=True)
class _Waves:
    """Volts and currents over one cycle: joints (joint + ground, instant), branches (branch, instant)."""

    joint_v: Array
    branch_v: Array  # between the ends
    branch_a: Array
    emf_v: Array  # of the sources (source, instant)


def read_idle(solved: Solved) -> Idle:
    """Return the operating values of one solved column.

    Raises
    ------
    NoIdlePoint
        The certificate does not pass.
    """
    system, values = solved.system, solved.values
    waves = _waves(solved)
    state = tube_state(system, values, solved.dc.volts)
    parts = _parts(system, waves)
    certificate = _certificate(solved, waves, state, parts)
    if not certificate.passed:
        raise _refusal(solved, certificate)
    mains = parts.get("mains")
    limiter = parts.get(LIMITER)
    lamp_w = _lamp_watts(system, values)
    return Idle(
        joints=_joints(system, waves),
        parts=parts,
        tubes={**read_tubes(system, state), **_plates(system, parts)},
        windings=_windings(system, waves),
        mains_rms_a=mains.rms_a if mains else 0.0,
        mains_w=certificate.power_in_w,
        lamp_rms_v=_rms(waves.branch_v[system.branch_row[LIMITER]]) if lamp_w else None,
        lamp_brightness=limiter.watts / lamp_w if limiter and lamp_w else None,
        certificate=certificate,
    )


def solved_waves(solved: Solved) -> tuple[Array, Array]:
    """Return volts of every joint (joint + ground, instant) and amps of every branch (branch, instant)."""
    waves = _waves(solved)
    return waves.joint_v, waves.branch_a


def _waves(solved: Solved) -> _Waves:
    system, values = solved.system, solved.values
    dc = solved.dc.volts[:, 0]
    cycle, surroundings = solved.cycle, solved.surroundings
    if cycle is None or surroundings is None:
        joint_v, emf = dc[:, None], values[system.source_dc]
    else:
        joint_v = surroundings.joint_waveforms(cycle.port_a, dc)
        angle = 2 * np.pi * np.arange(joint_v.shape[1]) / joint_v.shape[1]
        emf = values[system.source_dc] + np.sqrt(2.0) * values[system.source_rms] * np.sin(angle)
    branch_v = joint_v[system.branch_a] - joint_v[system.branch_b]
    first = len(system.resistors) + len(system.capacitors)
    driven = branch_v.copy()
    driven[first : first + len(system.sources)] -= emf
    spectrum = np.fft.rfft(driven, axis=1)
    currents = [
        np.real(system.branch_currents(system.admittances(values, 0.0), np.real(spectrum[:, :1]))).astype(complex)
    ]
    if surroundings is not None:
        currents.append(system.branch_currents(surroundings.admittances, spectrum[:, 1:]))
    branch_a = np.fft.irfft(np.concatenate(currents, axis=1), n=driven.shape[1], axis=1)
    diodes = len(branch_v) - len(system.diodes)
    branch_a[diodes:] += diode_laws(system, values).currents_a(branch_v[diodes:])[0]
    return _Waves(joint_v, branch_v, branch_a, emf)


def _joints(system: System, waves: _Waves) -> Mapping[str, JointIdle]:
    wave = waves.joint_v[:-1]
    rows = _rows(volts=wave.mean(axis=1), ripple_rms_v=wave.std(axis=1), ripple_peak_to_peak_v=np.ptp(wave, axis=1))
    found = {joint: JointIdle(**row) for joint, row in zip(system.joints, rows, strict=True)}
    return {system.circuit.ground: JointIdle(volts=0.0, ripple_rms_v=0.0, ripple_peak_to_peak_v=0.0), **found}


def _rows(**columns: Array) -> list[dict[str, float]]:
    """Return what stands in each row of some columns, by the column's name."""
    return [dict(zip(columns, row, strict=True)) for row in np.column_stack(tuple(columns.values())).tolist()]


def _rms(wave: Array) -> float:
    return float(np.sqrt(np.mean(wave * wave)))


def _parts(system: System, waves: _Waves) -> dict[str, PartIdle]:
    v, i = waves.branch_v, waves.branch_a
    first = len(system.resistors) + len(system.capacitors)
    heat = v.copy()
    heat[first : first + len(system.sources)] -= waves.emf_v
    rows = _rows(
        volts=v.mean(axis=1),
        amps=i.mean(axis=1),
        rms_a=np.sqrt(np.mean(i * i, axis=1)),
        peak_a=np.abs(i).max(axis=1),
        peak_v=np.abs(v).max(axis=1),
        inverse_v=np.maximum(0.0, -v.min(axis=1)),
        watts=np.mean(heat * i, axis=1),
    )
    names = system.branch_names
    return {name: PartIdle(name=name, part=name.split(".")[0], **row) for name, row in zip(names, rows, strict=True)}


def read_tubes(system: System, state: TubeState) -> dict[str, TubeIdle]:
    """Return every amplifying section of one solved column."""
    return {**_triodes(system, state), **_pentodes(system, state)}


def _triodes(system: System, state: TubeState) -> dict[str, TubeIdle]:
    plate_v, grid_v = state.triode_v
    plate_a, grid_a = state.triode_a
    gp, gm, _ = state.triode_slopes
    return {
        tube.name: _tube(
            tube.name, plate_v[i, 0], grid_v[i, 0], None, plate_a[i, 0], 0.0, grid_a[i, 0], gm[i, 0], gp[i, 0]
        )
        for i, tube in enumerate(system.triodes)
    }


def _pentodes(system: System, state: TubeState) -> dict[str, TubeIdle]:
    plate_v, screen_v, grid_v = (x[:, 0] for x in state.pentode_v)
    plate_a, screen_a, grid_a = (x[:, 0] for x in state.pentode_a)
    by_plate, _, by_grid = (x[:, 0] for x in state.pentode_slopes[:3])
    return {
        tube.name: _tube(
            tube.name, plate_v[i], grid_v[i], screen_v[i], plate_a[i], screen_a[i], grid_a[i], by_grid[i], by_plate[i]
        )
        for i, tube in enumerate(system.pentodes)
    }


def _tube(
    name: str,
    plate_v: float,
    grid_v: float,
    screen_v: float | None,
    plate_a: float,
    screen_a: float,
    grid_a: float,
    transconductance: float,
    plate_conductance: float,
) -> TubeIdle:
    return TubeIdle(
        name=name,
        part=_socket(name),
        plate_to_cathode_v=float(plate_v),
        grid_to_cathode_v=float(grid_v),
        screen_to_cathode_v=None if screen_v is None else float(screen_v),
        plate_a=float(plate_a),
        screen_a=float(screen_a),
        grid_a=float(grid_a),
        plate_w=float(plate_v * plate_a),
        screen_w=0.0 if screen_v is None else float(screen_v * screen_a),
        transconductance_a_per_v=float(transconductance),
        plate_resistance_ohm=float(1.0 / plate_conductance) if plate_conductance > 0 else float("inf"),
    )


def _socket(section: str) -> str:
    """Return the tube of a section: V1 of V1a, V5 of V5.plate1."""
    plain = section.split(".")[0]
    return plain[:-1] if plain[-1:].isalpha() else plain


def _plates(system: System, parts: Mapping[str, PartIdle]) -> dict[str, TubeIdle]:
    plates = (parts[diode.name] for diode in system.diodes if isinstance(diode, VacuumDiode))
    return {part.name: rectifier_plate(part.name, part.volts, part.amps, part.watts) for part in plates}


def rectifier_plate(name: str, volts: float, amps: float, watts: float) -> TubeIdle:
    """Return the record of one plate of a rectifier tube from the means of what it carries."""
    return TubeIdle(
        name=name, part=_socket(name), plate_to_cathode_v=volts, grid_to_cathode_v=0.0, screen_to_cathode_v=None,
        plate_a=amps, screen_a=0.0, grid_a=0.0, plate_w=watts, screen_w=0.0,
        transconductance_a_per_v=0.0, plate_resistance_ohm=float("inf"),
    )  # fmt: skip


def _windings(system: System, waves: _Waves) -> dict[str, WindingIdle]:
    grouped: dict[str, list[int]] = {}
    allowed_a = {c.name: c.allowed_a for e in system.circuit.elements if isinstance(e, Windings) for c in e.coils}
    for group in system.groups:
        for branch in group.branches:
            grouped.setdefault(system.branch_names[branch].rsplit(".", 1)[0], []).append(int(branch))
    return {
        name: WindingIdle(
            name=name,
            rms_v=_rms(waves.branch_v[rows].sum(axis=0)),
            rms_a=max(_rms(waves.branch_a[row]) for row in rows),
            peak_a=float(np.abs(waves.branch_a[rows]).max()),
            rated_a=allowed_a.get(system.branch_names[rows[0]]),
        )
        for name, rows in grouped.items()
    }


def _refusal(solved: Solved, certificate: Certificate) -> NoIdlePoint:
    if certificate.left_over_a <= certificate.allowed_a and certificate.error_v > ERROR_V:
        return nothing_holds(solved.system.joints[int(np.argmax(np.abs(solved.dc.error_v[:, 0])))])
    return NoIdlePoint(
        what="the idle point is not certified",
        found=f"{certificate.worst_joint}: {certificate.left_over_a:.2g} A left over, "
        f"{certificate.power_in_w:.6g} W in, {certificate.power_out_w:.6g} W out",
        wanted="currents that cancel, and power in equal to power out",
        do=f"look at the parts that meet at {certificate.worst_joint}",
    )


def nothing_holds(joint: str) -> NoIdlePoint:
    """Return the refusal of a circuit in which a joint can take any volts, such as a screen joined to nothing."""
    return NoIdlePoint(
        what="no idle point found",
        found=f"{joint}: nothing holds its volts",
        wanted="a path for direct current from every joint",
        do=f"join {joint} to what it belongs to",
    )


def _lamp_watts(system: System, values: Array) -> float:
    row = system.value_row.get((LIMITER, "lamp_w"))
    return 0.0 if row is None else float(values[row, 0])


def _certificate(solved: Solved, waves: _Waves, state: TubeState, parts: Mapping[str, PartIdle]) -> Certificate:
    system, point = solved.system, solved.dc
    share = np.abs(point.left_over_a[:, 0]) / point.allowed_a[:, 0]
    worst = int(np.argmax(share)) if len(share) else 0
    power_in, power_out = _power(solved, waves, state, parts)
    error = float(np.abs(point.error_v).max(initial=0.0))
    balanced = abs(power_in - power_out) <= POWER_BALANCE * max(power_in, power_out, LEAST_W)
    return Certificate(
        passed=bool(point.solved.all()) and bool(np.max(share, initial=0.0) <= 1.0) and balanced and error <= ERROR_V,
        worst_joint=system.joints[worst] if system.joints else "",
        left_over_a=float(np.abs(point.left_over_a[worst, 0])) if len(share) else 0.0,
        allowed_a=float(point.allowed_a[worst, 0]) if len(share) else 0.0,
        error_v=error,
        power_in_w=power_in,
        power_out_w=power_out,
        steps=solved.rounds,
        how=point.how,
    )


def _power(solved: Solved, waves: _Waves, state: TubeState, parts: Mapping[str, PartIdle]) -> tuple[float, float]:
    """Return mean power from the sources and mean power turned to heat."""
    system, values = solved.system, solved.values
    first = len(system.resistors) + len(system.capacitors)
    source_a = waves.branch_a[first : first + len(system.sources)]
    power_in = -float(np.sum(np.mean(waves.emf_v * source_a, axis=1)))
    for row, a, b in zip(system.current_amps, system.current_a, system.current_b, strict=True):
        power_in += float(values[row, 0] * np.mean(waves.joint_v[b] - waves.joint_v[a]))
    heat = sum(part.watts for part in parts.values())
    heat += sum(float(np.sum(v * i)) for v, i in zip(state.triode_v, state.triode_a, strict=True) if len(v))
    heat += sum(float(np.sum(v * i)) for v, i in zip(state.pentode_v, state.pentode_a, strict=True) if len(v))
    ties = float(np.sum(np.mean(waves.joint_v[system.tied] ** 2, axis=1))) * 1e-9
    return power_in, float(heat + ties + _ripple_power(system, waves, state))


def _ripple_power(system: System, waves: _Waves, state: TubeState) -> float:
    """Return the power the tubes take from ripple, by their slopes."""
    ripple = waves.joint_v - waves.joint_v.mean(axis=1, keepdims=True)
    total = 0.0
    if system.triodes:
        plate, grid, cathode = (ripple[r] for r in system.triode_rows)
        gp, gm, gg = state.triode_slopes
        p, g = plate - cathode, grid - cathode
        total += float(np.sum(np.mean(p * (gp * p + gm * g) + g * gg * g, axis=1)))
    if system.pentodes:
        plate, screen, grid, cathode = (ripple[r] for r in system.pentode_rows)
        pp, ps, pg, sp, ss, sg, gg = state.pentode_slopes
        p, s, g = plate - cathode, screen - cathode, grid - cathode
        power = p * (pp * p + ps * s + pg * g) + s * (sp * p + ss * s + sg * g) + g * gg * g
        total += float(np.sum(np.mean(power, axis=1)))
    return total
