"""Output stages and coupled stages as whole circuits, driven, against what makers printed."""

from __future__ import annotations

import csv
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from lugwright.catalogue.load import tube_type
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
from lugwright.solve.idle import solve_column
from lugwright.solve.ladder import Ladder
from lugwright.solve.power_readout import Reading, load_of, power_point
from lugwright.solve.power_results import PowerPoint
from lugwright.solve.sustained import Sustained, Tone
from lugwright.solve.system import System

HZ, LOAD_OHM, COPPER_OHM, HENRY = 1000.0, 8.0, 0.01, 1e4


def battery(name: str, joint: str, volts: float) -> Element:
    return VoltageSource(name, joint, "ground", volts, 0.0, 0.01)


def driven(parts: list[Element], harmonics: int = 48) -> Sustained:
    system = System(Circuit(tuple(parts), "ground", 60.0))
    return Sustained(solve_column(system, system.values(())), "generator", hz=HZ, harmonics=harmonics)


def single(tube: str, *, plate_v: float, screen_v: float, grid_v: float, load_ohm: float) -> Sustained:
    """Return one tube in class A on a transformer, fixed bias."""
    turns = float(np.sqrt(load_ohm / LOAD_OHM))
    return driven([
        battery("plates", "b", plate_v), battery("screens", "s", screen_v),
        VoltageSource("generator", "g", "bias", 0.0, 0.0, 100.0), battery("bias", "bias", grid_v),
        PentodeTube("V1", "p", "s", "g", "ground", tube_type(tube).law),
        Windings("T1", (
            Coil("T1.p", "p", "b", turns, COPPER_OHM), Coil("T1.s", "out", "ground", 1.0, COPPER_OHM),
        ), HENRY),
        Resistor("LS1", "out", "ground", LOAD_OHM),
    ])  # fmt: skip


def pair(
    tube: str, *, plate_v: float, screen_v: float, load_ohm: float, grid_v: float = 0.0, cathode_ohm: float = 0.01,
    screen_ohm: float = 0.01, bypass_f: float = 1e-2,
) -> Sustained:  # fmt: skip
    """Return two tubes in push-pull: fixed bias, or a common cathode resistor and a common screen resistor."""
    turns = 0.5 * float(np.sqrt(load_ohm / LOAD_OHM))
    law = tube_type(tube).law
    return driven([
        battery("plates", "b", plate_v), battery("supply", "b2", screen_v), battery("bias", "bias", grid_v),
        Resistor("R1", "b2", "s", screen_ohm), Resistor("R2", "k", "ground", cathode_ohm),
        Capacitor("C1", "k", "ground", bypass_f), Capacitor("C2", "s", "ground", bypass_f),
        VoltageSource("generator", "in", "ground", 0.0, 0.0, 1.0),
        Windings("T2", (
            Coil("T2.in", "in", "ground", 1.0, COPPER_OHM), Coil("T2.a", "g1", "bias", 1.0, COPPER_OHM),
            Coil("T2.b", "bias", "g2", 1.0, COPPER_OHM),
        ), HENRY),
        PentodeTube("V1", "p1", "s", "g1", "k", law), PentodeTube("V2", "p2", "s", "g2", "k", law),
        Windings("T1", (
            Coil("T1.a", "p1", "b", turns, COPPER_OHM), Coil("T1.b", "b", "p2", turns, COPPER_OHM),
            Coil("T1.s", "out", "ground", 1.0, COPPER_OHM),
        ), HENRY),
        Resistor("LS1", "out", "ground", LOAD_OHM),
    ])  # fmt: skip


def at_drive(bench: Sustained, peak_v: float) -> PowerPoint:
    point = None
    for share in (0.3, 0.7, 1.0):
        point = bench.drive([Tone(1, share * peak_v)], point)
    assert point is not None
    found = power_point(Reading(bench, point), load_of(bench, "LS1", "out", "ground"))
    assert found.certificate.passed
    return found


def at_distortion(bench: Sustained, distortion: float, peaks_v: list[float]) -> PowerPoint:
    load = load_of(bench, "LS1", "out", "ground")
    ladder = Ladder(bench, load)
    for peak_v in peaks_v:
        assert ladder.solve(peak_v) is not None
    found = ladder.crossing(distortion)
    assert found is not None
    return power_point(Reading(bench, ladder.points[found]), load)


def test_6v6gt_single_ended(tolerance: dict[str, Any]) -> None:
    """B-57: 250/250 V, -12.5 V, 5 k: 4.5 W at a drive to zero volts; distortion 8 %."""
    found = at_drive(single("6V6GT", plate_v=250, screen_v=250, grid_v=-12.5, load_ohm=5000), 12.5)
    assert found.watts == pytest.approx(4.5, rel=tolerance["output"])
    assert 0.08 / tolerance["distortion_factor"] < found.distortion < 0.08 * tolerance["distortion_factor"]


def test_el84_single_ended_at_ten_percent(tolerance: dict[str, Any]) -> None:
    """B-60: 250/250 V, -7.3 V, 5.2 k: 5.7 W at 10 %."""
    bench = single("EL84", plate_v=250, screen_v=250, grid_v=-7.3, load_ohm=5200)
    found = at_distortion(bench, 0.10, [1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0])
    assert found.watts == pytest.approx(5.7, rel=tolerance["output"])


