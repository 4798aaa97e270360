from __future__ import annotations

import pytest

from lugwright.bringup.tube_limits import grid_at_plate_limit_v, plate_at_screen_limit_v
from lugwright.catalogue.load import tube_type
from lugwright.catalogue.records import PentodeLaw
from lugwright.circuit.elements import PentodeTube, Resistor, VoltageSource
from lugwright.circuit.network import Circuit
from lugwright.solve.idle import solve_idle


def tube() -> PentodeTube:
    law = tube_type("6L6GC").law
    assert isinstance(law, PentodeLaw)
    return PentodeTube("V1", "plate", "screen", "grid", "ground", law)


def watts(plate_v: float, screen_v: float, grid_v: float) -> tuple[float, float]:
    """Return plate and screen heat in a circuit of batteries, solved on its own."""
    circuit = Circuit((
        VoltageSource("P", "plate", "ground", plate_v, 0.0, 1e-3),
        VoltageSource("S", "screen", "ground", screen_v, 0.0, 1e-3),
        VoltageSource("G", "grid", "ground", grid_v, 0.0, 1e-3),
        Resistor("R", "plate", "ground", 1e9),
        tube(),
    ))  # fmt: skip
    (idle,) = solve_idle(circuit)
    return idle.tubes["V1"].plate_w, idle.tubes["V1"].screen_w


def test_at_that_grid_the_plate_takes_its_limit() -> None:
    grid_v = grid_at_plate_limit_v(tube(), plate_v=420.0, screen_v=415.0, limit_w=30.0)
    assert grid_v is not None
    assert watts(420.0, 415.0, grid_v)[0] == pytest.approx(30.0, rel=0.01)
    assert watts(420.0, 415.0, grid_v - 5.0)[0] < 30.0


def test_at_that_plate_the_screen_takes_its_limit() -> None:
    plate_v = plate_at_screen_limit_v(tube(), screen_v=415.0, grid_v=-36.0, limit_w=5.0)
    assert plate_v is not None
    assert watts(plate_v, 415.0, -36.0)[1] == pytest.approx(5.0, rel=0.02)
    assert watts(plate_v + 50.0, 415.0, -36.0)[1] < 5.0


def test_what_no_volts_reach_is_no_limit() -> None:
    assert grid_at_plate_limit_v(tube(), plate_v=50.0, screen_v=50.0, limit_w=30.0) is None
    assert plate_at_screen_limit_v(tube(), screen_v=415.0, grid_v=-100.0, limit_w=5.0) is None
