"""The first mains cycles of every demo build handed to SUNDIALS as plain equations: same inrush, same charging."""

from __future__ import annotations

import importlib.util
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from sksundae.ida import IDA

from lugwright.buildfile.read import read_build
from lugwright.circuit.elements import Element, PentodeTube, Resistor, TriodeTube
from lugwright.circuit.from_build import circuit_from_build
from lugwright.circuit.network import Circuit
from lugwright.solve.first_cycles import FirstCycles
from lugwright.solve.system import System

EXAMPLES = sorted((Path(__file__).parents[3] / "examples").glob("*.toml"))
STEPS = 4000  # in one cycle
START = 20  # IDA takes over here: at the very first instant the mains has a corner no solver starts from
CYCLES = 2


def _equations(circuit: Circuit) -> Any:
    """Return the circuit as the independent equations have it."""
    path = Path(__file__).parents[1] / "independent_solver" / "equations.py"
    spec = importlib.util.spec_from_file_location("independent_equations", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module.Equations(circuit)


def _switched_on_cold(path: Path) -> Circuit:
    """Return a build's circuit at switch-on: heaters at a fourth, amplifying tubes dead, rectifiers ready."""
    build = read_build(path).build
    assert build is not None
    circuit = circuit_from_build(build)

    def cold(e: Element) -> Element:
        if isinstance(e, Resistor) and e.role == "heater":
            return replace(e, ohm=e.ohm / 4.0)
        return replace(e, on=0.0) if isinstance(e, TriodeTube | PentodeTube) else e

    return Circuit(tuple(cold(e) for e in circuit.elements), circuit.ground, circuit.mains_hz)


def _ida(equations: Any, seconds: Any, start: Any, slopes: Any) -> Any:
    """Return IDA's joint volts, at the tightest tolerance at which it gets going from this start."""
    for rtol in (1e-7, 1e-6):
        solver = IDA(equations.residual, rtol=rtol, atol=1e-7, first_step=1e-8, max_num_steps=500000)
        found = solver.solve(seconds, start, slopes)
        if found.success:
            return np.asarray(found.y[:, : len(equations.joints)].T)
    raise AssertionError(found.message)


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_first_cycles_agree_with_ida(path: Path, tolerance: dict[str, Any]) -> None:
    """Volts of every joint and current from the mains, from a zero crossing on."""
    circuit = _switched_on_cold(path)
    system = System(circuit)
    values = system.values(())
    first = FirstCycles(system, values, np.array([0.0]), steps=STEPS)
    cycles = [first.cycle(values) for _ in range(CYCLES)]
    ours = np.concatenate([c.volts[:, 0] for c in cycles], axis=1)
    mains = np.concatenate([c.mains_a[0] for c in cycles])
    seconds = np.concatenate([c.seconds for c in cycles])

    equations = _equations(circuit)
    states = np.concatenate([c.states[len(system.capacitors) :, 0] for c in cycles], axis=1)
    whole = np.vstack([ours[[system.row[j] for j in equations.joints]], states])
    step = float(seconds[1])
    slopes = (3.0 * whole[:, START] - 4.0 * whole[:, START - 1] + whole[:, START - 2]) / (2.0 * step)
    seconds, ours, mains = seconds[START:], ours[:, START:], mains[START:]
    theirs = _ida(equations, seconds, whole[:, START], slopes)
    rows = [system.row[j] for j in equations.joints]
    swing = np.maximum(np.abs(theirs).max(axis=1), tolerance["least_v"] / tolerance["waveform"])
    off = np.abs(ours[rows] - theirs).max(axis=1) / swing
    worst = int(np.argmax(off))
    assert off[worst] <= tolerance["waveform"], f"{equations.joints[worst]}: {off[worst]:.2g} of its swing"
    source = system.sources[0]
    at = {joint: theirs[i] for i, joint in enumerate(equations.joints)}
    emf = np.sqrt(2.0) * source.rms_v * np.sin(2.0 * np.pi * circuit.mains_hz * seconds)
    amps = (emf - (at[source.a] - at.get(source.b, 0.0))) / source.ohm
    assert np.abs(mains - amps).max() <= tolerance["mains"] * np.abs(amps).max()
