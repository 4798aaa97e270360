"""Loads of tube sections against arithmetic, and against the whole circuit solved with a tube a little weaker."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from lugwright.catalogue.load import tube_type
from lugwright.circuit.audio import audio_circuit
from lugwright.circuit.edits import Edit, SetValue
from lugwright.circuit.elements import (
    Capacitor,
    Coil,
    Element,
    PentodeTube,
    Resistor,
    TriodeTube,
    VoltageSource,
    Windings,
)
from lugwright.circuit.network import Circuit
from lugwright.solve.idle import solve_columns, solve_idle
from lugwright.solve.load_lines import Loads, section_loads
from lugwright.solve.plate_curves import signal_edit
from lugwright.solve.readout import read_idle
from lugwright.solve.small_signal import linearized
from lugwright.workflow import open_build

EXAMPLES = sorted((Path(__file__).parents[3] / "examples").glob("*.toml"))
SUPPLY_OHM = 1e-3
PLATE, GRID, CATHODE = "plate", "grid", "cathode"


def loads(*elements: Element, signal: Edit | None = None) -> dict[str, Loads]:
    """Return the loads of the sections of a circuit with 300 V on the joint B+."""
    supply = VoltageSource("supply", "B+", "ground", 300.0, 0.0, SUPPLY_OHM)
    circuit = Circuit((supply, *elements), "ground", 60.0)
    return section_loads(solve_columns(circuit)[0], signal=signal or Edit(""))


def triode(name: str = "V1", plate: str = PLATE, grid: str = GRID, cathode: str = CATHODE) -> TriodeTube:
    law = tube_type("12AX7").law
    return TriodeTube(name, plate, grid, cathode, law)


def stage(*more: Element) -> tuple[Element, ...]:
    """Return a common stage: 100k in the plate, 1k5 bypassed in the cathode, 470k behind a coupling capacitor."""
    return (
        Resistor("R1", "B+", PLATE, 100e3), Resistor("R2", CATHODE, "ground", 1500.0),
        Resistor("R3", GRID, "ground", 1e6),
        Capacitor("C1", CATHODE, "ground", 1e-3, 0.0), Capacitor("C2", PLATE, "out", 1e-6, 0.0),
        Resistor("R4", "out", "ground", 470e3), *more,
    )  # fmt: skip


def test_a_stage_works_into_plate_and_cathode_resistor_and_with_signal_into_the_grid_leak_too() -> None:
    found = loads(*stage(triode()))["V1"]
    assert found.dc_ohm == pytest.approx(101.5e3, rel=1e-6)
    assert found.ac_ohm == pytest.approx(100e3 * 470e3 / 570e3, rel=1e-4)
    assert found.alone_ohm is None


def test_tubes_in_parallel_each_work_into_twice_the_load() -> None:
    both = loads(*stage(triode("V1"), triode("V2")))
    assert both["V1"].ac_ohm == pytest.approx(2.0 * 100e3 * 470e3 / 570e3, rel=1e-4)
    assert both["V1"] == both["V2"]


def test_a_following_tube_is_no_load_but_a_neighbor_at_the_cathode_is() -> None:
    """The second tube of a long tail pulls with 1 / (gm + 1/rp) on the shared cathode where its plate stands still."""
    plate_2, grid_2 = "plate 2", "grid 2"
    tail = (
        triode("V1"), triode("V2", plate_2, grid_2), Resistor("R1", "B+", PLATE, 100e3),
        Resistor("R2", "B+", plate_2, 1e-3), Resistor("R3", CATHODE, "ground", 1500.0),
        Resistor("R4", GRID, "ground", 1.0), Resistor("R5", grid_2, "ground", 1.0),
    )  # fmt: skip
    circuit = Circuit((VoltageSource("supply", "B+", "ground", 300.0, 0.0, SUPPLY_OHM), *tail), "ground", 60.0)
    (solved,) = solve_columns(circuit)
    other = read_idle(solved).tubes["V2"]
    pull_s = other.transconductance_a_per_v + 1.0 / other.plate_resistance_ohm + 1.0 / 1500.0
    found = section_loads(solved, signal=Edit(""))["V1"]
    assert found.dc_ohm == pytest.approx(100e3 + 1.0 / pull_s, rel=1e-5)


def push_pull(turns: float, speaker_ohm: float) -> tuple[Element, ...]:
    """Return two 6L6GC on a transformer of little resistance; ``turns`` of each half to one of the speaker winding."""
    law = tube_type("6L6GC").law
    coils = (
        Coil("T1.p1", "p1", "B+", turns, 1e-3), Coil("T1.p2", "B+", "p2", turns, 1e-3),
        Coil("T1.s", "out", "ground", 1.0, 1e-4),
    )  # fmt: skip
    return (
        Windings("T1", coils, 1e4), Resistor("LS1", "out", "ground", speaker_ohm),
        VoltageSource("screens", "g2", "ground", 250.0, 0.0, SUPPLY_OHM),
        VoltageSource("bias", "g1", "ground", -20.0, 0.0, SUPPLY_OHM),
        PentodeTube("V1", "p1", "g2", "g1", "ground", law), PentodeTube("V2", "p2", "g2", "g1", "ground", law),
    )  # fmt: skip


def test_a_pair_works_into_half_the_plate_to_plate_load_and_a_quarter_alone() -> None:
    plate_to_plate = (2.0 * 14.0) ** 2 * 8.0
    found = loads(*push_pull(14.0, 8.0))["V1"]
    assert found.ac_ohm == pytest.approx(plate_to_plate / 2.0, rel=1e-3)
    assert found.alone_ohm == pytest.approx(plate_to_plate / 4.0, rel=1e-3)
    assert found.dc_ohm < 0.01


def test_what_differs_for_signals_counts_for_them_only() -> None:
    eight = Edit("", (SetValue("LS1", "ohm", 8.0),))
    assert loads(*push_pull(14.0, 4.0), signal=eight)["V1"] == loads(*push_pull(14.0, 8.0))["V1"]


def test_a_circuit_without_tubes_has_no_loads() -> None:
    assert loads(Resistor("R1", "B+", "ground", 1e3)) == {}


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_a_tube_a_little_weaker_moves_along_its_dc_load_line(path: Path) -> None:
    """The whole build solved again, supply and all, says the same as the line: within 2 % for a change of 1 %."""
    opened = open_build(path)
    found = section_loads(opened.solved, signal=signal_edit(opened.build))
    names = [name for name in found if not name.endswith("b")]
    weaker = [Edit(name, (SetValue(name, "on", 0.99),)) for name in names]
    for name, moved in zip(names, solve_idle(opened.circuit, weaker), strict=True):
        before, after = opened.idle.tubes[name], moved.tubes[name]
        rise_v = after.plate_to_cathode_v - before.plate_to_cathode_v
        fall_a = before.plate_a - after.plate_a
        assert rise_v / fall_a == pytest.approx(found[name].dc_ohm, rel=0.02), name


BYPASSED = {"dunlin_5": ("V1a",), "curlew_18": ("V1a",), "godwit_40": ("V1a", "V1b", "V3a", "V3b"),
            "redshank_50": ("V1a", "V1b", "V2b", "V4a", "V4b")}  # fmt: skip


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_small_signals_see_the_load_beside_the_plate_resistance(path: Path) -> None:
    """Stages with a bypassed cathode and no feedback; within 3 %: only the small signals know of stray capacitance."""
    opened = open_build(path)
    found = section_loads(opened.solved, signal=signal_edit(opened.build))
    signals = linearized(audio_circuit(opened.build, resistive_speaker=True), opened.solved)
    network = signals.at(np.array([1000.0]))
    for name in BYPASSED[path.stem]:
        tube = opened.circuit.by_name[name]
        plate, cathode = signals.system.row[tube.plate], signals.system.row[tube.cathode]
        volts = network.driven([(plate, cathode)])[:, 0, 0, 0]
        rp_ohm, load_ohm = opened.idle.tubes[name].plate_resistance_ohm, found[name].ac_ohm
        assert abs(volts[plate] - volts[cathode]) == pytest.approx(rp_ohm * load_ohm / (rp_ohm + load_ohm), rel=0.03)
