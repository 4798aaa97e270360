"""Points and knobs by name; every message word for word."""

from __future__ import annotations

from pathlib import Path

import pytest

from lugwright.buildfile.build import Build
from lugwright.buildfile.read import read_build
from lugwright.circuit.edits import OPEN_OHM, SetValue
from lugwright.circuit.points import input_jack, joint_of, plugged, speaker, turned
from lugwright.errors import CircuitError

EXAMPLE = Path(__file__).parents[3] / "examples" / "dunlin_5.toml"


@pytest.fixture(scope="module")
def build() -> Build:
    found = read_build(EXAMPLE).build
    assert found is not None
    return found


def test_a_point_is_a_joint_or_a_terminal(build: Build) -> None:
    assert joint_of(build, "drive") == "drive"
    assert joint_of(build, "R11.2") == build.part("V2").terminal("grid").joint


def test_an_unknown_point_offers_the_nearest(build: Build) -> None:
    with pytest.raises(CircuitError) as caught:
        joint_of(build, "V1a.plat")
    assert str(caught.value) == (
        "there is no point 'V1a.plat'\n"
        "  found:  neither a joint nor a terminal of that name\n"
        "  wanted: a joint such as B+1 or a terminal such as V1a.plate\n"
        "  do:     did you mean V1a.plate?"
    )
    with pytest.raises(CircuitError) as caught:
        joint_of(build, "????")
    assert caught.value.do == "lugwright parts lists the terminals"


def test_signal_goes_in_at_the_first_input_and_out_at_the_speaker(build: Build) -> None:
    jack, loud = input_jack(build), speaker(build)
    assert jack is not None
    assert loud is not None
    assert (jack.name, loud.name) == ("J1", "LS1")


def test_a_plug_opens_the_contact_of_its_jack(build: Build) -> None:
    assert plugged(build, "in").changes == (SetValue("J1.tip-tip_switch", "ohm", OPEN_OHM),)
    assert plugged(build, "drive").changes == ()


def test_a_knob_turns_by_designator_or_label(build: Build) -> None:
    turn = turned(build, "volume", 1.0)
    assert turn == turned(build, "R5", 1.0)
    assert turn.name == "Volume 1"
    assert turn.changes == (SetValue("R5.1-2", "ohm", 1e6), SetValue("R5.2-3", "ohm", 10.0))


def test_an_unknown_knob_is_told_which_there_are(build: Build) -> None:
    with pytest.raises(CircuitError) as caught:
        turned(build, "Presence", 0.5)
    assert str(caught.value) == (
        "there is no knob 'Presence'\n"
        "  found:  R5 Volume, R9 Tone\n"
        "  wanted: a pot's designator or its label\n"
        "  do:     use one of those found"
    )


def test_a_knob_has_ends(build: Build) -> None:
    with pytest.raises(CircuitError) as caught:
        turned(build, "Tone", 7.0)
    assert str(caught.value) == (
        "Tone cannot be turned that far\n"
        "  found:  7\n"
        "  wanted: a share of its rotation, 0 to 1, clockwise\n"
        "  do:     0.5 is halfway"
    )
