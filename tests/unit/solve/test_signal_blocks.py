"""Newton steps of a signal period, stage by stage: the same as in one piece, in the order of the signal."""

from __future__ import annotations

from functools import cache

import numpy as np

from lugwright.catalogue.load import tube_type
from lugwright.circuit.elements import Capacitor, Element, Resistor, TriodeTube, VoltageSource
from lugwright.circuit.network import Circuit
from lugwright.solve.idle import solve_column
from lugwright.solve.signal_blocks import CurvedPorts
from lugwright.solve.sustained import Sustained, Tone
from lugwright.solve.system import Array, System

STAGES = ("V2", "V1", "V3")  # not in the order of the signal, which is V1, V2, V3


def _stage(name: str, before: str) -> list[Element]:
    law = tube_type("12AX7").law
    return [
        Capacitor(f"{name} in", before, f"{name}.grid", 22e-9), Resistor(f"{name} leak", f"{name}.grid", "ground", 1e6),
        TriodeTube(name, f"{name}.plate", f"{name}.grid", f"{name}.cathode", law),
        Resistor(f"{name} plate", "plus", f"{name}.plate", 100e3),
        Resistor(f"{name} cathode", f"{name}.cathode", "ground", 1500.0),
    ]  # fmt: skip


@cache
def cascade(feedback: bool) -> Sustained:
    """Return three stages, each driving the next through a tenth, with or without a loop around the last two."""
    parts: list[Element] = [
        VoltageSource("battery", "plus", "ground", 300.0, 0.0, 1e-3),
        VoltageSource("generator", "in", "ground", 0.0, 0.0, 600.0),
    ]
    joints = {"V1": "in", "V2": "V1.tenth", "V3": "V2.tenth"}
    for name in STAGES:
        parts += _stage(name, joints[name])
        parts += [Resistor(f"{name} out", f"{name}.plate", f"{name}.tenth", 900e3)]
        parts += [Resistor(f"{name} load", f"{name}.tenth", "ground", 100e3)]
    if feedback:
        parts += [Resistor("loop", "V3.plate", "back", 100e3), Capacitor("loop in", "back", "V2.cathode", 1e-6)]
    system = System(Circuit(tuple(parts), "ground", 60.0))
    return Sustained(solve_column(system, system.values(())), "generator", hz=1000.0, harmonics=16)


def _curved(driven: Sustained) -> CurvedPorts:
    """Return every plate of the cascade as curved, driven well into its bend."""
    point = driven.drive([Tone(1, 1.0)])
    assert point.closed
    slopes = driven.ports.laws(point.period.port_v).slopes
    plates = driven.ports.plates
    slopes = slopes * np.isin(driven.ports.of, plates)[:, None]
    active = np.zeros((driven.ports.count, driven.instants), dtype=np.bool_)
    active[plates] = True
    impedance = point.around.impedance.transpose(2, 0, 1)[:, :, plates]
    return CurvedPorts(driven.ports, slopes, active, plates, impedance)


def _left_over(curved: CurvedPorts, forcing: Array, amps: Array) -> float:
    """Return by how much the currents miss slopes times volts, as a share of the largest current."""
    spectrum = np.fft.rfft(amps, axis=1).T[:, :, None]
    volts = forcing - np.fft.irfft((curved.impedance @ spectrum)[:, :, 0].T, n=forcing.shape[1], axis=1)
    wanted = np.zeros_like(forcing)
    np.add.at(wanted, curved.ports.of, curved.slopes * volts[curved.ports.over])
    return float(np.abs(amps - wanted[curved.chosen]).max() / np.abs(amps).max())


def _names(driven: Sustained, curved: CurvedPorts) -> list[list[str]]:
    triodes = [t.name for t in driven.system.triodes]
    return [[triodes[curved.chosen[place]] for place in block] for block in curved.in_order()]


def _forcing(driven: Sustained) -> Array:
    return np.random.default_rng(5).normal(size=(driven.ports.count, driven.instants))


def test_in_one_piece_currents_are_slopes_times_volts() -> None:
    driven = cascade(True)
    curved, forcing = _curved(driven), _forcing(driven)
    assert _left_over(curved, forcing, curved.amps(forcing, whole=True)) < 1e-10


def test_a_cascade_is_solved_in_the_order_of_the_signal_with_little_left_over() -> None:
    driven = cascade(False)
    curved = _curved(driven)
    assert _names(driven, curved) == [["V1"], ["V2"], ["V3"]]
    doubled = Sustained(driven.idle, "generator", hz=1000.0, harmonics=32)  # enough instants to be put in order
    curved, forcing = _curved(doubled), _forcing(doubled)
    assert np.count_nonzero(curved.active) > 150
    assert _left_over(curved, forcing, curved.amps(forcing)) < 1e-2


def test_stages_in_a_feedback_loop_share_a_block() -> None:
    driven = cascade(True)
    names = _names(driven, _curved(driven))
    assert [sorted(block) for block in names] == [["V1"], ["V2", "V3"]]
