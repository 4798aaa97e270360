"""Laws of linear networks: reciprocity, superposition, scaling; and the linearized amplifier against its solver."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lugwright.buildfile.build import Build
from lugwright.buildfile.read import read_build
from lugwright.circuit.audio import audio_circuit
from lugwright.circuit.edits import Edit, SetValue
from lugwright.circuit.elements import Capacitor, Coil, Element, Resistor, VoltageSource, Windings
from lugwright.circuit.from_build import circuit_from_build
from lugwright.circuit.network import Circuit
from lugwright.circuit.points import turned
from lugwright.errors import NoIdlePoint
from lugwright.solve import small_signal
from lugwright.solve.dc import DcPoint, DcProblem, solve_dc
from lugwright.solve.idle import solve_column, solve_idle
from lugwright.solve.small_signal import Network, SmallSignal, linearized
from lugwright.solve.solved import Solved
from lugwright.solve.system import System

from ...given_slopes import signal_of

EXAMPLES = sorted((Path(__file__).parents[3] / "examples").glob("*.toml"))
SMALL = [path for path in EXAMPLES if path.stem in ("dunlin_5", "curlew_18")]
HERTZ = np.array([3.0, 440.0, 25e3])


def _build(path: Path) -> Build:
    build = read_build(path).build
    assert build is not None
    return build


def _solved(circuit: Circuit) -> Solved:
    system = System(circuit)
    return solve_column(system, system.values([Edit("as built")]))


def _network(seed: int, ohms: float = 1.0) -> SmallSignal:
    """Return a random passive network; ``ohms`` scales every impedance in it."""
    random = np.random.default_rng(seed)
    joints = ["a", "b", "c", "d", "e", "ground"]
    parts: list[Element] = [
        Resistor(f"R{k}", joint, "ground", float(10 ** random.uniform(2, 6)) * ohms)
        for k, joint in enumerate(joints[:-1])
    ]
    for k in range(8):
        a, b = random.choice(joints, 2, replace=False)
        size = 10 ** random.uniform(-1.5, 1.5)
        kind = k % 3
        if kind == 0:
            parts.append(Resistor(f"R1{k}", a, b, 1e4 * size * ohms))
        elif kind == 1:
            parts.append(Capacitor(f"C{k}", a, b, 1e-8 * size / ohms, 0.0))
        else:
            coils = (Coil(f"T{k}.p", a, b, 5.0, 10.0 * ohms, 0.01 * ohms), Coil(f"T{k}.s", "d", "e", 1.0, ohms))
            parts.append(Windings(f"T{k}", coils, 2.0 * size * ohms))
    return signal_of(parts, {})


def _impedances(network: Network) -> np.ndarray:
    """Return the impedance matrix of all joints (joint, joint, frequency)."""
    size = network.signal.system.size
    return network.driven([(row, size) for row in range(size)])[:size, :, 0]


@settings(max_examples=25)
@given(st.integers(0, 10_000))
def test_linear_networks_are_reciprocal(seed: int) -> None:
    z = _impedances(_network(seed).at(HERTZ))
    assert np.allclose(z, np.swapaxes(z, 0, 1), rtol=1e-9, atol=1e-12 * np.abs(z).max())


@settings(max_examples=25)
@given(st.integers(0, 10_000))
def test_two_drives_together_make_the_sum_of_each(seed: int) -> None:
    network = _network(seed).at(HERTZ)
    row = network.signal.system.row
    both = network.driven([(row["a"], row["b"])])[:, 0]
    each = network.driven([(row["a"], network.signal.system.size), (row["b"], network.signal.system.size)])
    assert np.allclose(both, each[:, 0] - each[:, 1], rtol=1e-9, atol=1e-9 * np.abs(each).max())


@settings(max_examples=25)
@given(st.integers(0, 10_000), st.floats(0.01, 100.0))
def test_scaling_every_impedance_scales_the_volts(seed: int, ohms: float) -> None:
    z, scaled = (_impedances(_network(seed, scale).at(HERTZ)) for scale in (1.0, ohms))
    assert np.allclose(scaled, ohms * z, rtol=1e-6, atol=1e-9 * np.abs(scaled).max())


@settings(max_examples=25)
@given(st.integers(0, 10_000))
def test_what_is_heard_is_what_is_driven_read_the_other_way(seed: int) -> None:
    network = _network(seed).at(HERTZ)
    row = network.signal.system.row
    z = _impedances(network)
    heard = network.heard((row["a"], row["c"]))[:-1, 0]
    assert np.allclose(heard, z[row["a"]] - z[row["c"]], rtol=1e-9, atol=1e-12 * np.abs(z).max())


@pytest.mark.parametrize("path", SMALL, ids=lambda p: p.stem)
def test_at_dc_the_amplifier_answers_as_its_idle_moves(path: Path) -> None:
    """A thousandth of a volt more on a grid's joint, through the nonlinear solver, mains and all."""
    build = _build(path)
    probe = VoltageSource("probe", "probe", "ground", 0.0, 0.0, 1.0)
    into = Resistor("into", "probe", "V1a.grid", 1e4)
    circuit = circuit_from_build(build).with_elements([probe, into])
    volts = 1e-3
    edits = [Edit(f"{v:g}", (SetValue("probe", "dc_v", v),)) for v in (-volts, volts)]
    low, high = solve_idle(circuit, edits)
    signal = linearized(circuit, _solved(circuit))
    network = signal.at(np.array([1e-9]))
    row = signal.system.row
    answer = np.real(network.driven([(row["probe"], signal.system.size)])[:, 0, 0, 0])
    for joint in ("V1a.grid", "V1a.plate", "V1a.cathode"):
        moved = (high.joints[joint].volts - low.joints[joint].volts) / (2.0 * volts)
        assert answer[row[joint]] == pytest.approx(moved, rel=2e-3), joint


