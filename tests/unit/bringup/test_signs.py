"""The signs of a build: one name each, understood in any order of words, the nearest offered."""

from __future__ import annotations

import pytest
from tests.planned_examples import NAMES, example

from lugwright.bringup.faults.table import faults_of
from lugwright.bringup.signs import BURNS, BURSTS, Sign, sign_named, signs_of
from lugwright.buildfile.build import Build
from lugwright.circuit.network import Circuit
from lugwright.errors import ReadingError


def test_every_tube_capacitor_and_pot_of_a_build_has_its_signs(dunlin: tuple[Build, Circuit]) -> None:
    names = [sign.name for sign in signs_of(dunlin[0])]
    assert names[:4] == ["heater dark V1", "heater dim V1", "heater bright V1", "rings V1"]
    assert {"red plate V2", "red screen V2", "hot C1", "backward R5", "hum", "howl", "silent", "faint"} <= set(names)
    assert "red plate V1" not in names
    assert len(set(names)) == len(names)


@pytest.mark.parametrize("name", NAMES)
def test_whatever_a_fault_shows_is_a_sign_of_the_build(name: str) -> None:
    opened = example(name)
    shown = {sign for fault in faults_of(opened.build, opened.circuit, opened.plan) for sign in fault.shows}
    assert shown
    assert shown <= {sign.name for sign in signs_of(opened.build)}


def test_what_burns_says_so(dunlin: tuple[Build, Circuit]) -> None:
    harm = {sign.name: sign.harm for sign in signs_of(dunlin[0])}
    assert harm["red plate V2"] == harm["red screen V2"] == BURNS == "what glows red burns within a minute"
    assert harm["hot C1"] == BURSTS == "an electrolytic that gets warm boils, and bursts"
    assert harm["heater bright V1"] == "the heater burns out, and takes its tube with it"
    assert harm["howl"] == "the output stage is driven as hard as it goes: turn down and switch off"
    assert harm["hum"] == harm["heater dark V1"] == ""


def test_each_look_says_what_to_do(dunlin: tuple[Build, Circuit]) -> None:
    look = {sign.name: sign.look for sign in signs_of(dunlin[0])}
    assert look["heater dark V2"] == "look whether the heater of V2 stays dark"
    assert look["backward R5"] == 'turn R5 "Volume" slowly up and listen: does it work backward?'
    assert look["hot C1"].startswith("plug out, capacitors below 60 V: ")
    assert look["red plate V2"] == "lights out: look whether the plate of V2 glows red, for a few seconds only"


def test_yes_to_a_look_is_yes_to_its_sign(dunlin: tuple[Build, Circuit]) -> None:
    asks = {
        "heater dark": "stays dark", "heater dim": "glows dimmer", "heater bright": "far brighter", "rings": "ring",
        "red plate": "glows red", "red screen": "glow", "hot": "is it warmer", "backward": "work backward",
        "hum": "hums louder", "howl": "howls", "silent": "nothing at all", "faint": "far too faint",
    }  # fmt: skip
    for sign in signs_of(dunlin[0]):
        kind = next(kind for kind in asks if sign.name.startswith(kind))
        assert asks[kind] in sign.look, sign.name


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("heater dark V1", "heater dark V1"),
        ("V1 heater, dark", "heater dark V1"),
        ("v2 RED plate", "red plate V2"),
        ("no sound", "silent"),
        ("Buzz", "hum"),
    ],
)
def test_a_sign_is_known_by_any_order_of_its_words(text: str, name: str, dunlin: tuple[Build, Circuit]) -> None:
    assert sign_named(text, signs_of(dunlin[0])).name == name


def test_an_unknown_sign_is_told_with_the_nearest_name() -> None:
    signs = (Sign("heater dark V1", "heater dark", "V1", "look"), Sign("hum", "hum", "", "listen"))
    with pytest.raises(ReadingError) as close:
        sign_named("heter dark v1", signs)
    assert str(close.value).splitlines() == [
        "this build has no sign 'heter dark v1'",
        "  found:  heter dark v1",
        '  wanted: a sign such as "heater dark V2", "red plate V5", "hot C1", "hum"',
        "  do:     write 'heater dark V1'",
    ]
    with pytest.raises(ReadingError) as far:
        sign_named("smells of fish", signs)
    assert far.value.do == "look at the signs: lugwright trace FILE --signs"
