from __future__ import annotations

import pytest

from lugwright.catalogue.load import tube_type
from lugwright.catalogue.records import TriodeLaw
from lugwright.circuit.elements import CurrentSource, Resistor, TriodeTube, VoltageSource
from lugwright.circuit.network import Circuit
from lugwright.solve.idle import solve_columns
from lugwright.solve.meter_load import Voltmeter


def test_a_divider_of_megohms_is_loaded_as_ohms_law_says() -> None:
    circuit = Circuit((
        VoltageSource("battery", "plus", "ground", 200.0, 0.0, 1e-3),
        Resistor("R1", "plus", "middle", 10e6),
        Resistor("R2", "middle", "ground", 1e6),
    ))  # fmt: skip
    (solved,) = solve_columns(circuit)
    shares = Voltmeter(circuit).shown_shares(solved)
    true_v, shown_v = 200.0 / 11.0, 200.0 * (1e6 / 1.1) / (1e6 / 1.1 + 10e6)
    assert true_v * shares["middle"] == pytest.approx(shown_v, rel=1e-9)
    assert shares["plus"] == pytest.approx(1.0, abs=1e-9)


def test_a_joint_that_only_a_current_holds_shows_what_the_meter_makes_of_it() -> None:
    circuit = Circuit((CurrentSource("leak", "ground", "grid", 1e-8), Resistor("open", "grid", "ground", 1e12)))
    (solved,) = solve_columns(circuit)
    shares = Voltmeter(circuit).shown_shares(solved)
    assert solved.dc.volts[solved.system.row["grid"], 0] * shares["grid"] == pytest.approx(0.1, rel=1e-4)


def test_a_grid_held_up_by_its_own_cathode_is_loaded_along_the_curve_of_its_tube() -> None:
    law = tube_type("12AX7").law
    assert isinstance(law, TriodeLaw)

    def stage(*meter: Resistor) -> Circuit:
        return Circuit((
            VoltageSource("B", "B+", "ground", 300.0, 0.0, 1e-3),
            Resistor("RA", "B+", "plate", 47e3),
            TriodeTube("V1", "plate", "grid", "cathode", law),
            Resistor("RK", "cathode", "tail", 470.0),
            Resistor("RT", "tail", "ground", 10e3),
            Resistor("RG", "grid", "tail", 1e6),
            *meter,
        ))  # fmt: skip

    (bare,), (loaded,) = solve_columns(stage()), solve_columns(stage(Resistor("meter", "grid", "ground", 10e6)))
    shares = Voltmeter(stage()).shown_shares(bare)
    at = bare.system.row["grid"]
    assert bare.dc.volts[at, 0] * shares["grid"] == pytest.approx(loaded.dc.volts[at, 0], rel=1e-6)
