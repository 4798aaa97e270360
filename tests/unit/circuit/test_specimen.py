"""A measured tube's law, and its slopes against the law itself with the adjustment moved a little."""

from __future__ import annotations

from dataclasses import asdict, replace

import numpy as np
import pytest

from lugwright.catalogue.load import tube_names, tube_type
from lugwright.catalogue.records import PentodeLaw, RectifierLaw, Specimen, TriodeLaw, adjustments_of
from lugwright.circuit.tubes.pentode import pentode_currents_a
from lugwright.circuit.tubes.specimen import pentode_specimen, specimen_law, triode_specimen
from lugwright.circuit.tubes.triode import triode_plate_current_a

MEASURED = Specimen(0.9, 1.03, 0.2, 1.2, 1.1, 0.8, 1.15)
AMPLIFYING = [n for n in tube_names() if isinstance(tube_type(n).law, TriodeLaw | PentodeLaw)]
PLATE_V = np.array([3.0, 40.0, 150.0, 300.0, 450.0])


def currents(law: TriodeLaw | PentodeLaw) -> np.ndarray:
    """Return plate and screen current by the equations of the type, at volts that suit it. [A]"""
    plain = {k: v for k, v in asdict(law).items() if k != "grid_gain"}
    if isinstance(law, TriodeLaw):
        plate = triode_plate_current_a(PLATE_V, -60.0 / law.mu * np.ones(5), **plain)[0]
        return np.stack([plate, np.zeros(5)])
    found = pentode_currents_a(PLATE_V, 250.0 * np.ones(5), -150.0 / law.mu * np.ones(5), **plain)
    return np.stack([found.plate_a, found.screen_a])


@pytest.mark.parametrize("name", AMPLIFYING)
def test_currents_and_slopes_are_those_of_the_law(name: str) -> None:
    published = tube_type(name).law
    law = specimen_law(published, MEASURED)
    if isinstance(law, TriodeLaw):
        found = triode_specimen(law, plate_v=PLATE_V, grid_v=-60.0 / law.mu * np.ones(5))
    else:
        found = pentode_specimen(law, plate_v=PLATE_V, screen_v=250.0 * np.ones(5), grid_v=-150.0 / law.mu * np.ones(5))
    fixed = law.mu  # the grid volts above stay where they are while the adjustments move
    assert np.stack([found.plate_a, found.screen_a]) == pytest.approx(currents(law), rel=1e-12)
    for k, adjustment in enumerate(adjustments_of(law)):
        step = 1e-5
        value = getattr(MEASURED, adjustment)
        ends = [value + s * step if adjustment == "shift_v" else value * np.exp(s * step) for s in (1, -1)]
        both = [currents_at(specimen_law(published, replace(MEASURED, **{adjustment: e})), fixed) for e in ends]
        slope = (both[0] - both[1]) / (2.0 * step)
        scale = np.abs(np.stack([found.plate_a, found.screen_a])).max()
        assert np.abs(np.stack([found.plate_by[k], found.screen_by[k]]) - slope).max() < 1e-7 * scale, adjustment


def currents_at(law: TriodeLaw | PentodeLaw, mu: float) -> np.ndarray:
    """Return the currents at the grid volts that suit another amplification factor. [A]"""
    plain = {k: v for k, v in asdict(law).items() if k != "grid_gain"}
    if isinstance(law, TriodeLaw):
        return np.stack([triode_plate_current_a(PLATE_V, -60.0 / mu * np.ones(5), **plain)[0], np.zeros(5)])
    found = pentode_currents_a(PLATE_V, 250.0 * np.ones(5), -150.0 / mu * np.ones(5), **plain)
    return np.stack([found.plate_a, found.screen_a])


@pytest.mark.parametrize("name", tube_names())
def test_the_average_specimen_is_the_published_tube(name: str) -> None:
    law = tube_type(name).law
    assert law is not None
    assert asdict(specimen_law(law, Specimen())) == pytest.approx(asdict(law), rel=1e-14)


@pytest.mark.parametrize("name", AMPLIFYING)
def test_emission_scales_every_current(name: str) -> None:
    law = tube_type(name).law
    assert law is not None
    weak = specimen_law(law, Specimen(emission=0.5))
    assert weak.grid_gain == 0.5 * law.grid_gain
    if isinstance(law, TriodeLaw):
        assert currents(weak) == pytest.approx(0.5 * currents(law), rel=1e-12)


def test_a_pentode_never_turns_more_than_its_whole_current_over_to_the_screen() -> None:
    law = tube_type("6L6GC").law
    greedy = specimen_law(law, Specimen(screen=3.0))
    assert greedy.rho * (1.0 + greedy.alpha_s) == pytest.approx(law.rho * (1.0 + law.alpha_s))


def test_a_rectifier_has_emission_only() -> None:
    law = tube_type("GZ34").law
    assert adjustments_of(law) == ("emission",)
    assert specimen_law(law, Specimen(emission=0.8)) == RectifierLaw(0.8 * law.perveance)
