"""Average currents of output stages at full sine drive, computed from the laws, against published figures."""

from __future__ import annotations

import sys
import tomllib
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest

from lugwright.catalogue import load
from lugwright.catalogue.records import PentodeLaw
from lugwright.circuit.tubes.pentode import PentodeCurrents, pentode_currents_a

sys.path.insert(0, str(Path(__file__).parents[3] / "tools"))

from full_drive import full_drive_figures


def _said(name: str) -> tuple[list[dict[str, Any]], dict[str, Any]]:
    path = files("lugwright.catalogue") / "data" / "tubes" / f"{name.lower()}.toml"
    rows = tomllib.loads(path.read_text(encoding="utf-8"))["full_drive"]
    law = load.tube_type(name).law
    assert isinstance(law, PentodeLaw)

    def currents(plate_v: Any, screen_v: Any, grid_v: Any) -> PentodeCurrents:
        return pentode_currents_a(
            plate_v, screen_v, grid_v, mu=law.mu, k=law.k, kp=law.kp, vct=law.vct, rho=law.rho, slope=law.slope,
            alpha_s=law.alpha_s, beta=law.beta, kvb=law.kvb,
        )  # fmt: skip

    return rows, full_drive_figures(currents, rows)


@pytest.mark.parametrize(("name", "count"), [("6V6GT", 5), ("6L6GC", 7), ("EL34", 2), ("EL84", 3)])
@pytest.mark.parametrize(("quantity", "allowed"), [("plate_a", "full_drive_plate"), ("screen_a", "full_drive_screen")])
def test_average_current_at_full_drive(
    name: str, count: int, quantity: str, allowed: str, tolerance: dict[str, Any]
) -> None:
    rows, said = _said(name)
    assert len(rows) == count
    for row, value in zip(rows, said[quantity], strict=True):
        assert value == pytest.approx(row[quantity], rel=tolerance[allowed]), row
