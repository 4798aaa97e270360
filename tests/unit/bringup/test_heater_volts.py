"""Heater volts at the sockets: sums along the chain, and what is said when a wire is too thin."""

from __future__ import annotations

from pathlib import Path

import pytest

from lugwright.bringup.heater_volts import heater_findings
from lugwright.bringup.results import HeaterAtSocket
from lugwright.circuit.heater_wiring import Link, Load, load_volts_v
from lugwright.workflow import open_build

EXAMPLE = Path(__file__).parents[3] / "examples" / "curlew_18.toml"
CHAIN = [Link("T.1", "V2.4", 0.1), Link("T.2", "V2.5", 0.1), Link("V2.4", "V1.4", 0.2), Link("V2.5", "V1.5", 0.2)]
FEEDS = {"T.1": 6.3, "T.2": 0.0}


def test_the_farther_tube_gets_less() -> None:
    loads = [Load("V1", "V1.4", "V1.5", 21.0), Load("V2", "V2.4", "V2.5", 7.0)]
    found = load_volts_v(CHAIN, loads, FEEDS)
    # The far heater behind 0.4 ohm beside the near one, both behind 0.2 ohm.
    pair = 1.0 / (1.0 / 7.0 + 1.0 / 21.4)
    assert found["V2"] == pytest.approx(6.3 * pair / (pair + 0.2), rel=1e-9)
    assert found["V1"] == pytest.approx(found["V2"] * 21.0 / 21.4, rel=1e-9)


def test_a_tube_no_wire_reaches_is_left_out() -> None:
    assert load_volts_v(CHAIN[:2], [Load("V1", "V1.4", "V1.5", 21.0)], FEEDS) == {}


def test_along_a_planned_chain_the_input_tube_comes_last() -> None:
    rows = {row.tube: row for row in open_build(EXAMPLE).heaters}
    assert set(rows) == {"V1", "V2", "V3", "V4", "V5", "V6"}
    drops = [rows[name].drop_v for name in ("V5", "V4", "V3", "V2", "V1")]
    assert drops == sorted(drops)
    assert 0.0 < drops[0] < drops[-1] < 0.2


def test_a_starved_heater_is_said() -> None:
    build = open_build(EXAMPLE).build
    rows = (
        HeaterAtSocket("V1", 6.3, 5.9, 0.3),
        HeaterAtSocket("V2", 6.3, 5.6, 0.5),
        HeaterAtSocket("V3", 6.3, 6.2, 0.1),
    )
    doubt, fault = heater_findings(build, rows)
    assert [text.strip() for text in str(doubt).splitlines()[:4]] == [
        f"{doubt.place}: doubt: the heater of V1 is starved by its wires [heater-wire-drop]",
        "found:  5.90 V at the socket (-6%), 300 mV lost on the way",
        "wanted: 6.30 V within 5%, never off by more than 10%",
        "do:     use thicker heater wire, shorter runs, or feed the chain from its other end, too",
    ]
    assert fault.grade.value == "fault"


def test_a_winding_that_is_low_by_itself_is_not_blamed_on_the_wires() -> None:
    assert heater_findings(open_build(EXAMPLE).build, (HeaterAtSocket("V1", 6.3, 5.8, 0.02),)) == ()
