"""From a driven period to watts, distortion, heat and a certificate."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from lugwright.circuit.operating import Idle
from lugwright.solve.power_results import DrivenTube, PowerCertificate, PowerPoint, SpeakerWave
from lugwright.solve.signal_surroundings import Complex
from lugwright.solve.sustained import AGREED, Sustained, SustainedPoint
from lugwright.solve.system import Array, Index

POWER_BALANCE = 1e-6  # largest share of the power that may be unaccounted for
LEFT_OVER = 1e-6  # volts left over at a port, as a share of its own peak
SUPPLY_GAP = AGREED  # of the rectifier currents
HARMONICS_SHOWN = 20
ROOT_2 = float(np.sqrt(2.0))


@dataclass(frozen=True)
class Load:
    """The joints of the speaker, and the branches that take its power."""

    plus: str
    minus: str
    branches: tuple[int, ...]


class Reading:
    """One driven point, read harmonic by harmonic: spectra are (row, harmonic), half the peak from the first on."""

    def __init__(self, bench: Sustained, point: SustainedPoint) -> None:
        self.bench, self.point = bench, point
        self.system, self.ports = bench.system, bench.ports
        self.around = point.around

    @cached_property
    def joint_v(self) -> Complex:
        """Return the spectrum of every joint (joint + ground, harmonic). [V]"""
        amps = np.fft.rfft(self.point.period.port_a, axis=1) / self.bench.instants
        found = -np.einsum("nqk,qk->nk", self.around.from_ports, amps)
        found[:, 0] += self.around.open_dc_v
        for tone in self.point.tones:
            found[:, tone.harmonic] += self.around.transfer(self.bench.generator, tone.harmonic) * tone.phasor
        return np.asarray(found)

    @cached_property
    def branch_v(self) -> Complex:
        """Return the spectrum across every branch. [V]"""
        return np.asarray(self.joint_v[self.system.branch_a] - self.joint_v[self.system.branch_b])

    @cached_property
    def emf_v(self) -> Complex:
        """Return the spectrum of every source (source, harmonic). [V]"""
        emf = np.zeros((len(self.system.sources), self.branch_v.shape[1]), dtype=complex)
        emf[:, 0] = self.bench.values[self.system.source_dc, 0]
        row = [source.name for source in self.system.sources].index(self.bench.generator)
        for tone in self.point.tones:
            emf[row, tone.harmonic] += tone.phasor
        return emf

    @cached_property
    def branch_a(self) -> Complex:
        """Return the spectrum through every branch. [A]"""
        driven = self.branch_v.copy()
        driven[self._sources] -= self.emf_v
        return np.asarray(self.system.branch_currents(self.around.admittances, driven))

    @property
    def _sources(self) -> slice:
        first = len(self.system.resistors) + len(self.system.capacitors)
        return slice(first, first + len(self.system.sources))

    def dc_level(self, joint: str) -> float:
        """Return the mean volts of a joint. [V]"""
        return float(np.real(self.joint_v[self.system.row[joint], 0]))

    def power_w(self) -> tuple[float, float, float]:
        """Return the power that comes in, the part of it from the rectifiers, and the power that goes out.

        Returns
        -------
        tuple of float
            From rectifiers, batteries and generator; from rectifiers alone; into parts and tubes. [W]

        Source
        ------
        Volts times amps, summed over harmonics; Tellegen's theorem says that in and out are equal.
        """
        volts = np.real(self.joint_v[self.system.port_a, 0] - self.joint_v[self.system.port_b, 0])
        from_rectifiers = -float(volts @ self.around.line.current_a(volts))
        out = float(np.sum(_watts(self.branch_v, self.branch_a)))
        emf_w = -float(np.sum(_watts(self.emf_v, self.branch_a[self._sources])))
        out += emf_w  # the sources' own resistance stays, what they deliver is counted as coming in
        across = self.joint_v[self.system.port_a] - self.joint_v[self.system.port_b]
        out += float(np.sum(2.0 * self.around.line.signal_s[:, None] * np.abs(across[:, 1:]) ** 2))
        period = self.point.period
        out += float(np.sum(np.mean(period.port_v * period.port_a, axis=1)))
        return from_rectifiers + emf_w, from_rectifiers, out


def _watts(volts: Complex, amps: Complex) -> Array:
    """Return the mean power of each row."""
    product = np.real(volts * np.conj(amps))
    return np.asarray(product[:, 0] + 2.0 * product[:, 1:].sum(axis=1))


def load_of(bench: Sustained, part: str, plus: str, minus: str) -> Load:
    """Return the load that a speaker part makes: its own branch, or those of its model."""
    rows = [row for name, row in bench.system.branch_row.items() if name == part or name.startswith(f"{part}.")]
    return Load(plus, minus, tuple(rows))


def speaker_v(reading: Reading, load: Load) -> Complex:
    """Return the spectrum of the speaker's volts.

    Parameters
    ----------
    reading : Reading
        The driven point.
    load : Load
        The speaker.

    Returns
    -------
    array
        Half the peak of each harmonic, the mean first. [V]

    Source
    ------
    Kirchhoff's law.
    """
    row = reading.system.row
    return np.asarray(reading.joint_v[row[load.plus]] - reading.joint_v[row[load.minus]])


def speaker_wave(reading: Reading, load: Load, *, instants: int = 200) -> SpeakerWave:
    """Return one period of the speaker's volts."""
    spectrum = speaker_v(reading, load)
    kept = spectrum[: instants // 2 + 1] * instants
    volts = np.fft.irfft(kept, n=instants)
    seconds = np.arange(instants) / (instants * reading.bench.hz)
    return SpeakerWave(reading.point.tones[0].peak_v / ROOT_2, tuple(map(float, seconds)), tuple(map(float, volts)))


def shares(reading: Reading, load: Load) -> Array:
    """Return the speaker's harmonics 1 to `HARMONICS_SHOWN` of the first tone as shares of the first."""
    step = reading.point.tones[0].harmonic
    size = np.abs(speaker_v(reading, load))[step::step][:HARMONICS_SHOWN]
    return np.asarray(np.pad(size / size[0], (0, HARMONICS_SHOWN - len(size))))


def load_w(reading: Reading, load: Load) -> float:
    """Return the power into the speaker.

    Parameters
    ----------
    reading : Reading
        The driven point.
    load : Load
        The speaker.

    Returns
    -------
    float
        Mean power, every harmonic counted. [W]

    Source
    ------
    Volts times amps.
    """
    rows = list(load.branches)
    return float(np.sum(_watts(reading.branch_v[rows], reading.branch_a[rows])))


def certificate(reading: Reading, halved_change: float | None = None) -> PowerCertificate:
    """Return what stands behind a driven point."""
    point, period = reading.point, reading.point.period
    power_in, _, power_out = reading.power_w()
    balanced = abs(power_in - power_out) <= POWER_BALANCE * max(abs(power_in), abs(power_out), 1e-6)
    return PowerCertificate(
        passed=bool(point.closed and period.left_over <= LEFT_OVER and point.supply_gap <= SUPPLY_GAP and balanced),
        left_over=period.left_over,
        supply_gap=point.supply_gap,
        power_in_w=power_in,
        power_out_w=power_out,
        harmonics=reading.bench.harmonics,
        halved_change=halved_change,
        steps=point.steps,
    )


def power_point(reading: Reading, load: Load, halved_change: float | None = None) -> PowerPoint:
    """Return the figures of one driven point."""
    spectrum = np.abs(speaker_v(reading, load))
    found = shares(reading, load)
    volts = np.real(reading.joint_v[reading.system.port_a, 0] - reading.joint_v[reading.system.port_b, 0])
    amps = reading.around.line.current_a(volts)
    mean_a = {d.name: float(a) for d, a in zip(reading.system.diodes, amps, strict=True) if abs(a) > 1e-6}
    return PowerPoint(
        drive_rms_v=reading.point.tones[0].peak_v / ROOT_2,
        hertz=reading.bench.hz * reading.point.tones[0].harmonic,
        watts=load_w(reading, load),
        speaker_rms_v=float(np.sqrt(2.0 * np.sum(spectrum[1:] ** 2))),
        distortion=float(np.sqrt(np.sum(found[1:] ** 2))),
        harmonics=tuple(map(float, found)),
        b_plus_v={joint: reading.dc_level(joint) for joint in b_plus_joints(reading.system.joints)},
        rectifier_a=mean_a,
        supply_w=reading.power_w()[1],
        tubes=driven_tubes(reading),
        certificate=certificate(reading, halved_change),
    )


def b_plus_joints(joints: tuple[str, ...]) -> list[str]:
    """Return the B+ joints in their order."""
    return sorted((j for j in joints if j.startswith("B+")), key=lambda j: (len(j), j))


def idle_b_plus_v(idle: Idle) -> Mapping[str, float]:
    """Return the volts of the B+ joints at idle.

    Parameters
    ----------
    idle : Idle
        Mains on, no signal.

    Returns
    -------
    mapping
        Joint to volts. [V]

    Source
    ------
    The idle.
    """
    return {joint: idle.joints[joint].volts for joint in b_plus_joints(tuple(idle.joints))}


def _knee(reading: Reading, plate: int) -> float:
    """Return the share by which a pentode's plate current follows its plate volts where these are lowest."""
    period = reading.point.period
    lowest = int(np.argmin(period.port_v[plate]))
    (entry,) = np.flatnonzero((reading.ports.of == plate) & (reading.ports.over == plate))
    slope = reading.ports.laws(period.port_v[:, [lowest]]).slopes[entry, 0]
    amps = period.port_a[plate, lowest]
    return float(slope * period.port_v[plate, lowest] / amps) if amps > 0 else 0.0


def driven_tubes(reading: Reading) -> Mapping[str, DrivenTube]:
    """Return every amplifying section under the signal."""
    system, ports = reading.system, reading.ports
    plate, grid = ports.triode_rows
    found = {t.name: _tube(reading, t.name, plate[i], None, grid[i]) for i, t in enumerate(system.triodes)}
    plate, screen, grid = ports.pentode_rows
    found.update({t.name: _tube(reading, t.name, plate[i], screen[i], grid[i]) for i, t in enumerate(system.pentodes)})
    return found


def _tube(reading: Reading, name: str, plate: int, screen: int | None, grid: int) -> DrivenTube:
    v, a = reading.point.period.port_v, reading.point.period.port_a
    heat: Index | Array = np.mean(v * a, axis=1)
    return DrivenTube(
        name=name,
        plate_a=float(a[plate].mean()),
        screen_a=0.0 if screen is None else float(a[screen].mean()),
        grid_a=float(a[grid].mean()),
        plate_w=float(heat[plate]),
        screen_w=0.0 if screen is None else float(heat[screen]),
        plate_low_v=float(v[plate].min()),
        plate_high_v=float(v[plate].max()),
        plate_peak_a=float(a[plate].max()),
        plate_least_a=float(a[plate].min()),
        grid_high_v=float(v[grid].max()),
        grid_low_v=float(v[grid].min()),
        knee=0.0 if screen is None else _knee(reading, plate),
    )
