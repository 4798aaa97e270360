"""A tube measured at known volts has the emission that gives the measured current there."""

from __future__ import annotations

from dataclasses import asdict

import pytest

from lugwright.catalogue.load import tube_type
from lugwright.catalogue.records import PentodeLaw, Specimen, TriodeLaw
from lugwright.circuit.tubes.measured_emission import measured_specimen
from lugwright.circuit.tubes.pentode import pentode_currents_a
from lugwright.circuit.tubes.specimen import specimen_law
from lugwright.circuit.tubes.triode import triode_plate_current_a


def plate_a(law: object, plate_v: float, screen_v: float, grid_v: float) -> float:
    parameters = asdict(law)  # type: ignore[call-overload]
    parameters.pop("grid_gain")
    if isinstance(law, TriodeLaw):
        return float(triode_plate_current_a(plate_v, grid_v, **parameters)[0])
    return float(pentode_currents_a(plate_v, screen_v, grid_v, **parameters).plate_a)


@pytest.mark.parametrize("share", [0.4, 0.8, 1.0, 1.3, 2.0])
@pytest.mark.parametrize(
    ("kind", "volts"),
    [("12AX7", (250.0, None, -2.0)), ("6L6GC", (430.0, 428.0, -38.0)), ("EL84", (250.0, 250.0, -7.3))],
)
def test_the_law_then_gives_the_measured_current(
    kind: str, volts: tuple[float, float | None, float], share: float
) -> None:
    law = tube_type(kind).law
    plate_v, screen_v, grid_v = volts
    published_a = plate_a(law, plate_v, screen_v or 0.0, grid_v)
    known = Specimen(shift_v=0.2)
    found = measured_specimen(
        law, known, plate_a=share * published_a, plate_v=plate_v, grid_v=grid_v, screen_v=screen_v
    )
    assert found is not None
    assert found.shift_v == 0.2
    assert isinstance(law, TriodeLaw | PentodeLaw)
    again_a = plate_a(specimen_law(law, found), plate_v, screen_v or 0.0, grid_v)
    assert again_a == pytest.approx(share * published_a, rel=1e-6)


def test_a_current_no_such_tube_draws_is_no_specimen() -> None:
    law = tube_type("12AX7").law
    expected_a = plate_a(law, 250.0, 0.0, -2.0)
    for current_a in (0.1 * expected_a, 4.0 * expected_a):
        assert measured_specimen(law, None, plate_a=current_a, plate_v=250.0, grid_v=-2.0, screen_v=None) is None
    assert measured_specimen(law, None, plate_a=1e-3, plate_v=250.0, grid_v=-60.0, screen_v=None) is None
    rectifier = tube_type("GZ34").law
    assert measured_specimen(rectifier, None, plate_a=0.1, plate_v=20.0, grid_v=0.0, screen_v=None) is None
