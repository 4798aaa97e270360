"""Why something of a plan is where it is, word for word, on a plan that is pinned throughout."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from lugwright.buildfile.build import Wishes
from lugwright.errors import NoSuchSubject
from lugwright.layout.explain_results import Choice, Why
from lugwright.layout.frozen import Frozen
from lugwright.layout.hardware import hardware_for
from lugwright.layout.lug_plan import plan_lugs
from lugwright.layout.standing import Standing
from lugwright.layout.why import why

from .amplifier import amplifier
from .one_tube import PINS, one_tube

BUILD, VOLTS = one_tube()
HARDWARE = hardware_for(BUILD)
PLAN = plan_lugs(BUILD, joint_volts=VOLTS)
BUILD_FREE, _ = one_tube({})


def ask(subject: str) -> Why:
    return why(Standing(BUILD, PLAN, VOLTS, HARDWARE), subject)


def choice(answer: Why, place: str) -> Choice:
    return next(c for c in answer.choices if c.place == place)


def length_mm(number: int) -> str:
    return f"{next(w.length_mm for w in PLAN.wires if w.number == number):.0f} mm"


def test_a_part_says_where_it_lies_what_it_costs_and_that_it_was_asked_for():
    here = ask("R2").here
    assert here[0] == (
        "R2 lies between strip A lug 2 (in) and bus point 2 (ground), 18 mm apart: "
        "a body of 8.5 mm and 5 mm of lead each side, on layer 1."
    )
    assert here[1].startswith("Without it the plan would cost ")
    assert here[2] == "It was asked for there: [plan.between] R2 = A.2, bus.2."


def test_a_part_says_what_pulls_it():
    assert ask("R1").pulls == (
        f"W2, {length_mm(2)} of signal wire at 2.5 a mm, runs from strip A lug 2 to J1 tip.",
        "strip A lug 2 is shared with R2.1.",
        "V1 pin 2 carries V1a.grid by itself: no wire is needed at this end.",
    )


def test_other_places_of_a_part_are_priced_or_refused_with_the_reason():
    answer = ask("R1")
    assert choice(answer, "J1 tip and V1 pin 2") == Choice(
        "J1 tip and V1 pin 2", None, "66.8 mm apart, 26.3 mm too far (it reaches 12.5 to 40.5 mm)"
    )
    assert choice(answer, "strip A lug 5 and V1 pin 2").because == "strip A lug 5 carries B+3"
    best = choice(answer, "strip A lug 3 and V1 pin 2")
    assert re.fullmatch(r"wires \+24, lugs \+6, seats -\d", best.because)
    assert best.more == pytest.approx(sum(float(term) for term in re.findall(r"[+-]\d+", best.because)), abs=1.5)
    taken = choice(ask("R3"), "strip A lug 1 and V1 pin 1")
    assert (taken.more, taken.because) == (None, "R1, R2 and R4 take all 3 layers there")


def test_what_another_place_costs_more_is_what_a_plan_made_there_costs_more():
    """The price of a try is the difference of two whole plans, each pinned throughout."""
    best = choice(ask("R1"), "strip A lug 3 and V1 pin 2")
    assert best.more is not None
    build, _ = one_tube(PINS | {"R1": ("A.3", "V1.2")})
    other = plan_lugs(build, joint_volts=VOLTS)
    costs = [sum(Standing(b, p, VOLTS, HARDWARE).terms.values()) for b, p in ((build, other), (BUILD, PLAN))]
    assert costs[0] - costs[1] == pytest.approx(best.more, abs=0.2)


def test_what_a_wish_costs_is_said():
    build, _ = one_tube(PINS | {"R2": ("A.7", "bus.8")})
    plan = plan_lugs(build, joint_volts=VOLTS)
    here = why(Standing(build, plan, VOLTS, HARDWARE), "R2").here
    assert here[-2] == "It was asked for there: [plan.between] R2 = A.7, bus.8."
    assert re.fullmatch(
        r"Without that wish it could sit between strip A lug \d and bus point \d, \d+ cheaper\.", here[-1]
    )


def test_a_cheaper_place_that_the_search_has_missed_is_said():
    pinned, _ = one_tube(PINS | {"R2": ("A.7", "bus.8")})
    plan = plan_lugs(pinned, joint_volts=VOLTS)
    here = why(Standing(BUILD_FREE, plan, VOLTS, HARDWARE), "R2").here
    assert re.fullmatch(
        r"The search has missed that between strip A lug \d and bus point \d it would be \d+ cheaper; pin it there\.",
        here[-1],
    )


def test_a_joint_says_what_carries_it():
    answer = ask("in")
    assert answer.here == (
        "in is a joint of class signal; a millimeter of its wire counts 2.5.",
        "The build has it on J1 tip.",
        "The plan has put it on strip A lug 2.",
        f"W2 joins it together, {length_mm(2)}.",
    )
    assert answer.pulls == ("J1 tip holds W2.", "strip A lug 2 holds R1.1, R2.1 and W2.")
    assert [c.place for c in answer.choices] == ["strip A lug 3 instead of strip A lug 2"]


def test_a_joint_on_a_pin_alone_needs_no_lug():
    assert ask("V1a.plate").here[1:] == (
        "The build has it on V1 pin 1.",
        "It needs no lug of a strip.",
        "No wire is needed to join it together.",
    )


def test_a_wire_says_what_it_joins_and_the_next_shortest_ways():
    answer = ask("W1")
    assert answer.here == (
        f"W1 joins J1 sleeve and bus point 1 (ground), {length_mm(1)} of 20 AWG solid 600 V, black.",
        "The two stand 58 mm apart along and across the plate; at 1 a mm that counts 58.",
    )
    assert answer.choices[0].place == "J1 sleeve and bus point 2"
    assert answer.choices[0].because == "68 mm apart in place of 58 mm"
    assert answer.choices[0].more == pytest.approx(10.0, abs=0.5)


def test_a_wire_between_all_there_is_says_so():
    assert ask("W2").here[-1] == "No other two terminals would join the same."


def test_a_wire_that_was_decided_before_says_by_what():
    build, volts = amplifier(1, old_style=True)
    plan, hardware = plan_lugs(build, joint_volts=volts), hardware_for(build)
    last = {}
    for wire in plan.wires:
        kind = "bond" if wire.bond else "heater" if wire.twist and wire.kind == "heater" else ""
        last[kind or ("loop" if set(wire.terminals) == {"T1.hv.ct", "C90.minus"} else "")] = wire.number
    said = {
        kind: why(Standing(build, plan, volts, hardware), f"W{number}").here[-1]
        for kind, number in last.items()
        if kind
    }
    assert said == {
        "bond": "It is the bond W2 of the build file.",
        "heater": "It is part of the heater chain, which runs from tube to tube, the input tube last.",
        "loop": "It closes the loop of charging current on its capacitor before anything else meets there.",
    }


def test_a_lug_says_what_it_carries_and_what_stands_beside_it():
    answer = ask("strip A lug 5")
    assert answer.subject == "A.5"
    assert answer.here[:2] == ("strip A lug 5 carries B+3: R3.1.", "R3 was asked for there: [plan.between].")
    assert all(text.startswith("Without that wish it could sit on strip A lug ") for text in answer.here[2:])
    assert answer.pulls == ("Beside it strip A lug 4 (foot) stands on the metal.", "Beside it strip A lug 6 is spare.")
    assert re.fullmatch(r"seats [+-]\d+|costs the same", choice(answer, "strip A lug 3").because)


def test_a_lug_beside_another_voltage_says_how_much_they_need():
    build, _ = one_tube(PINS | {"R3": ("A.3", "V1.1")})
    plan = plan_lugs(build, joint_volts=VOLTS)
    pulls = why(Standing(build, plan, VOLTS, HARDWARE), "A.3").pulls
    assert pulls[0] == "Beside it strip A lug 2 carries in: 4.5 mm apart, their voltage needs 2.5 mm."


def test_a_lug_that_cannot_move_says_which_part_does_not_reach():
    blocked = choice(ask("A.2"), "strip A lug 1")
    assert blocked == Choice(
        "strip A lug 1", None, "R1 between strip A lug 1 and V1 pin 2: 42.0 mm apart, 1.5 mm too far "
        "(it reaches 12.5 to 40.5 mm)"
    )  # fmt: skip


def test_a_spare_lug_says_what_could_come_to_it():
    answer = ask("A.3")
    assert answer.here == ("strip A lug 3 is spare.",)
    assert [c.place for c in answer.choices] == ["all of strip A lug 5 (B+3)", "all of strip A lug 2 (in)"]


def test_what_is_no_choice_of_the_plan_says_so():
    assert ask("V1.1").here[1] == "That is no choice of the plan: the build file has V1a.plate there."
    assert ask("bus.2").here[1] == "That is no choice of the plan: bus carries ground along its whole length."


def test_trying_other_places_leaves_the_plan_as_it_was():
    standing = Standing(BUILD, PLAN, VOLTS, HARDWARE)
    for part in range(len(standing.board.parts)):
        for row in range(len(standing.board.seats[part].first)):
            standing.changed({part: row})
    assert standing.bench.cost_terms() == standing.terms
    seats = {s.part: s.terminals for s in PLAN.seats}
    for name, index in standing.part.items():
        seat = standing.bench.seats[index]
        assert seat is not None
        assert tuple(standing.board.terminals[end].key for end in seat.lying.ends) == seats[name]


def test_a_plan_put_up_again_costs_what_it_said():
    """All terms but those that the routes are counted for."""
    build, volts = amplifier(1)
    plan = plan_lugs(build, joint_volts=volts)
    standing = Standing(build, plan, volts, hardware_for(build))
    routed = ("wires", "detours", "coupling", "crossings", "busy")
    said = {name: cost for name, cost in plan.cost.items() if name not in routed}
    assert {k: round(v, 1) for k, v in standing.terms.items() if k not in routed} == said


def test_an_unknown_name_is_answered_with_the_nearest():
    with pytest.raises(NoSuchSubject) as caught:
        ask("V1a.plat")
    assert caught.value.what == "the plan has no V1a.plat"
    assert caught.value.found == '--why "V1a.plat"'
    assert caught.value.wanted == "a part with two leads, a joint, a wire such as W12, or a terminal such as A.4"
    assert caught.value.do == "ask for V1a.plate"
    with pytest.raises(NoSuchSubject) as caught:
        ask("quite another thing")
    assert caught.value.do == "look the name up in what plan prints"


def test_a_part_that_the_build_file_places_is_no_choice_of_the_plan():
    with pytest.raises(NoSuchSubject) as caught:
        ask("V1")
    assert caught.value.what == "V1 has no place that the plan chose"
    assert caught.value.found == "V1 is a tube; the build file says where it stands"
    assert caught.value.do == "ask for one of its terminals or joints"


@pytest.mark.parametrize(
    ("subject", "said"),
    [
        ("R1", "It is in already: soldered work stays, and another place is for when you take it out."),
        ("A.2", "It is soldered already, and keeps what it holds."),
        ("W2", "It is laid already, and stays as it runs."),
    ],
)
def test_what_is_in_already_says_so(subject: str, said: str):
    wires = tuple(w for w in PLAN.wires if w.number == 2)
    frozen = Frozen(frozenset({("R1", "1", "A.2")}), wires, frozenset({"A.2"}))
    answer = why(Standing(BUILD, PLAN, VOLTS, HARDWARE), subject, frozen=frozen)
    assert answer.here[-1] == said
    assert said not in ask(subject).here


def test_a_joint_that_was_asked_for_on_a_lug_says_so():
    build = replace(BUILD, wishes=Wishes(on={"B+3": ("A.6",)}))
    plan = plan_lugs(build, joint_volts=VOLTS)
    here = why(Standing(build, plan, VOLTS, HARDWARE), "A.6").here
    assert "It was asked for there: [plan.on] B+3." in here


def test_a_question_leaves_the_plan_standing_as_it_was():
    subjects = [*(seat.part for seat in PLAN.seats), *BUILD.joints, *PLAN.terminals]
    asked_before = Standing(BUILD, PLAN, VOLTS, HARDWARE)
    answers = [why(asked_before, subject) for subject in subjects]
    assert [why(asked_before, subject) for subject in reversed(subjects)] == answers[::-1]
    assert answers[:3] == [ask(subject) for subject in subjects[:3]]
