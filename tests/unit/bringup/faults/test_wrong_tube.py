"""A tube of another type, as the list has it, against the amplifier with that type's own law in it."""

from __future__ import annotations

from dataclasses import replace

import pytest
from tests.planned_examples import example

from lugwright.buildfile.build import Tube
from lugwright.catalogue.load import tube_type
from lugwright.circuit.from_build import circuit_from_build
from lugwright.circuit.operating import Idle
from lugwright.circuit.rewiring import rewired
from lugwright.solve.idle import solve_columns
from lugwright.solve.readout import read_idle

from .bench import circuit_of, faults

NAME = "godwit_40"
SHARE = 0.05  # the stage's supply is assumed, and the current of a stage goes with it


def with_type(tube: str, other: str) -> Idle:
    build = example(NAME).build
    parts = []
    for part in build.parts:
        values = part.values
        if part.name == tube and isinstance(values, Tube):
            values = replace(values, type=tube_type(other))
        parts.append(replace(part, values=values))
    return read_idle(solve_columns(circuit_from_build(replace(build, parts=tuple(parts))))[0])


def as_listed(tube: str, other: str) -> Idle:
    rewiring = faults(NAME)[f"type {tube} {other}"].rewiring
    return read_idle(solve_columns(rewired(circuit_of(NAME), rewiring), [rewiring.edit])[0])


@pytest.mark.parametrize(
    ("tube", "other", "joints"),
    [
        ("V1", "12AT7", ("V1a.plate", "V1a.cathode", "V1b.plate")),
        ("V1", "12AY7", ("V1a.plate", "V1a.cathode", "V1b.plate")),
        ("V2", "12AX7", ("V2a.plate", "V2a.cathode")),
        ("V4", "12AX7", ("V4a.plate", "V4a.cathode", "V4b.plate")),
        ("V4", "12AU7", ("V4a.plate", "V4a.cathode", "V4b.plate")),
        ("V5", "6550", ("B+1", "B+2", "B+3")),
        ("V5", "6V6GT", ("B+1", "B+2", "B+3")),
    ],
)
def test_another_type_stands_where_its_own_law_puts_it(tube: str, other: str, joints: tuple[str, ...]) -> None:
    own, listed = with_type(tube, other), as_listed(tube, other)
    for joint in joints:
        assert listed.joints[joint].volts == pytest.approx(own.joints[joint].volts, rel=SHARE), joint


def test_the_heater_of_another_type_draws_its_own_current() -> None:
    changes = {(c.element, c.field): c for c in faults(NAME)["type V5 6V6GT"].rewiring.changes}
    assert changes["V5.heater", "ohm"].factor == pytest.approx(0.9 / 0.45)  # type: ignore[union-attr]


def test_tubes_in_each_others_socket_are_two_wrong_tubes_at_once() -> None:
    both = {(c.element, c.field) for c in faults(NAME)["exchanged V3 V4"].rewiring.changes}
    assert both >= {(name, "on") for name in ("V3a", "V3b", "V4a", "V4b")}
