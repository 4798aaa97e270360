"""H-7: plate and cathode volts of a cathode-biased stage: which way each fault moves them, and what they tell."""

from __future__ import annotations

import numpy as np
import pytest

from lugwright.bringup.trace.evidence import Readings
from lugwright.bringup.trace.records import Array, Predictions, Probe
from lugwright.bringup.trace.verdict import verdict_of, weigh
from lugwright.catalogue.load import tube_type
from lugwright.circuit.elements import Element, Resistor, TriodeTube, VoltageSource
from lugwright.circuit.network import Circuit
from lugwright.solve.idle import solve_column
from lugwright.solve.system import System

LOAD_OHM, CATHODE_OHM = 100e3, 1.5e3
SIZES = {  # of each fault: two, so that one can be sought with the other as its model
    "weak tube": (0.6, 0.5),
    "plate load high": (1.5, 1.4),
    "cathode resistor high": (1.6, 1.5),
    "leaky coupling capacitor": (20e6, 16e6),
}


def _volts(fault: str = "", size: float = 1.0) -> Array:
    """Return plate and cathode volts of a 12AX7 stage on 300 V, its coupling capacitor coming from 200 V."""
    load = LOAD_OHM * (size if fault == "plate load high" else 1.0)
    cathode = CATHODE_OHM * (size if fault == "cathode resistor high" else 1.0)
    on = size if fault == "weak tube" else 1.0
    leak = size if fault == "leaky coupling capacitor" else 1e12
    parts: list[Element] = [
        VoltageSource("supply", "b", "ground", 300.0, 0.0, 1e-3), VoltageSource("before", "d", "ground", 200.0, 0, 1.0),
        Resistor("R1", "b", "p", load), Resistor("R2", "k", "ground", cathode), Resistor("R3", "g", "ground", 1e6),
        Resistor("C1", "d", "g", leak), TriodeTube("V1", "p", "g", "k", tube_type("12AX7").law, on),
    ]  # fmt: skip
    system = System(Circuit(tuple(parts), "ground", 60.0))
    solved = solve_column(system, system.values(()))
    return np.array([solved.dc.volts[system.joints.index(joint), 0] for joint in "pk"])


@pytest.mark.parametrize("fault", list(SIZES))
def test_plate_and_cathode_move_as_the_table_says(fault: str, rows: list[dict[str, str]]) -> None:
    wanted = next(row["value"] for row in rows if row["id"] == "H-7" and row["what"] == fault)
    for size in SIZES[fault]:
        moved = _volts(fault, size) - _volts()
        assert " ".join("up" if d > 0.0 else "down" for d in moved) == wanted


def test_a_weak_tube_moves_them_by_the_ratio_of_the_resistors() -> None:
    """The same current leaves both; the leaks the solver puts on each joint are far below this."""
    plate, cathode = _volts("weak tube", 0.6) - _volts()
    assert plate / cathode == pytest.approx(-LOAD_OHM / CATHODE_OHM, rel=1e-3)


def _predictions() -> Predictions:
    """Return what each fault says in spreads: 3 % of the plate's volts, 5 % of the cathode's, a fifth of the fault."""
    good = _volts()
    spread = np.array([0.03, 0.05]) * good
    moved = np.array([np.zeros(2), *((_volts(f, SIZES[f][0]) - good) / spread for f in SIZES)])
    probes = tuple(Probe("small tubes", pin, "ground", "V dc", pin, 10.0, 5.0) for pin in ("plate", "cathode"))
    loading = 0.5 * moved[:, :, None]  # the size of a fault is not known
    return Predictions(probes, moved, loading, np.ones((5, 2)), np.ones((5, 2), dtype=bool))


@pytest.mark.parametrize("fault", list(SIZES))
def test_two_readings_find_the_fault_at_another_size(fault: str) -> None:
    """A weak tube and a high cathode resistor differ by the way the cathode goes, and are never confused."""
    good = _volts()
    shown = (_volts(fault, SIZES[fault][1]) - good) / (np.array([0.03, 0.05]) * good)
    keys = tuple(SIZES)
    weighed = weigh(_predictions(), Readings(np.arange(2), shown, np.full(2, 0.1)), keys, np.ones(4))
    chance = dict(zip(keys, weighed.found.chance[1:], strict=True))
    assert max(chance, key=lambda key: chance[key]) == fault
    if fault in ("weak tube", "cathode resistor high"):
        other = ({"weak tube", "cathode resistor high"} - {fault}).pop()
        assert chance[other] < 0.05 * chance[fault]
    found = verdict_of(weighed, np.array([], dtype=int), lambda _, value: value)
    assert fault in found.suspects[0].faults
