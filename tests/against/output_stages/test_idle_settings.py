"""The arithmetic of setting an idle, each worked figure as a small circuit that carries exactly its currents."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from scipy.optimize import root

from lugwright.catalogue.load import tube_type
from lugwright.catalogue.records import PentodeLaw
from lugwright.circuit.elements import Capacitor, Coil, Element, PentodeTube, Resistor, VoltageSource, Windings
from lugwright.circuit.network import Circuit
from lugwright.circuit.operating import Idle, Rating
from lugwright.solve.idle import solve_idle

GRID_V = -12.0


def _supply(name: str, joint: str, volts: float) -> Element:
    return VoltageSource(name, joint, "ground", volts, 0.0, 1e-6)


def _tube(name: str, type_name: str, joints: tuple[str, str, str, str], *, on: float = 1.0) -> PentodeTube:
    law = tube_type(type_name).law
    assert isinstance(law, PentodeLaw)
    return PentodeTube(name, *joints, law, on)


def _tuned(parts: list[Element], tubes: list[PentodeTube], plate_a: list[float], screen_a: float | None = None) -> Idle:
    """Return the idle with each tube's strength, and the screen's share, such that these currents flow."""

    def solved(x: np.ndarray) -> Idle:
        made = []
        for k, tube in enumerate(tubes):
            law = tube.law if screen_a is None else replace(tube.law, rho=float(x[-1]))
            made.append(replace(tube, on=float(x[k]), law=law))
        return solve_idle(Circuit((*parts, *made)))[0]

    def off(x: np.ndarray) -> list[float]:
        idle = solved(x)
        found = [idle.tubes[t.name].plate_a / a - 1.0 for t, a in zip(tubes, plate_a, strict=True)]
        return found if screen_a is None else [*found, idle.tubes[tubes[0].name].screen_a / screen_a - 1.0]

    first = np.ones(len(tubes) + (screen_a is not None))
    if screen_a is not None:
        first[-1] = tubes[0].law.rho
    answer = root(off, first, tol=1e-10)
    assert answer.success, answer.message
    return solved(answer.x)


def _share(type_name: str, watts: float) -> float:
    return Rating("plate-watts", "V1", "plate heat", watts, tube_type(type_name).limits["plate_w"].value, "W").share


# F-10: watts of plate and screen. Older sheets of the 6V6GT print 12 W for 14 W.
@pytest.mark.parametrize(
    ("name", "plate_w", "screen_w"), [("6L6GC", 30, 5), ("EL34", 25, 8), ("EL84", 12, 2), ("6V6GT", 12, 2)]
)
def test_limits_of_output_tubes(name: str, plate_w: float, screen_w: float, tolerance: dict[str, Any]) -> None:
    limits = tube_type(name).limits
    assert limits["screen_w"].value == pytest.approx(screen_w, rel=tolerance["limit"])
    assert limits["plate_w"].value == pytest.approx(plate_w, rel=tolerance["limit"])


def test_a_6550_is_held_to_the_lower_of_two_published_limits(tolerance: dict[str, Any]) -> None:
    """F-10 has 42 W and 6 W: the later 6550A, as a note of the type says. The Tung-Sol 6550 has 35 W and 6 W."""
    tube = tube_type("6550")
    assert tube.limits["screen_w"].value == pytest.approx(6.0, rel=tolerance["limit"])
    assert tube.limits["plate_w"].value == pytest.approx(35.0, rel=tolerance["limit"])
    assert any("6550A" in note and "42 W" in note for note in tube.notes)


@pytest.mark.parametrize(
    ("name", "volts", "amps", "limit_w"),
    [("6L6GC", 450, 0.0467, 30), ("EL34", 430, 0.0407, 25), ("6550", 500, 0.0588, 42)],
)
def test_seventy_percent(name: str, volts: float, amps: float, limit_w: float, tolerance: dict[str, Any]) -> None:
    """F-1: the current at which a plate turns 70 % of its watts into heat, in a circuit of its own."""
    parts = [_supply("plates", "p", volts), _supply("bias", "g", -30.0)]
    idle = _tuned(parts, [_tube("V1", name, ("p", "p", "g", "ground"))], [amps])
    assert idle.tubes["V1"].plate_w / limit_w == pytest.approx(0.70, rel=tolerance["exact"])


@pytest.mark.parametrize(
    ("name", "plate_v", "screen_v", "grid_v", "watts"),
    [("EL84", 250, 250, -7.3, 12.0), ("6L6GC", 250, 250, -14, 18.0), ("6V6GT", 250, 250, -12.5, 11.25)],
)
def test_class_a_idles_near_its_watts(
    name: str, plate_v: float, screen_v: float, grid_v: float, watts: float, tolerance: dict[str, Any]
) -> None:
    """F-3: EL84 48 mA, 6L6GC 72 mA, 6V6GT 45 mA at 250 V: catalogue tubes on the sheets' volts."""
    parts = [_supply("plates", "p", plate_v), _supply("screens", "s", screen_v), _supply("bias", "g", grid_v)]
    idle = solve_idle(Circuit((*parts, _tube("V1", name, ("p", "s", "g", "ground")))))[0]
    assert idle.tubes["V1"].plate_w == pytest.approx(watts, rel=tolerance["sheet"])


