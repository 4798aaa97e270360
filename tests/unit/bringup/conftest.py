"""The demonstration builds, read and turned into circuits once."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from lugwright.bringup.results import Step
from lugwright.bringup.voltage_chart import power_up_steps
from lugwright.buildfile.build import Build
from lugwright.buildfile.read import read_build
from lugwright.circuit.from_build import circuit_from_build
from lugwright.circuit.network import Circuit
from lugwright.solve.idle import solve_columns
from lugwright.solve.readout import read_idle

EXAMPLES = Path(__file__).parents[3] / "examples"


@cache
def built(name: str) -> tuple[Build, Circuit]:
    build = read_build(EXAMPLES / f"{name}.toml").build
    if build is None:
        pytest.fail(f"{name} cannot be read")
    return build, circuit_from_build(build)


@cache
def steps(name: str) -> tuple[Step, ...]:
    build, circuit = built(name)
    (solved,) = solve_columns(circuit)
    return power_up_steps(build, solved, read_idle(solved))


@pytest.fixture(scope="session")
def dunlin() -> tuple[Build, Circuit]:
    """One 6V6GT in cathode bias, silicon rectifier, 120 V."""
    return built("dunlin_5")


@pytest.fixture(scope="session")
def godwit() -> tuple[Build, Circuit]:
    """Two 6L6GC in fixed bias with one control, silicon rectifier, 120 V."""
    return built("godwit_40")


@pytest.fixture(scope="session")
def curlew() -> tuple[Build, Circuit]:
    """Two EL84 in cathode bias, rectifier tube, 230 V."""
    return built("curlew_18")


@pytest.fixture(scope="session")
def dunlin_steps() -> tuple[Step, ...]:
    return steps("dunlin_5")


@pytest.fixture(scope="session")
def godwit_steps() -> tuple[Step, ...]:
    return steps("godwit_40")


@pytest.fixture(scope="session")
def curlew_steps() -> tuple[Step, ...]:
    return steps("curlew_18")