def test_6l6gc_pair_in_fixed_bias(tolerance: dict[str, Any]) -> None:
    """B-58: 450/400 V, -37 V, 5.6 k: 55 W, 210 mA for both, driven to zero grid volts."""
    found = at_drive(pair("6L6GC", plate_v=450, screen_v=400, grid_v=-37, load_ohm=5600), 35.0)
    assert found.watts == pytest.approx(55.0, rel=tolerance["push_pull_6l6gc"])
    both = sum(tube.plate_a for tube in found.tubes.values())
    assert both == pytest.approx(0.210, rel=tolerance["plate_current"])


def test_el34_pair_with_common_cathode_and_screen_resistors(tolerance: dict[str, Any]) -> None:
    """B-62: 375 V, 130 ohm and 470 ohm common, 3.4 k: 35 W at 5 %, 2 x 95 mA."""
    bench = pair("EL34", plate_v=375, screen_v=375, load_ohm=3400, cathode_ohm=130, screen_ohm=470)
    found = at_distortion(bench, 0.05, [5.0, 10.0, 15.0, 20.0, 25.0, 30.0, 35.0])
    assert found.watts == pytest.approx(35.0, rel=tolerance["output"])
    for tube in found.tubes.values():
        assert tube.plate_a == pytest.approx(0.095, rel=tolerance["plate_current"])


@pytest.mark.parametrize(("volts", "drive_rms_v", "watts"), [(250.0, 8.0, 11.0), (300.0, 10.0, 17.0)])
def test_el84_pair_with_a_common_cathode_resistor(
    volts: float, drive_rms_v: float, watts: float, tolerance: dict[str, Any]
) -> None:
    """Philips: 130 ohm common, 8 k, driven with 8 and 10 V RMS a grid: 11 and 17 W."""
    bench = pair("EL84", plate_v=volts, screen_v=volts, load_ohm=8000, cathode_ohm=130)
    found = at_drive(bench, drive_rms_v * float(np.sqrt(2.0)))
    assert found.watts == pytest.approx(watts, rel=tolerance["output"])


def coupled(row: dict[str, str]) -> Sustained:
    """Return a resistance-coupled stage, its cathode bypassed, the following grid resistor as its load.

    Its own grid resistor, where the table prints one, is behind a coupling capacitor.
    """
    leak = float(row["grid_leak_ohm"])
    grid: list[Element] = [Resistor("R4", "in", "g", 1.0)]
    if leak:
        grid = [Capacitor("C3", "in", "g", 1e-5), Resistor("R4", "g", "ground", leak)]
    return driven([
        battery("supply", "b", float(row["supply_v"])), VoltageSource("generator", "in", "ground", 0.0, 0.0, 1.0),
        *grid, TriodeTube("V1", "p", "g", "k", tube_type(row["tube"]).law),
        Resistor("R2", "b", "p", float(row["plate_ohm"])), Resistor("R3", "k", "ground", float(row["cathode_ohm"])),
        Capacitor("C1", "k", "ground", 1e-3), Capacitor("C2", "p", "out", 1e-5),
        Resistor("LS1", "out", "ground", float(row["next_ohm"])),
    ])  # fmt: skip


def _stages(kind: str, out_of_reach: dict[tuple[str, str, str], str]) -> list[Any]:
    """Return the rows of a maker as parameters; what is known to disagree is expected to."""
    with (Path(__file__).parent / "data.csv").open(encoding="utf-8") as file:
        found = [row for row in csv.DictReader(file) if row["stage"] == kind]
    reasons = [out_of_reach.get((row["supply_v"], row["plate_ohm"], row["next_ohm"])) for row in found]
    return [
        pytest.param(
            row,
            id=f"{row['supply_v']} V, {row['plate_ohm']}, {row['next_ohm']}",
            marks=[] if reason is None else [pytest.mark.xfail(reason=reason)],
        )
        for row, reason in zip(found, reasons, strict=True)
    ]


_BENT = "the law of the 12AX7 bends 1.7 times as much as the ECC83 that was measured"
_LOW = "40 % more output than printed on 90 V: there the law bends 3.4 % where that maker's tube had 5 %"
_NEARLY = "26 % more output than printed"


@pytest.mark.parametrize("row", _stages("philips", {("400", "220e3", "680e3"): _BENT}))
def test_distortion_of_coupled_stages_at_the_printed_output(row: dict[str, str], tolerance: dict[str, Any]) -> None:
    """C-2: the ECC83 at 20 to 38 V RMS."""
    bench, wanted, peak_v = coupled(row), float(row["output_rms_v"]), 0.5
    for _ in range(4):  # the drive for that output
        found = at_drive(bench, peak_v)
        peak_v *= wanted / found.speaker_rms_v
    assert found.speaker_rms_v == pytest.approx(wanted, rel=1e-3)
    printed, factor = float(row["distortion"]), tolerance["distortion_factor"]
    assert printed / factor < found.distortion < printed * factor


@pytest.mark.parametrize(
    "row",
    _stages(
        "general electric",
        {("90", "100e3", "100e3"): _LOW, ("90", "100e3", "240e3"): _LOW, ("180", "100e3", "240e3"): _NEARLY},
    ),
)
def test_output_of_coupled_stages_at_five_percent(row: dict[str, str], tolerance: dict[str, Any]) -> None:
    """C-3: General Electric's 12AX7 with 100 k from its grid to ground."""
    drives_v = [0.05, 0.1, 0.2, 0.4, 0.6, 0.8, 1.0, 1.3, 1.6, 2.0, 3.0]
    found = at_distortion(coupled(row), float(row["distortion"]), drives_v)
    assert found.speaker_rms_v == pytest.approx(float(row["output_rms_v"]), rel=tolerance["output_at_five_percent"])
