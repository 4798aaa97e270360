"""Tube laws rise with every electrode's volts, for every type and for any specimen of it."""

from __future__ import annotations

from dataclasses import asdict

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lugwright.catalogue.load import tube_names, tube_type
from lugwright.catalogue.records import PentodeLaw, RectifierLaw, Specimen, TriodeLaw
from lugwright.circuit.tubes.drive import grid_current_a
from lugwright.circuit.tubes.pentode import pentode_currents_a
from lugwright.circuit.tubes.rectifier import rectifier_plate_current_a
from lugwright.circuit.tubes.specimen import specimen_law
from lugwright.circuit.tubes.triode import triode_plate_current_a

LAWS = [tube_type(name).law for name in tube_names()]
PLATE_V = np.concatenate([np.linspace(-100.0, 40.0, 57), np.linspace(50.0, 900.0, 40)])
GRID_V = np.linspace(-90.0, 25.0, 116)
SCREEN_V = np.linspace(-50.0, 600.0, 66)
ROUNDING = 1e-12  # of the largest current

factor = st.floats(0.6, 1.6)
specimens = st.builds(
    Specimen, emission=factor, amplification=st.floats(0.8, 1.25), shift_v=st.floats(-1.5, 1.5), cutoff=factor,
    screen=st.floats(0.5, 1.0), plate_slope=st.floats(0.3, 3.0), knee=factor,
)  # fmt: skip


def _rises(currents: np.ndarray, axis: int, *, falls: bool = False) -> bool:
    steps = np.diff(currents, axis=axis) * (-1.0 if falls else 1.0)
    return bool(np.all(steps >= -ROUNDING * np.abs(currents).max()))


def _fields(law: TriodeLaw | PentodeLaw) -> dict[str, float]:
    return {name: value for name, value in asdict(law).items() if name != "grid_gain"}


@settings(max_examples=100)
@given(st.sampled_from([law for law in LAWS if isinstance(law, TriodeLaw)]), specimens)
def test_a_triode_s_current_rises_with_plate_and_grid(law: TriodeLaw, specimen: Specimen) -> None:
    made = specimen_law(law, specimen)
    assert isinstance(made, TriodeLaw)
    amps = triode_plate_current_a(PLATE_V[:, None], GRID_V[None, :], **_fields(made))[0]
    assert np.all(amps >= 0.0)
    assert _rises(amps, 0)
    assert _rises(amps, 1)


@settings(max_examples=100)
@given(st.sampled_from([law for law in LAWS if isinstance(law, PentodeLaw)]), specimens)
def test_a_pentode_s_currents_rise_and_the_plate_takes_from_the_screen(law: PentodeLaw, specimen: Specimen) -> None:
    made = specimen_law(law, specimen)
    assert isinstance(made, PentodeLaw)
    c = pentode_currents_a(PLATE_V[:, None, None], SCREEN_V[None, ::4, None], GRID_V[None, None, ::4], **_fields(made))
    assert np.all(c.plate_a >= 0.0)
    assert np.all(c.screen_a >= 0.0)
    for axis in range(3):
        assert _rises(c.plate_a, axis)
    assert _rises(c.screen_a, 0, falls=True)
    assert _rises(c.screen_a, 1)
    assert _rises(c.screen_a, 2)


@settings(max_examples=50)
@given(st.sampled_from([law for law in LAWS if isinstance(law, RectifierLaw)]), factor)
def test_a_rectifier_s_current_rises_with_its_plate(law: RectifierLaw, emission: float) -> None:
    amps = rectifier_plate_current_a(PLATE_V, perveance=law.perveance * emission)[0]
    assert np.all(amps >= 0.0)
    assert _rises(amps, 0)


@pytest.mark.parametrize("gain", [1e-4, 1e-3, 1e-2])
def test_grid_current_rises_with_the_grid(gain: float) -> None:
    amps = grid_current_a(GRID_V, gain=gain)[0]
    assert np.all(amps >= 0.0)
    assert _rises(amps, 0)
