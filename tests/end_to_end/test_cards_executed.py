"""Somebody who has never seen the circuit wires each amplifier from its printed cards alone, and gets the circuit."""

from __future__ import annotations

import json
import random
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st

from lugwright.buildfile.build import Build
from lugwright.cli.app import app
from lugwright.workflow import Opened, open_build

from .card_wirer import CannotBeDone, Card, Chassis, faults, printed_cards

SPECIMENS = Path(__file__).parent / "specimens"
MUTATIONS = 60  # per build and kind

Printed = tuple[Build, list[Card]]


@pytest.fixture(scope="module")
def printed(planned: Opened) -> Printed:
    result = CliRunner().invoke(app, ["jobs", str(planned.path), "--json"], catch_exceptions=False)
    return planned.build, printed_cards(json.loads(result.stdout)["work_order"]["jobs"])


def wired(build: Build, cards: list[Card]) -> list[str]:
    """Return what is wrong after doing exactly what the cards say."""
    chassis = Chassis(build)
    try:
        chassis.work(cards)
    except CannotBeDone as error:
        return [str(error)]
    return faults(chassis)


def test_the_cards_alone_build_the_circuit(printed: Printed) -> None:
    build, cards = printed
    assert sum(len(card.rows) for card in cards) > 60
    assert wired(build, cards) == []


def _rows(cards: list[Card]) -> list[tuple[int, int]]:
    return [(k, i) for k, card in enumerate(cards) for i in range(len(card.rows))]


def _with_rows(cards: list[Card], changed: dict[tuple[int, int], tuple[str, str, str, str] | None]) -> list[Card]:
    return [
        replace(card, rows=tuple(
            row for i, old in enumerate(card.rows) if (row := changed.get((k, i), old)) is not None
        ))
        for k, card in enumerate(cards)
    ]  # fmt: skip


def test_a_dropped_row_is_noticed(printed: Printed) -> None:
    build, cards = printed
    dice = random.Random(4)
    for place in dice.sample(_rows(cards), MUTATIONS):
        assert wired(build, _with_rows(cards, {place: None})), place


def test_two_terminals_exchanged_are_noticed(printed: Printed) -> None:
    build, cards = printed
    joint = _joints_as_wired(build, cards)
    rows = _rows(cards)

    @settings(max_examples=MUTATIONS, deadline=None)
    @given(st.sampled_from(rows), st.sampled_from(rows))
    def exchanged(one: tuple[int, int], two: tuple[int, int]) -> None:
        a, b = (cards[k].rows[i] for k, i in (one, two))
        same_wire = a[0] == b[0] and not a[1]
        if a[2] == b[2] or same_wire or joint[a[2]] == joint[b[2]]:
            return  # still the same circuit
        swapped = {one: (a[0], a[1], b[2], a[3]), two: (b[0], b[1], a[2], b[3])}
        assert wired(build, _with_rows(cards, swapped)), (a, b)

    exchanged()


def _joints_as_wired(build: Build, cards: list[Card]) -> dict[str, str]:
    """Return by printed label what it is joined with, from the cards as they should be."""
    chassis = Chassis(build)
    chassis.work(cards)
    group: dict[str, str] = {}

    def top(name: str) -> str:
        while group.setdefault(name, name) != name:
            name = group[name]
        return name

    ends: dict[str, list[str]] = {}
    for card in cards:
        for what, lead, label, _ in card.rows:
            if not lead and what not in chassis.bonds:
                ends.setdefault(what, []).append(label)
    for labels in ends.values():
        group[top(labels[0])] = top(labels[1])
    for label, point in chassis.points.items():
        if point.owner in chassis.buses:
            group[top(label)] = top(f"bus {point.owner}")
        if point.kind in ("foot", "bolt"):
            group[top(label)] = top("the metal")
    return {row[2]: top(row[2]) for card in cards for row in card.rows}


def _small() -> Build:
    return open_build(SPECIMENS / "ruff_4.toml").build


@pytest.mark.parametrize(
    ("rows", "text", "refusal"),
    [
        ([("W1", "", "V1 pin 40", "wait")], ["W1: red wire, cut 90 mm, strip 7 mm for x"], "no such place"),
        ([("W9", "", "V1 pin 1", "wait")], [], "no such part, and no wire was cut for it"),
        ([("W1", "", "V1 pin 1", "solder now"), ("W1", "", "V1 pin 1", "wait")],
         ["W1: red wire, cut 90 mm, strip 7 mm for x"], "soldered already"),
        ([("W1", "", "V1 pin 1", "wait"), ("W1", "", "V1 pin 6", "wait"), ("W1", "", "V1 pin 2", "wait")],
         ["W1: red wire, cut 90 mm, strip 7 mm for x"], "both ends of this wire are in"),
        ([("W1", "", "V1 pin 1", "wait"), ("W1", "", "V2 pin 3", "wait")],
         ["W1: red wire, cut 10 mm, strip 7 mm for x"], "it is 10 mm long"),
        ([("R11", "1", "V1 pin 1", "wait"), ("R11", "1", "V1 pin 2", "wait")], [], "this lead is in already"),
        ([("W1", "", "V1 pin 1", "solder now (all 3 in)")],
         ["W1: red wire, cut 90 mm, strip 7 mm for x"], "1 are in"),
        ([("W1", "", "V1 pin 1", "melt the joint and add it")],
         ["W1: red wire, cut 90 mm, strip 7 mm for x"], "nothing to melt"),
        ([("W1", "", "V1 pin 1", "wait")] * 2 + [("W2", "", "V1 pin 1", "wait")] * 2 + [("W3", "", "V1 pin 1", "wait")],
         [f"W{n}: red wire, cut 90 mm, strip 7 mm for x" for n in (1, 2, 3)], "full"),
    ],
)  # fmt: skip
def test_what_cannot_be_done_is_refused(rows: list[Any], text: list[str], refusal: str) -> None:
    build = _small()
    with pytest.raises(CannotBeDone, match=refusal):
        Chassis(build).work([Card(1, tuple(text), tuple(rows), ())])


def test_a_lug_beneath_a_body_is_refused_unless_the_card_left_the_body_standing_clear() -> None:
    build = _small()
    chassis = Chassis(build)
    point = chassis.points["V1 pin 1"]
    x, y, z = point.at
    chassis.bodies["R1"] = ((x - 10.0, y, z + 6.0), (x + 10.0, y, z + 6.0), 8.0, 3.0, z + 6.0)
    card = Card(1, ("W1: red wire, cut 90 mm, strip 7 mm for x",), (("W1", "", "V1 pin 1", "wait"),), ())
    with pytest.raises(CannotBeDone, match="R1 lies over it"):
        chassis.work([card])
    chassis.work([replace(card, notes=("Leave standing clear: R1 until R2 is soldered.",))])
    assert point.leads == [("W1", "1")]
