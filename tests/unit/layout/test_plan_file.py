"""The plan file: same bytes, strict reading."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from lugwright.errors import PlanError
from lugwright.layout.joint_classes import joint_facts
from lugwright.layout.lug_plan import plan_lugs
from lugwright.layout.plan_file import plan_fingerprint, plan_from_text, plan_to_text

from .amplifier import amplifier

BUILD, VOLTS = amplifier(1)
PLAN = plan_lugs(BUILD, joint_volts=VOLTS)
TEXT = plan_to_text(PLAN)


def test_a_plan_read_back_is_the_same_plan():
    assert plan_from_text(TEXT, "amp.plan") == PLAN
    assert plan_to_text(plan_from_text(TEXT, "amp.plan")) == TEXT


def test_the_fingerprint_changes_with_a_place_a_tube_or_volts_and_not_with_ohms():
    part = BUILD.part("R2")
    other = replace(
        BUILD, parts=tuple(replace(p, values=replace(p.values, ohm=2e6)) if p is part else p for p in BUILD.parts)
    )
    moved = replace(BUILD, placements=BUILD.placements | {"V1": replace(BUILD.placements["V1"], turn=90.0)})
    facts = joint_facts(BUILD, VOLTS)
    hotter = {joint: replace(fact, dc_v=fact.dc_v + 2.0) for joint, fact in facts.items()}
    assert plan_fingerprint(other, facts) == plan_fingerprint(BUILD, facts) == PLAN.fingerprint
    assert plan_fingerprint(moved, facts) != plan_fingerprint(BUILD, facts)
    assert plan_fingerprint(BUILD, hotter) != plan_fingerprint(BUILD, facts)


def test_a_stored_plan_of_this_very_build_is_the_answer_and_one_of_another_build_is_fitted_to_this():
    stored = plan_from_text(TEXT, "amp.plan")
    assert plan_lugs(BUILD, joint_volts=VOLTS, previous=stored) is stored
    strange = replace(stored, fingerprint="0")
    assert plan_lugs(BUILD, joint_volts=VOLTS, previous=strange) == stored


@pytest.mark.parametrize(
    ("old", "new", "found"),
    [
        ('"version": 2', '"version": 3', "version 3"),
        ('"version": 2', '"version": true', "version True"),
        ('"format": "lugwright plan"', '"format": "x"', "no plan of this program"),
        ('"seats": [', '"sets": [', "entries missing or unknown: seats, sets"),
        ('"capacity": 4', '"capacity": "4"', 'capacity = "4"'),
        ('"x_mm": 12.0', '"x_mm": NaN', "NaN is not a number"),
        ('"layer": 1', '"layer": true', "layer = true"),
        ('"notes": []', '"notes": [1]', "notes = [1"),
    ],
)  # fmt: skip
def test_a_broken_plan_says_what_is_wrong(old, new, found):
    assert old in TEXT
    with pytest.raises(PlanError) as caught:
        plan_from_text(TEXT.replace(old, new), "amp.plan")
    assert caught.value.what == "amp.plan cannot be read as a plan"
    assert found in caught.value.found


def test_a_plan_of_version_1_keeps_its_seats_and_is_routed_anew():
    data = json.loads(TEXT)
    data["version"], data["fingerprint"] = 1, "older"
    for row in data["wires"]:
        del row["shield"], row["jacket_mm"]
    old = plan_from_text(json.dumps(data), "amp.plan")
    assert old.seats == PLAN.seats
    assert plan_lugs(BUILD, joint_volts=VOLTS, previous=old) == PLAN


def test_a_wire_to_a_terminal_that_is_not_listed_is_refused():
    data = json.loads(TEXT)
    data["wires"][0]["terminals"][0] = "Z9.1"
    with pytest.raises(PlanError, match="cannot be read") as caught:
        plan_from_text(json.dumps(data), "amp.plan")
    assert "Z9.1, which is not listed" in caught.value.found


@pytest.mark.parametrize("text", ["", "{", "[]", "null", "[" * 5000, TEXT[: len(TEXT) // 2], TEXT + "x"])
def test_text_that_is_no_plan_is_refused_without_a_traceback(text):
    with pytest.raises(PlanError):
        plan_from_text(text, "amp.plan")
