"""Laws that hold for every build and every edit of it."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from lugwright.buildfile.read import read_build
from lugwright.circuit.edits import Edit, ScaleValue, SetValue, opened, pulled
from lugwright.circuit.elements import PentodeTube, Resistor, TriodeTube
from lugwright.circuit.from_build import circuit_from_build
from lugwright.circuit.network import Circuit
from lugwright.solve.idle import solve_column, solve_idle
from lugwright.solve.many import ManyIdles, many_at
from lugwright.solve.system import System

EXAMPLES = sorted((Path(__file__).parents[3] / "examples").glob("*.toml"))
SEED = 20_260_101


def _circuit(path: Path) -> Circuit:
    build = read_build(path).build
    assert build is not None
    return circuit_from_build(build)


def _sections(circuit: Circuit) -> tuple[str, ...]:
    return tuple(e.name for e in circuit.elements if isinstance(e, TriodeTube | PentodeTube))


def _resistors(circuit: Circuit) -> list[str]:
    return [e.name for e in circuit.elements if isinstance(e, Resistor) and e.name.startswith("R")]


def _drawn(circuit: Circuit, count: int, spread: float) -> list[Edit]:
    random = np.random.default_rng(SEED)
    return [
        Edit(
            f"draw {k}",
            tuple(ScaleValue(r, "ohm", float(random.uniform(1 - spread, 1 + spread))) for r in _resistors(circuit)),
        )
        for k in range(count)
    ]


def _many(circuit: Circuit, edits: list[Edit]) -> ManyIdles:
    system = System(circuit)
    return many_at(solve_column(system, system.values(())), system.values(edits))


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_power_in_equals_power_out_and_currents_cancel(path: Path) -> None:
    circuit = _circuit(path)
    lamp = Edit("lamp", (SetValue("limiter", "lamp_w", 100.0), SetValue("limiter", "lamp_v", 230.0)))
    edits = [Edit("as built"), pulled("all", _sections(circuit)), lamp, *_drawn(circuit, 3, 0.2)]
    for idle in solve_idle(circuit, edits):
        certificate = idle.certificate
        assert certificate.passed
        assert certificate.left_over_a <= certificate.allowed_a
        assert certificate.power_in_w == pytest.approx(certificate.power_out_w, rel=1e-6)
        assert certificate.error_v < 1e-4


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_what_is_printed_of_every_part_and_tube_adds_up_to_what_the_mains_gives(path: Path) -> None:
    """But for ripple that tubes exchange with their loads; a coil's power is what enters it, so windings cancel."""
    (idle,) = solve_idle(_circuit(path))
    tubes = (t for name, t in idle.tubes.items() if name not in idle.parts)  # rectifier plates are parts too
    printed = sum(p.watts for p in idle.parts.values()) + sum(t.plate_w + t.screen_w for t in tubes)
    assert printed == pytest.approx(idle.certificate.power_in_w, rel=1e-4)


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_tube_currents_are_never_negative_and_none_flows_in_a_pulled_tube(path: Path) -> None:
    circuit = _circuit(path)
    warm, cold = solve_idle(circuit, [Edit("as built"), pulled("all", _sections(circuit))])
    for name in _sections(circuit):
        assert warm.tubes[name].plate_a > 1e-5
        assert cold.tubes[name].plate_a == 0.0
    b_plus = [j for j in warm.joints if j.startswith("B+")]
    assert all(cold.joints[j].volts > warm.joints[j].volts for j in b_plus)


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_a_batch_of_part_values_agrees_with_single_solves(path: Path) -> None:
    """The batch keeps the rectifier's law of the base: within 0.2 % of B+ for 5 % parts."""
    circuit = _circuit(path)
    edits = _drawn(circuit, 4, 0.05)
    spread = _many(circuit, edits)
    top = max(abs(j.volts) for j in solve_idle(circuit)[0].joints.values())
    for k, idle in enumerate(solve_idle(circuit, edits)):
        off = max(abs(spread.level_at(joint)[k] - level.volts) for joint, level in idle.joints.items())
        assert off < 0.002 * top


def test_a_thousand_boards_all_find_their_idle() -> None:
    circuit = _circuit(next(p for p in EXAMPLES if p.stem == "godwit_40"))
    spread = _many(circuit, _drawn(circuit, 1000, 0.2))
    assert spread.volts.shape[1] == 1000
    assert np.all(np.isfinite(spread.volts))


def test_open_and_decade_wrong_resistors_all_find_their_idle() -> None:
    circuit = _circuit(next(p for p in EXAMPLES if p.stem == "dunlin_5"))
    names = _resistors(circuit)
    edits = [opened(n) for n in names] + [Edit(n, (ScaleValue(n, "ohm", f),)) for n in names for f in (0.1, 10.0)]
    assert all(idle.certificate.passed for idle in solve_idle(circuit, edits))


def test_higher_mains_raises_every_supply_in_proportion_without_load() -> None:
    circuit = _circuit(next(p for p in EXAMPLES if p.stem == "dunlin_5"))
    cold = pulled("all", _sections(circuit))
    low, high = solve_idle(circuit, [cold, cold + Edit("high", (ScaleValue("mains", "rms_v", 1.1),))])
    ratio = (high.joints["B+1"].volts + 0.7) / (low.joints["B+1"].volts + 0.7)
    assert ratio == pytest.approx(1.1, rel=2e-3)


def test_bias_gets_more_negative_and_current_falls_when_the_bias_pot_is_turned() -> None:
    circuit = _circuit(next(p for p in EXAMPLES if p.stem == "godwit_40"))
    a, b = solve_idle(
        circuit, [Edit("low", (SetValue("R49.2-3", "ohm", 2e3),)), Edit("high", (SetValue("R49.2-3", "ohm", 20e3),))]
    )
    assert b.joints["V5.grid"].volts < a.joints["V5.grid"].volts
    assert b.tubes["V5"].plate_a < a.tubes["V5"].plate_a


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_a_limiter_lamp_ends_at_the_resistance_its_own_volts_ask_for(path: Path) -> None:
    circuit = _circuit(path)
    rated_w, rated_v = 60.0, 230.0
    lamp = Edit("lamp", (SetValue("limiter", "lamp_w", rated_w), SetValue("limiter", "lamp_v", rated_v)))
    for idle in solve_idle(circuit, [lamp, pulled("all", _sections(circuit)) + lamp]):
        assert idle.lamp_rms_v is not None
        filament_a = (rated_w / rated_v) * (idle.lamp_rms_v / rated_v) ** 0.55
        cold_a = idle.lamp_rms_v / (rated_v**2 / rated_w / 12.0)
        assert idle.parts["limiter"].rms_a == pytest.approx(min(filament_a, cold_a), rel=3e-6)
