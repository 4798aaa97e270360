"""Heater current wire by wire: all of it in the feed, less from tube to tube, the last tube's own at the end."""

from __future__ import annotations

import itertools
from dataclasses import replace

import pytest

from lugwright.buildfile.build import Part, Tube
from lugwright.layout.chassis import fixed_terminals
from lugwright.layout.hardware import hardware_for
from lugwright.layout.heater_amps import heater_amps
from lugwright.layout.heater_chain import heater_chains
from lugwright.layout.links import Link
from lugwright.layout.lug_plan import plan_lugs

from ...planned_examples import NAMES, example
from .amplifier import amplifier

BUILD, VOLTS = amplifier(3)
TERMINALS = fixed_terminals(BUILD, hardware_for(BUILD))
CHAIN = [Link(w.joint, w.terminals, w.twist, "") for w in heater_chains(BUILD, TERMINALS)]
TUBES = {part.name: part.values for part in BUILD.parts if isinstance(part.values, Tube)}


def test_the_feed_carries_all_and_the_last_pair_one_tube() -> None:
    amps = heater_amps(BUILD, TERMINALS, CHAIN)
    (joint, *_) = sorted({link.joint for link in CHAIN})
    on_joint = [link for link in CHAIN if link.joint == joint]
    feed = next(link for link in on_joint if any(TERMINALS[key].kind == "exit" for key in link.terminals))
    everything = sum(tube.type.heater.amps for tube in TUBES.values())
    assert amps[feed.terminals] == pytest.approx(everything)
    (end,) = (k for k in on_joint if k.twist and "V1" in {TERMINALS[key].owner for key in k.terminals})
    assert amps[end.terminals] == pytest.approx(TUBES["V1"].type.heater.amps)


def test_along_the_chain_each_tube_takes_its_own_off() -> None:
    amps = heater_amps(BUILD, TERMINALS, CHAIN)
    for joint in sorted({link.joint for link in CHAIN}):
        pairs = [amps[link.terminals] for link in CHAIN if link.joint == joint and link.twist]
        steps = sorted(pairs, reverse=True)
        own = sorted(tube.type.heater.amps for tube in TUBES.values())
        taken = sorted([a - b for a, b in itertools.pairwise(steps)] + steps[-1:])
        assert taken == pytest.approx(own)


def test_a_ring_and_a_joint_without_a_feed_are_given_everything() -> None:
    (joint, *_) = sorted({link.joint for link in CHAIN})
    on_joint = [link for link in CHAIN if link.joint == joint]
    everything = sum(tube.type.heater.amps for tube in TUBES.values())
    ends = [key for link in on_joint for key in link.terminals if TERMINALS[key].kind == "pin"]
    ring = [*on_joint, Link(joint, (ends[0], ends[-1]), "", "")]
    looped = heater_amps(BUILD, TERMINALS, ring)
    assert looped[ring[-1].terminals] == pytest.approx(everything)
    unfed = [link for link in on_joint if all(TERMINALS[key].kind == "pin" for key in link.terminals)]
    assert all(amps == pytest.approx(everything) for amps in heater_amps(BUILD, TERMINALS, unfed).values())


@pytest.mark.parametrize("name", NAMES)
def test_no_heater_wire_of_an_example_carries_more_than_it_is_made_for(name: str) -> None:
    opened = example(name)
    most = {wire.name: wire.max_a for wire in opened.hardware.wires}
    links = [Link(w.joint, w.terminals, w.twist, w.bond) for w in opened.plan.wires]
    amps = heater_amps(opened.build, opened.plan.terminals, links)
    checked = [w for w in opened.plan.wires if w.terminals in amps and w.type in most]
    assert checked
    assert [w.number for w in checked if amps[w.terminals] > most[w.type]] == []


def test_a_chain_of_eight_amperes_begins_with_thicker_wire_and_goes_on_with_the_usual_one(short_search: None) -> None:
    parts = tuple(_heated(part, 2.0) for part in BUILD.parts)
    plan = plan_lugs(replace(BUILD, parts=parts), joint_volts=VOLTS)
    types = {
        frozenset(plan.terminals[key].owner for key in w.terminals): w.type for w in plan.wires if w.twist and
        w.kind == "heater"
    }  # fmt: skip
    assert sorted(types.values()) == ["16 AWG stranded 600 V", "18 AWG solid 600 V", "18 AWG solid 600 V", "lead"]
    assert types[frozenset({"V90", "V3"})] == "16 AWG stranded 600 V"


def _heated(part: Part, amps: float) -> Part:
    """Return a tube with a heater of so many amperes; any other part as it is."""
    if not isinstance(part.values, Tube):
        return part
    heater = replace(part.values.type.heater, amps=amps)
    return replace(part, values=replace(part.values, type=replace(part.values.type, heater=heater)))
