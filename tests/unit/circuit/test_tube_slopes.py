"""Tube equations: exact slopes, never negative, rising with every voltage."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict

import numpy as np
import pytest

from lugwright.catalogue.load import tube_names, tube_type
from lugwright.catalogue.records import PentodeLaw, TriodeLaw
from lugwright.circuit.tubes.pentode import pentode_currents_a
from lugwright.circuit.tubes.triode import triode_plate_current_a

STEP_V = 1e-4
TRIODES = [n for n in tube_names() if isinstance(tube_type(n).law, TriodeLaw)]
PENTODES = [n for n in tube_names() if isinstance(tube_type(n).law, PentodeLaw)]


def _law(name: str) -> dict[str, float]:
    law = tube_type(name).law
    assert law is not None
    return {key: value for key, value in asdict(law).items() if key != "grid_gain"}


def _points(count: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    random = np.random.default_rng(7)
    return random.uniform(-300, 900, count), random.uniform(-50, 600, count), random.uniform(-80, 20, count)


def _slope(f: Callable[[float], np.ndarray]) -> np.ndarray:
    return (f(STEP_V) - f(-STEP_V)) / (2 * STEP_V)


@pytest.mark.parametrize("name", TRIODES)
def test_triode_slopes_are_exact(name: str) -> None:
    plate, _, grid = _points(4000)
    law = _law(name)
    current, by_plate, by_grid = triode_plate_current_a(plate, grid, **law)
    assert np.all(current >= 0)
    assert np.all(by_plate >= 0)
    assert np.all(by_grid >= 0)
    assert _slope(lambda h: triode_plate_current_a(plate + h, grid, **law)[0]) == pytest.approx(by_plate, abs=2e-7)
    assert _slope(lambda h: triode_plate_current_a(plate, grid + h, **law)[0]) == pytest.approx(by_grid, abs=2e-7)


@pytest.mark.parametrize("name", PENTODES)
def test_pentode_slopes_are_exact(name: str) -> None:
    plate, screen, grid = _points(4000)
    law = _law(name)
    c = pentode_currents_a(plate, screen, grid, **law)
    assert np.all(c.plate_a >= 0)
    assert np.all(c.screen_a >= 0)
    for column, (p, s, g) in enumerate(((1, 0, 0), (0, 1, 0), (0, 0, 1))):
        for first in (0, 4):
            found = _slope(
                lambda h, p=p, s=s, g=g, first=first: pentode_currents_a(
                    plate + p * h, screen + s * h, grid + g * h, **law
                )[first]
            )
            assert found == pytest.approx(c[first + 1 + column], abs=1e-6)
