"""What a trial says of a set of strips: whether it is whole, what its rules would doubt, where its parts sit."""

from __future__ import annotations

from dataclasses import replace

from lugwright.buildfile.build import Build, Wishes
from lugwright.layout.hardware import hardware_for
from lugwright.layout.joint_classes import joint_facts
from lugwright.layout.strip_placing import LONG_GRID, STOPPER_COST, troubles
from lugwright.layout.strip_trial import Trial, try_strips

from .one_tube import one_tube

BUILD, VOLTS = one_tube({})
BUILD = replace(BUILD, wishes=Wishes())


def tried(build: Build, earlier: Trial | None = None) -> Trial:
    return try_strips(build, hardware_for(build), joint_facts(build, VOLTS), share=0.05, earlier=earlier)


def at(x: float, y: float) -> Build:
    return replace(BUILD, strips=(replace(BUILD.strips[0], at=(x, y)),))


def test_a_strip_out_of_reach_leaves_the_grid_stopper_off_its_pin() -> None:
    near, far = tried(at(30.0, 66.0)), tried(at(30.0, 92.0))
    assert near.whole
    assert near.stoppers_off == 0
    assert far.stoppers_off == 1
    assert troubles(near) == LONG_GRID * near.long_grids_mm(45.0)
    assert troubles(far) >= STOPPER_COST


def test_grid_wires_count_from_the_limit_on() -> None:
    far = tried(at(30.0, 92.0))
    assert far.long_grids_mm(0.0) > far.long_grids_mm(10.0) >= 0.0
    assert far.long_grids_mm(1000.0) == 0.0


def test_a_trial_goes_on_from_an_earlier_one_and_seats_are_told_by_new_names() -> None:
    first = tried(at(30.0, 66.0))
    again = tried(at(32.0, 66.0), first)
    assert again.whole
    assert again.build.strips[0].at == (32.0, 66.0)
    seats = first.seated({"A": "Q"})
    assert {seat.part for seat in seats} == {"R1", "R2", "R3", "R4"}
    owners = {key.split(".")[0] for seat in seats for key in seat.terminals}
    assert "A" not in owners
    assert "Q" in owners


def test_leads_of_a_lug_count_parts_and_wires() -> None:
    trial = tried(at(30.0, 66.0))
    assert set(trial.leads) == {f"A.{lug}" for lug in (1, 2, 3, 5, 6, 7)}
    ends = [trial.bench.board.terminals[end].key for seat in trial.bench.seats if seat for end in seat.lying.ends]
    for key, count in trial.leads.items():
        assert count >= ends.count(key)
