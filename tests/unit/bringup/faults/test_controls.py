"""Pots, jacks and switches: where their leads and contacts stand when they are wrong."""

from __future__ import annotations

from lugwright.circuit.edits import OPEN_OHM, SetValue
from lugwright.circuit.rewiring import Moved

from .bench import faults


def test_exchanged_ends_of_a_pot_change_places() -> None:
    moved = faults()["exchanged R5.1 R5.3"].rewiring.moved
    assert set(moved) == {Moved("R5.1-2", "a", "R5.3"), Moved("R5.2-3", "b", "ground")}


def test_a_pot_without_ground_is_read_at_its_lug() -> None:
    fault = faults()["no ground R5.1"]
    assert fault.rewiring.moved == (Moved("R5.1-2", "a", "ground'"),)
    assert fault.stands == {"R5.1": "ground'"}


def test_a_wiper_off_its_track_parts_the_track_from_the_grid_and_leaves_the_lead_on_its_lug() -> None:
    # Two ends of the track keep the name of the joint; the grid, and the lug that leads to it, stand apart.
    fault = faults()["wiper off R5"]
    assert fault.rewiring.moved == (Moved("V1b", "grid", "V1b.grid'"),)
    assert fault.stands == {"R5.2": "V1b.grid'", "V1.7": "V1b.grid'"}


def test_a_bias_pot_whose_wiper_is_tied_to_an_end_is_safe_without_it() -> None:
    assert faults("godwit_40")["wiper off R49"].danger == ""


def test_a_closed_contact_opens() -> None:
    change = SetValue("J1.tip-tip_switch", "ohm", OPEN_OHM)
    assert faults()["contact J1.tip-tip_switch"].rewiring.changes == (change,)
