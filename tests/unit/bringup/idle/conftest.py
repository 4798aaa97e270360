"""Output stages of the demonstration builds with a meter at them."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from pathlib import Path

import pytest

from lugwright.bringup.idle.at_edit import AtEdit
from lugwright.bringup.idle.measured import Bench, bench_of, idle_measured
from lugwright.bringup.idle.readings import Reader
from lugwright.bringup.idle.stage import output_stage
from lugwright.bringup.idle_results import IdleMeasured
from lugwright.bringup.reading_points import ReadingPoints
from lugwright.buildfile.read import read_text
from lugwright.circuit.edits import Edit, pulled
from lugwright.circuit.elements import PentodeTube, TriodeTube
from lugwright.circuit.from_build import circuit_from_build
from lugwright.solve.idle import solve_columns
from lugwright.solve.readout import read_idle

EXAMPLES = Path(__file__).parents[4] / "examples"
Said = Callable[..., IdleMeasured]


@cache
def bench_at(name: str, *changes: tuple[str, str]) -> Bench:
    """Return the output stage of an example, pieces of its text replaced."""
    text = (EXAMPLES / f"{name}.toml").read_text()
    for old, new in changes:
        assert old in text, old
        text = text.replace(old, new)
    build = read_text(text).build
    assert build is not None
    circuit = circuit_from_build(build)
    sections = tuple(e.name for e in circuit.elements if isinstance(e, TriodeTube | PentodeTube))
    solved, cold = solve_columns(circuit, [Edit(""), pulled("cold", sections)])
    idle = read_idle(solved)
    stage = output_stage(build, circuit, idle)
    assert stage is not None
    return bench_of(build, stage, AtEdit(solved, idle), read_idle(cold), {})


def reader_of(bench: Bench) -> Reader:
    """Return what understands readings at a bench."""
    return Reader(bench.stage, ReadingPoints(bench.stage.build))


def said(bench: Bench, *texts: str, target: str = "middle") -> IdleMeasured:
    """Return what readings say."""
    return idle_measured(bench, reader_of(bench).of_all(texts), target)


@pytest.fixture(scope="session")
def godwit_bench() -> Bench:
    """Two 6L6GC in fixed bias on one control, 1 ohm at each cathode."""
    return bench_at("godwit_40")


@pytest.fixture(scope="session")
def redshank_bench() -> Bench:
    """Two EL34 in fixed bias, a control each, 1 ohm at each cathode."""
    return bench_at("redshank_50")


@pytest.fixture(scope="session")
def dunlin_bench() -> Bench:
    """One 6V6GT with a cathode resistor."""
    return bench_at("dunlin_5")


@pytest.fixture(scope="session")
def curlew_bench() -> Bench:
    """Two EL84, a cathode resistor each."""
    return bench_at("curlew_18")
