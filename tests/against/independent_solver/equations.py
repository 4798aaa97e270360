"""A circuit's equations written out element by element, for solvers that know nothing of ours."""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from lugwright.catalogue.records import PentodeLaw, TriodeLaw
from lugwright.circuit.elements import (
    Capacitor,
    Junction,
    PentodeTube,
    Resistor,
    TriodeTube,
    VacuumDiode,
    VoltageSource,
    Windings,
)
from lugwright.circuit.network import Circuit

Vector = NDArray[np.float64]


def _softplus(z: float) -> float:
    return z + math.log1p(math.exp(-z)) if z > 0 else math.log1p(math.exp(z)) if z > -700 else 0.0


def _positive(v: float, w: float) -> float:
    return 0.5 * (v + math.hypot(v, w))


def _drawing(v: float, w: float = 0.36) -> float:
    return w * _softplus(v / w)


def _drive(v: float, grid: float, mu: float, kp: float, vct: float, kvb: float, soft_v: float = 0.0) -> float:
    q = math.sqrt(kvb + v * v)
    width = math.hypot(1.0 / kp, soft_v / q)
    return v * width * _softplus((1.0 / mu + (grid + vct) / q) / width)


def _grid_a(gain: float, grid: float) -> float:
    return gain * float((_softplus(10.0 * grid) / 10.0) ** 1.3)


def triode_a(law: TriodeLaw, plate: float, grid: float) -> tuple[float, float]:
    """Return plate and grid current."""
    v = _drawing(plate, 0.108)
    main, tail = (
        _drive(v, grid, mu, law.kp, law.vct, law.kvb, law.soft_v) ** law.power
        for mu in (law.mu, law.mu * law.tail_mu_ratio)
    )
    return law.k * ((1 - law.tail_share) * main + law.tail_share * tail), _grid_a(law.grid_gain, grid)


def pentode_a(law: PentodeLaw, plate: float, screen: float, grid: float) -> tuple[float, float, float]:
    """Return plate, screen and grid current."""
    v = _drawing(plate)
    space = law.k * _drive(_drawing(screen), grid, law.mu, law.kp, law.vct, law.kvb) ** 1.5
    h = 1.0 / (1.0 + law.beta * (0.1 / (space + 1e-6)) ** 0.3 * v)
    plate_a = space * ((1 - law.rho) * (1 - h) + law.slope * v)
    return plate_a, space * law.rho * (1 + law.alpha_s * h), _grid_a(law.grid_gain, grid)


def diode_a(diode: Junction | VacuumDiode, v: float) -> float:
    """Return a rectifier's current, its leak left out."""
    if isinstance(diode, VacuumDiode):
        return diode.on * diode.perveance * _positive(v, 0.2) ** 1.5
    rise = _softplus((v - diode.threshold_v) / diode.smooth_v) - _softplus(-diode.threshold_v / diode.smooth_v)
    forward = rise * diode.smooth_v / diode.bulk_ohm
    if diode.zener_v is None:
        return diode.on * forward
    return diode.on * (forward - _softplus((-v - diode.zener_v) / diode.smooth_v) * diode.smooth_v / diode.bulk_ohm)


class Equations:
    """Unknowns: joint volts, then coil currents, then one flux (volt seconds a turn) for each core."""

    def __init__(self, circuit: Circuit) -> None:
        self.circuit = circuit
        self.joints = [j for j in circuit.joints if j != circuit.ground]
        self.row = {j: i for i, j in enumerate(self.joints)}
        self.cores = [e for e in circuit.elements if isinstance(e, Windings)]
        self.coils = [(core, coil) for core in self.cores for coil in core.coils]
        self.size = len(self.joints) + len(self.coils) + len(self.cores)

    def volts(self, y: Vector) -> dict[str, float]:
        """Return every joint's volts, ground included."""
        return {self.circuit.ground: 0.0, **{j: float(y[i]) for i, j in enumerate(self.joints)}}

    def joint_currents(
        self, v: Mapping[str, float], slope: Mapping[str, float], t: float, diodes: Mapping[str, float] | None = None
    ) -> dict[str, float]:
        """Return the current leaving each joint through all but coils; given diode currents are taken as they are."""
        out = dict.fromkeys(v, 0.0)

        def flow(a: str, b: str, amps: float) -> None:
            out[a] += amps
            out[b] -= amps

        for e in self.circuit.elements:
            if isinstance(e, Resistor):
                flow(e.a, e.b, (v[e.a] - v[e.b]) / e.ohm)
            elif isinstance(e, Capacitor):
                flow(e.a, e.b, e.farad * (slope[e.a] - slope[e.b]) + e.leak_s * (v[e.a] - v[e.b]))
            elif isinstance(e, VoltageSource):
                emf = e.dc_v + math.sqrt(2.0) * e.rms_v * math.sin(2 * math.pi * self.circuit.mains_hz * t)
                flow(e.a, e.b, (v[e.a] - v[e.b] - emf) / e.ohm)
            elif isinstance(e, Junction | VacuumDiode):
                across = v[e.anode] - v[e.cathode]
                leak = e.leak_s if isinstance(e, Junction) else 1e-12
                flow(e.anode, e.cathode, leak * across + (diode_a(e, across) if diodes is None else diodes[e.name]))
            elif isinstance(e, TriodeTube):
                plate, grid = triode_a(e.law, v[e.plate] - v[e.cathode], v[e.grid] - v[e.cathode])
                flow(e.plate, e.cathode, e.on * plate)
                flow(e.grid, e.cathode, e.on * grid)
            elif isinstance(e, PentodeTube):
                k = v[e.cathode]
                currents = pentode_a(e.law, v[e.plate] - k, v[e.screen] - k, v[e.grid] - k)
                for joint, amps in zip((e.plate, e.screen, e.grid), currents, strict=True):
                    flow(joint, e.cathode, e.on * amps)
        return out

    def residual(self, t: float, y: Vector, yp: Vector, out: Vector) -> None:
        """Fill the residual of the differential equations."""
        n, m = len(self.joints), len(self.coils)
        v, slope = self.volts(y), self.volts(yp)
        currents = self.joint_currents(v, slope, t)
        flux_slope = dict(zip([c.name for c in self.cores], yp[n + m :], strict=True))
        turns = dict.fromkeys(flux_slope, 0.0)
        for k, (core, coil) in enumerate(self.coils):
            amps = y[n + k]
            currents[coil.a] += amps
            currents[coil.b] -= amps
            turns[core.name] += coil.turns * amps
            out[n + k] = (
                v[coil.a]
                - v[coil.b]
                - coil.turns * flux_slope[core.name]
                - coil.ohm * amps
                - coil.leakage_h * yp[n + k]
            )
        for k, core in enumerate(self.cores):
            out[n + m + k] = turns[core.name] - core.coils[0].turns ** 2 * y[n + m + k] / core.magnetizing_h
        for joint, i in self.row.items():
            out[i] = currents[joint]

    def dc(self, y: Vector, diodes: Mapping[str, float]) -> Vector:
        """Return the current left over at each joint at DC, coils as their copper, given mean diode currents."""
        v = self.volts(y)
        out = self.joint_currents(v, dict.fromkeys(v, 0.0), 0.0, diodes)
        for _, coil in self.coils:
            amps = (v[coil.a] - v[coil.b]) / coil.ohm
            out[coil.a] += amps
            out[coil.b] -= amps
        return np.array([out[j] for j in self.joints])