def test_a_pair_with_cathode_bias_idles_at_87_percent(tolerance: dict[str, Any]) -> None:
    """F-3: EL84, 36 mA each from 300 V with cathodes at 10.4 V: 10.4 W of 12 W."""
    parts = [_supply("plates", "p", 300.0), _supply("cathodes", "k", 10.4), Resistor("R1", "g", "ground", 1e5)]
    idle = _tuned(parts, [_tube("V1", "EL84", ("p", "p", "g", "k"))], [0.036])
    assert idle.tubes["V1"].plate_w == pytest.approx(10.4, abs=0.05)
    assert _share("EL84", idle.tubes["V1"].plate_w) == pytest.approx(0.87, abs=0.005)


def test_screen_current_in_a_sense_resistor(tolerance: dict[str, Any]) -> None:
    """F-4: 45 mV across 1 ohm with 6 mA of screen current and 430 V: 39 mA, 16.8 W."""
    parts = [_supply("plates", "p", 430.0), _supply("bias", "g", GRID_V), Resistor("R1", "k", "ground", 1.0)]
    idle = _tuned(parts, [_tube("V1", "EL34", ("p", "p", "g", "k"))], [0.039], 0.006)
    assert idle.joints["k"].volts == pytest.approx(0.045, rel=tolerance["exact"])
    assert idle.tubes["V1"].plate_w == pytest.approx(16.8, abs=0.05)
    assert _share("EL34", idle.tubes["V1"].plate_w) == pytest.approx(0.67, abs=0.005)


def test_each_half_of_a_primary_has_its_own_resistance(tolerance: dict[str, Any]) -> None:
    """F-6: 4.1 V across 105 ohm are 39.0 mA and, with 425 V left, 16.6 W; the other half of 120 ohm drops 4.7 V."""
    halves = Coil("T1.a", "b", "p1", 1.0, 105.0), Coil("T1.b", "b", "p2", 1.0, 120.0)
    parts = [
        _supply("plates", "b", 429.1), _supply("bias", "g", GRID_V), Windings("T1", halves, 100.0),
    ]  # fmt: skip
    tubes = [_tube(f"V{n}", "EL34", (f"p{n}", "b", "g", "ground")) for n in (1, 2)]
    idle = _tuned(parts, tubes, [0.0390, 0.0390])
    assert idle.joints["b"].volts - idle.joints["p1"].volts == pytest.approx(4.1, rel=tolerance["exact"])
    assert idle.tubes["V1"].plate_w == pytest.approx(16.6, abs=0.05)
    assert idle.joints["b"].volts - idle.joints["p2"].volts == pytest.approx(4.68, rel=tolerance["exact"])


def _shared() -> Idle:
    parts: list[Element] = [
        _supply("plates", "p", 345.0), Resistor("R1", "k", "ground", 250.0), Resistor("R2", "g", "ground", 1e5),
        Capacitor("C1", "k", "ground", 1e-4),
    ]  # fmt: skip
    tubes = [_tube(name, "EL84", ("p", "p", "g", "k")) for name in ("V1", "V2")]
    return _tuned(parts, tubes, [0.0355, 0.0355], 0.0025)


def test_two_tubes_on_one_cathode_resistor(tolerance: dict[str, Any]) -> None:
    """F-7: 19 V on 250 ohm are 76 mA; 2.5 mA of screen each leave 35.5 mA, 11.6 W at 345 V to ground."""
    idle = _shared()
    assert idle.joints["k"].volts == pytest.approx(19.0, rel=tolerance["exact"])
    assert idle.parts["R1"].amps == pytest.approx(0.076, rel=tolerance["exact"])
    for name in ("V1", "V2"):
        assert idle.tubes[name].plate_w == pytest.approx(11.6, abs=0.05)


def test_cathode_volts_alone_count_the_screen_as_plate(tolerance: dict[str, Any]) -> None:
    """F-9: (Va - Vk) (Vk / Rk) / 2 is plate and screen together, and by that much above the plate's heat."""
    idle = _shared()
    tube, cathode_v = idle.tubes["V1"], idle.joints["k"].volts
    both_w = (345.0 - cathode_v) * cathode_v / 250.0 / 2.0
    assert both_w == pytest.approx(tube.plate_w + tube.screen_w, rel=tolerance["exact"])
    assert both_w / tube.plate_w == pytest.approx(38.0 / 35.5, rel=tolerance["exact"])


def test_idle_heat_of_a_worked_class_a_pair(tolerance: dict[str, Any]) -> None:
    """B-55: 50 mA a tube at 250 V, the swing of 200 V and a knee of 50 V: 12.5 W each."""
    parts = [_supply("plates", "p", 250.0), _supply("bias", "g", -7.3)]
    idle = _tuned(parts, [_tube("V1", "EL84", ("p", "p", "g", "ground"))], [0.050])
    assert idle.tubes["V1"].plate_w == pytest.approx(12.5, rel=tolerance["exact"])