@pytest.mark.parametrize("path", SMALL, ids=lambda p: p.stem)
def test_a_setting_of_its_own_is_the_same_as_one_among_many(path: Path) -> None:
    build = _build(path)
    pots = [part.name for part in build.parts if part.kind == "pot"][:2]
    turns = [Edit("as built"), *(turned(build, name, share) for name in pots for share in (0.0, 1.0))]
    solved = _solved(circuit_from_build(build))
    circuit = audio_circuit(build)
    many = linearized(circuit, solved, turns).at(HERTZ)
    port = (many.signal.system.row["V1a.grid"], many.signal.system.size)
    together = many.driven([port])
    for k, turn in enumerate(turns):
        alone = linearized(circuit, solved, [turn]).at(HERTZ).driven([port])
        assert np.allclose(alone[:, :, 0], together[:, :, k], rtol=1e-6, atol=1e-9)


def test_a_knob_that_moves_the_idle_moves_the_slopes() -> None:
    """The bias control of the main example: more negative, less transconductance."""
    (path,) = (p for p in EXAMPLES if p.stem == "godwit_40")
    build = _build(path)
    bias = next(part.name for part in build.parts if part.kind == "pot" and part.stage == "bias")
    turns = [turned(build, bias, share) for share in (0.5, 0.7, 0.9)]
    signal = linearized(audio_circuit(build), _solved(circuit_from_build(build)), turns)
    gm = signal.tubes.pentode_slopes[2][0]
    by_level = gm[np.argsort(signal.volts[signal.system.row["V5.grid"]])]
    assert np.all(np.diff(by_level) > 1e-4)


def test_a_setting_without_an_idle_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    def stuck(problem: DcProblem, start: np.ndarray) -> DcPoint:
        point = solve_dc(problem, start)
        return replace(
            point, solved=np.array([False]), left_over_a=np.full((1, 1), 0.25), allowed_a=np.full((1, 1), 1e-9)
        )

    monkeypatch.setattr(small_signal, "solve_dc", stuck)
    circuit = Circuit((VoltageSource("S", "a", "ground", 1.0, 0.0, 1.0), Resistor("R", "a", "ground", 5.0)))
    with pytest.raises(NoIdlePoint) as caught:
        linearized(circuit, _solved(circuit), [Edit("Bias 0")])
    assert str(caught.value) == (
        "no idle point with Bias 0\n"
        "  found:  a: 0.25 A left over\n"
        "  wanted: less than 1e-09 A left over at every joint\n"
        "  do:     turn the knob less far, or look at what meets at that joint"
    )
