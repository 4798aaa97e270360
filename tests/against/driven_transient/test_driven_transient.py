"""A driven period handed to SUNDIALS as plain differential equations: it follows it round and comes back to it."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from sksundae.ida import IDA

sys.path.insert(0, str(Path(__file__).parents[1] / "independent_solver"))
from equations import Equations, Vector

from lugwright.buildfile.read import read_build
from lugwright.catalogue.load import tube_type
from lugwright.circuit.audio import audio_circuit
from lugwright.circuit.edits import Edit
from lugwright.circuit.elements import (
    Capacitor,
    Element,
    Resistor,
    TriodeTube,
    VacuumDiode,
    VoltageSource,
    Windings,
)
from lugwright.circuit.network import Circuit
from lugwright.circuit.points import input_jack, plugged
from lugwright.solve.idle import solve_column
from lugwright.solve.power_readout import Reading
from lugwright.solve.sustained import Sustained, SustainedPoint, Tone
from lugwright.solve.system import System

EXAMPLES = Path(__file__).parents[3] / "examples"
SHOWN, HZ = 20, 1000.0
SAMPLES = 4000  # of IDA's answer: enough that its own square edges do not fold back


def _reached(elements: list[Element], start: str) -> list[Element]:
    """Return the elements that hang together with a joint."""
    joints, kept = {start}, []
    while True:
        found = [e for e in elements if joints & set(e.joints)]
        if len(found) == len(kept):
            return found
        kept, joints = found, joints | {j for e in found for j in e.joints}


def _on_batteries(name: str, batteries: dict[str, float]) -> tuple[Circuit, Edit]:
    """Return an example without its mains side, batteries in its place, a generator in its jack."""
    build = read_build(EXAMPLES / f"{name}.toml").build
    assert build is not None
    jack = input_jack(build)
    assert jack is not None
    whole = audio_circuit(build, resistive_speaker=True)
    mains = [e for e in whole.elements if not (isinstance(e, Windings) and e.name == "T1")]
    rectifiers = {
        "dunlin_5": ("CR1", "CR2"), "godwit_40": ("CR1", "CR2", "CR3"), "curlew_18": ("V6.plate1", "V6.plate2"),
        "redshank_50": ("CR5", "V8.plate1", "V8.plate2"),
    }[name]  # fmt: skip
    kept = [replace(e, rms_v=0.0) if isinstance(e, VoltageSource) else e for e in mains if e.name not in rectifiers]
    extra: list[Element] = [VoltageSource(f"battery {j}", j, "ground", v, 0.0, 50.0) for j, v in batteries.items()]
    tip = jack.terminal("tip").joint
    extra.append(VoltageSource("generator", tip, "ground", 0.0, 0.0, 600.0))
    return Circuit(tuple(_reached([*kept, *extra], "ground")), "ground", HZ), plugged(build, tip)


def _two_triodes() -> Circuit:
    """Return two stages driven far past grid current."""
    law = tube_type("12AX7").law
    parts: list[Element] = [
        VoltageSource("battery", "plus", "ground", 300.0, 0.0, 100.0),
        VoltageSource("generator", "in", "ground", 0.0, 0.0, 600.0),
        Resistor("R1", "in", "g1", 68e3), Resistor("R2", "g1", "ground", 1e6),
        TriodeTube("V1", "p1", "g1", "k1", law),
        Resistor("R3", "plus", "p1", 100e3), Resistor("R4", "k1", "ground", 1500.0),
        Capacitor("C1", "k1", "ground", 1e-6), Capacitor("C2", "p1", "g2", 22e-9),
        Resistor("R5", "g2", "ground", 470e3),
        TriodeTube("V2", "p2", "g2", "k2", law),
        Resistor("R6", "plus", "p2", 100e3), Resistor("R7", "k2", "ground", 820.0),
        Capacitor("C3", "p2", "out", 22e-9), Resistor("R8", "out", "ground", 1e6),
        Capacitor("C4", "g1", "p1", 2e-12), Capacitor("C5", "g2", "p2", 2e-12), Capacitor("C6", "p2", "ground", 1e-11),
    ]  # fmt: skip
    return Circuit(tuple(parts), "ground", HZ)


def _driven(
    circuit: Circuit, edit: Edit, levels: tuple[float, ...], harmonics: int
) -> tuple[Circuit, Sustained, SustainedPoint]:
    """Return the circuit as edited with its generator running, and our answer."""
    system = System(circuit)
    values = system.values([edit])
    bench = Sustained(solve_column(system, values), "generator", hz=HZ, harmonics=harmonics)
    point = None
    for peak_v in levels:
        point = bench.drive([Tone(1, peak_v)], point)
        assert point.closed
    assert point is not None
    changed = {change.element: change.value for change in edit.changes}  # type: ignore[union-attr]
    elements = [replace(e, ohm=changed[e.name]) if e.name in changed else e for e in circuit.elements]  # type: ignore[call-arg]
    peak = levels[-1]
    running = [replace(e, rms_v=peak / np.sqrt(2.0)) if e.name == "generator" else e for e in elements]  # type: ignore[call-arg]
    return Circuit(tuple(running), circuit.ground, HZ), bench, point


def _start(equations: Equations, bench: Sustained, point: SustainedPoint) -> tuple[Vector, Vector]:
    """Return every unknown of the differential equations and its slope at the start of the period."""
    reading = Reading(bench, point)
    branch = bench.system.branch_row
    coils = np.array([reading.branch_a[branch[c.name]] for _, c in equations.coils])
    coils = coils.reshape(len(equations.coils), reading.joint_v.shape[1])
    joints = np.array([reading.joint_v[bench.system.row[j]] for j in equations.joints])
    amps = {coil.name: coils[k] for k, (_, coil) in enumerate(equations.coils)}
    flux = [
        sum(coil.turns * amps[coil.name] for coil in core.coils) * core.magnetizing_h / core.coils[0].turns ** 2
        for core in equations.cores
    ]
    spectrum = np.vstack([joints, coils, *flux])
    speed = 2j * np.pi * HZ * np.arange(spectrum.shape[1])
    at_once = [np.real(s[:, 0]) + 2.0 * np.real(s[:, 1:].sum(axis=1)) for s in (spectrum, spectrum * speed)]
    return at_once[0], at_once[1]


def _harmonics(wave: Vector) -> Vector:
    return np.abs(np.fft.rfft(wave))[1 : SHOWN + 1] / len(wave)


def _ida(equations: Equations, start: Vector, slopes: Vector) -> Vector:
    """Return the period as IDA goes on from the start: (unknown, sample)."""
    times = np.linspace(0.0, 1.0 / HZ, SAMPLES + 1)
    solver = IDA(equations.residual, rtol=1e-6, atol=1e-6, first_step=1e-10, max_num_steps=400000)
    found = solver.solve(times, start, slopes)
    assert found.success, found.message
    return np.asarray(found.y[:-1]).T


BATTERIES = {
    "dunlin_5": {"B+1": 285.0}, "curlew_18": {"B+1": 300.0}, "godwit_40": {"B+1": 390.0, "bias": -43.0},
    "redshank_50": {"V8.cathode": 404.0, "bias raw": -78.0},
}  # fmt: skip
CLEAN = {"dunlin_5": (0.03, 0.08), "curlew_18": (0.02, 0.05), "godwit_40": (0.03, 0.06), "redshank_50": (0.002, 0.004)}
CASES = {
    "two triodes": (_two_triodes(), Edit(""), (0.5, 2.0, 6.0), "out", 200),
    "dunlin clean": (*_on_batteries("dunlin_5", BATTERIES["dunlin_5"]), (0.03, 0.08), "LS1", 100),
    "dunlin clipping": (*_on_batteries("dunlin_5", BATTERIES["dunlin_5"]), (0.08, 0.2, 0.4), "LS1", 100),
    "godwit clipping": (
        *_on_batteries("godwit_40", BATTERIES["godwit_40"]), (0.06, 0.12, 0.2, 0.3), "LS1", 100,
    ),
    "curlew clipping": (*_on_batteries("curlew_18", BATTERIES["curlew_18"]), (0.02, 0.05, 0.1, 0.2), "LS1", 100),
    "redshank clipping": (
        *_on_batteries("redshank_50", BATTERIES["redshank_50"]), (0.005, 0.01, 0.02, 0.04), "LS1", 100,
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", CASES)
def test_harmonics_agree_with_ida(name: str, tolerance: dict[str, Any]) -> None:
    """Started from our period, IDA's next period has the same harmonics."""
    circuit, edit, levels, output, harmonics = CASES[name]
    running, bench, point = _driven(circuit, edit, levels, harmonics)
    joint = output
    if output == "LS1":
        element = running.by_name[output]
        assert isinstance(element, Resistor)
        joint = element.a
    equations = Equations(running)
    assert not [e for e in running.elements if isinstance(e, VacuumDiode)]
    start, slopes = _start(equations, bench, point)
    found = _ida(equations, start, slopes)
    row = equations.row[joint]
    theirs = _harmonics(found[row])
    ours = np.abs(Reading(bench, point).joint_v[bench.system.row[joint]])[1 : SHOWN + 1]
    assert np.abs(theirs - ours).max() <= tolerance["harmonic"] * ours[0]


@pytest.mark.parametrize("name", BATTERIES)
def test_waveforms_of_every_joint_agree_with_ida(name: str, tolerance: dict[str, Any]) -> None:
    """Driven below clipping, every example's period, from input jack to speaker."""
    running, bench, point = _driven(*_on_batteries(name, BATTERIES[name]), CLEAN[name], 100)
    equations = Equations(running)
    theirs = _ida(equations, *_start(equations, bench, point))[: len(equations.joints)]
    joint_v = Reading(bench, point).joint_v
    spectra = np.array([joint_v[bench.system.row[joint]] for joint in equations.joints])
    ours = np.fft.irfft(SAMPLES * spectra, n=SAMPLES, axis=1)
    largest = np.maximum(np.abs(theirs).max(axis=1), tolerance["least_v"] / tolerance["waveform"])
    off = np.abs(ours - theirs).max(axis=1) / largest
    worst = int(np.argmax(off))
    assert off[worst] <= tolerance["waveform"], (equations.joints[worst], off[worst])
    speaker = running.by_name["LS1"]
    assert isinstance(speaker, Resistor)
    row = equations.row[speaker.a]
    assert np.abs(ours - theirs)[row].max() <= tolerance["waveform"] * np.abs(theirs[row]).max()
