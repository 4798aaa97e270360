"""A plan that cannot be made is answered with changes that were tried, word for word."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from lugwright.buildfile.build import Build
from lugwright.errors import NoWholePlan
from lugwright.layout import remedies
from lugwright.layout.checker import check_plan
from lugwright.layout.hardware import hardware_for
from lugwright.layout.lug_plan import plan_lugs
from lugwright.layout.other_bodies import other_bodies
from lugwright.layout.remedies import can_be_planned, with_remedies

from .amplifier import amplifier
from .one_tube import one_tube

BUILD, VOLTS = one_tube({})
(STRIP,) = BUILD.strips


def refused(build: Build, volts: dict[str, float] = VOLTS) -> NoWholePlan:
    """Return the refusal of a build, with its remedies."""
    with pytest.raises(NoWholePlan) as caught:
        plan_lugs(build, joint_volts=volts)
    return with_remedies(caught.value, build, joint_volts=volts, hardware=hardware_for(build))


def with_lugs(count: int) -> Build:
    return replace(BUILD, strips=(replace(STRIP, lugs=count, feet=()),))


def test_one_lug_too_few_is_one_lug_more_or_one_more_strip():
    error = refused(with_lugs(1))
    assert error.what == "no whole plan found"
    assert error.found == "no seat for R1; 0 lugs left free elsewhere"
    assert error.wanted == "about 1 more lug at strip A"
    assert error.do.startswith(
        "do one of these, each planned to be sure: strip A: lugs = 2 in place of 1; or one more strip: B = { lugs = 3, "
    )
    assert error.do.endswith(" changes tried)")


def test_a_lug_that_is_free_and_too_near_for_the_volts_is_told():
    twice = {joint: 2.0 * volts for joint, volts in VOLTS.items()}
    error = refused(with_lugs(2), twice)
    assert error.found == "no seat for R1; 1 lug left free elsewhere (1 too near others for the volts)"
    assert error.wanted == "about 1 more lug at strip A"
    assert error.do.startswith("do one of these, each planned to be sure: strip A: lugs = 3 in place of 2; ")


def test_what_is_proposed_can_really_be_planned_and_passes_the_check():
    build = with_lugs(2)
    plan = plan_lugs(build, joint_volts=VOLTS)
    assert {f.rule for f in check_plan(build, plan, joint_volts=VOLTS)} == {"ground-floats"}  # it has no bond
    assert can_be_planned(build, VOLTS, hardware_for(build))
    assert not can_be_planned(with_lugs(1), VOLTS, hardware_for(build))


def test_without_any_strip_one_is_proposed():
    error = refused(replace(BUILD, strips=()))
    assert error.what == "too few strip lugs"
    assert error.found == "0 free lugs and free pins, on 0 strips (none)"
    assert error.wanted == (
        "at least 1: one for every joint whose parts have no pin, pot lug or bus to go to; "
        "about 4 are usual for 4 parts"
    )
    assert re.match(r"do this, planned to be sure: one more strip: A = \{ lugs = \d, foot = \d, at = \[", error.do)


def test_a_strip_a_little_too_far_away_is_moved_back():
    chassis = replace(BUILD.chassis, depth_mm=150.0) if BUILD.chassis else None
    build = replace(with_lugs(2), chassis=chassis)
    far = replace(build, strips=tuple(replace(s, at=(s.at[0] + 20.0, s.at[1] + 10.0)) for s in build.strips))
    error = refused(far)
    assert error.what == "R1 fits between no two points"
    assert "; or strip A 6 mm toward the rear: at = [50, 70]; or " in error.do
    assert "; or R1: watts = 2, a body of 14.5 mm in place of 8.5 mm (" in error.do


def test_nothing_that_stands_on_something_else_is_proposed(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(remedies, "can_be_planned", lambda *_: True)
    error = NoWholePlan(what="w", found="f", wanted="w", do="d", parts=("R1",), lacks={"A": 1})
    hemmed = replace(BUILD, strips=(replace(STRIP, lugs=7, at=(30.0, 42.0)),))  # its lugs all but touch the socket
    said = with_remedies(error, hemmed, joint_volts=VOLTS, hardware=hardware_for(hemmed)).do
    assert "3 mm toward the rear" not in said
    assert "3 mm" in said


def test_tries_are_counted_and_limited(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(remedies, "can_be_planned", lambda *_: False)
    error = NoWholePlan(what="w", found="f", wanted="w", do="add strips", parts=("R1",), lacks={"A": 1})
    said = with_remedies(error, BUILD, joint_volts=VOLTS, hardware=hardware_for(BUILD))
    count = re.fullmatch(r"add strips \((\d+) changes tried, none of them enough\)", said.do)
    assert count is not None
    assert remedies.TRIES_OF_A_KIND < int(count[1]) <= 4 * remedies.TRIES_OF_A_KIND
    assert (said.what, said.found, said.wanted, said.parts) == ("w", "f", "w", ("R1",))


def test_the_fewest_lugs_that_do_are_found(monkeypatch: pytest.MonkeyPatch):
    enough = 10
    monkeypatch.setattr(remedies, "can_be_planned", lambda build, *_: build.strips[0].lugs >= enough)
    error = NoWholePlan(what="w", found="f", wanted="w", do="d", lacks={"A": 4})
    said = with_remedies(error, BUILD, joint_volts=VOLTS, hardware=hardware_for(BUILD)).do
    assert said.startswith(f"do this, planned to be sure: strip A: lugs = {enough} in place of 7 (")


def test_several_strips_that_lack_lugs_get_them_together(monkeypatch: pytest.MonkeyPatch):
    build, volts = amplifier(1)

    def enough(tried: Build, *_: object) -> bool:
        lugs = {s.name: s.lugs for s in tried.strips}
        return lugs["A1"] >= 8 and lugs["B3"] >= 9

    monkeypatch.setattr(remedies, "can_be_planned", enough)
    build = replace(build, strips=tuple(replace(s, lugs=4, feet=()) for s in build.strips if s.name in ("A1", "B3")))
    error = NoWholePlan(what="w", found="f", wanted="w", do="d", lacks={"A1": 4, "B3": 5})
    said = with_remedies(error, build, joint_volts=volts, hardware=hardware_for(build)).do
    assert "strip A1: lugs = 8 in place of 4 and strip B3: lugs = 9 in place of 4" in said


def test_other_bodies_are_the_ratings_that_are_made():
    r3 = BUILD.part("R3")
    words = [text for text, _ in other_bodies(r3)]
    assert words[0].startswith("R3: watts = 2, a body of ")
    assert words[0].endswith(" mm in place of 10.5 mm")
    assert all(other.values.watts >= r3.values.watts for _, other in other_bodies(r3))
    assert other_bodies(BUILD.part("V1")) == []


def test_another_body_is_proposed_for_a_part_that_is_too_short(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(remedies, "can_be_planned", lambda build, *_: build.part("R3").values.watts > 1.0)
    error = NoWholePlan(what="R3 fits between no two points", found="f", wanted="w", do="d", parts=("R3",))
    said = with_remedies(error, BUILD, joint_volts=VOLTS, hardware=hardware_for(BUILD)).do
    assert "R3: watts = 2, a body of " in said
