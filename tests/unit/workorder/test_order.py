"""The cards, executed to the letter, build the circuit; nothing is soldered early, buried or left open."""

from __future__ import annotations

import random
from dataclasses import replace

import pytest

from lugwright.layout.results import Plan
from lugwright.workorder.broken import card_notes
from lugwright.workorder.covers import Precedence
from lugwright.workorder.feedback import feedback_ends
from lugwright.workorder.in_words import in_bench_order, wire_words
from lugwright.workorder.order import work_order
from lugwright.workorder.phases import PHASES
from lugwright.workorder.results import Job, WorkOrder

from .obey import (
    check_joints,
    check_only_feedback_after_check,
    check_solder,
    joints_built,
    joints_wanted,
    obey,
)
from .small_build import seat, small_build, small_plan, wire, with_over


@pytest.fixture(scope="module")
def order() -> WorkOrder:
    return work_order(small_build(), small_plan())


def card_of(order: WorkOrder, what: str) -> Job:
    (card,) = {job.number: job for job in order.jobs if any(lead.what == what for lead in job.leads)}.values()
    return card


def test_doing_exactly_what_the_cards_say_builds_the_joints_of_the_circuit(order: WorkOrder) -> None:
    build, plan = small_build(), small_plan()
    built = joints_built(build, plan, order, obey(build, plan, order))
    wanted = joints_wanted(build, plan)
    for joint, points in wanted.items():
        if len(points) > 1 or joint == "in":
            assert any(points <= group for group in built), f"{joint}: {sorted(points)} not in one group"
    for group in built:
        touched = {joint for joint, points in wanted.items() if points & group}
        assert len(touched) <= 1, f"{sorted(touched)} joined by {sorted(group)}"


def test_every_used_terminal_is_soldered_once_and_after_its_last_lead(order: WorkOrder) -> None:
    check_solder(small_build(), small_plan(), order)


def test_every_lead_of_the_plan_goes_in_exactly_once(order: WorkOrder) -> None:
    plan = small_plan()
    done = sorted((lead.what, lead.terminal) for job in order.jobs for lead in job.leads)
    planned = [(s.part, key) for s in plan.seats for key in s.terminals]
    planned += [(f"W{w.number}", key) for w in plan.wires for key in w.terminals]
    assert done == sorted(planned)


def test_phases_come_in_order_and_earth_comes_first(order: WorkOrder) -> None:
    ranks = [PHASES.index(job.phase) for job in order.jobs]
    assert ranks == sorted(ranks)
    wired = [job for job in order.jobs if job.leads]
    assert [lead.what for lead in wired[0].leads] == ["W16", "W16"]
    assert wired[0].title == "Protective earth"
    assert any("less than 0.1 Ω" in line for line in wired[0].text)


def test_cards_are_short(order: WorkOrder) -> None:
    assert max(len(job.leads) for job in order.jobs) <= 8


def test_feedback_wire_is_laid_in_its_place_but_its_end_goes_in_last(order: WorkOrder) -> None:
    last = order.jobs[-1]
    assert [(lead.what, lead.label, lead.solder) for lead in last.leads] == [
        ("W11", "strip A lug 5", "melt the joint and add it"),
    ]  # fmt: skip
    assert last.text[0] == "W11: the end left off so far, to strip A lug 5."
    assert last.text[1].startswith("Sign unknown until tested")
    laid = next(job for job in order.jobs if 11 in job.wires)
    assert "Leave its end for strip A lug 5 off, sleeved: it goes in last." in laid.text
    assert order.jobs[-2].phase == "check"
    assert any(
        line.startswith("The feedback lead is still off: clip W11 to strip A lug 5 while")
        for line in order.jobs[-2].text
    )


def test_a_twisted_pair_is_laid_together(order: WorkOrder) -> None:
    assert card_of(order, "W1") is card_of(order, "W2")


def test_ground_bus_comes_before_what_is_soldered_to_it(order: WorkOrder) -> None:
    bus = next(job.number for job in order.jobs if job.title == "Ground bus")
    on_bus = [job.number for job in order.jobs for lead in job.leads if lead.terminal.startswith("bus.")]
    assert on_bus
    assert bus < min(on_bus)


def test_ground_is_measured_open_before_its_bond_goes_on(order: WorkOrder) -> None:
    card = card_of(order, "W15")
    assert card.title == "Ground to chassis bond"
    assert any(line.startswith("Before the bond's last end goes on") for line in card.text)


def test_a_wire_keeps_its_phase_and_is_bent_aside_for_what_comes_later_under_it() -> None:
    order = work_order(small_build(), with_over(small_plan(), 7, ("R3",)))
    assert card_of(order, "W7").number < card_of(order, "R3").number
    assert card_of(order, "W7").phase == "B+"
    text = "R3 goes in after W7 although W7 lies over R3: slide R3 in beneath W7."
    assert text in order.broken_rules
    assert card_of(order, "R3").notes == ("Goes in beneath what is there: R3 beneath W7.",)
    assert card_of(order, "W7").notes == ()
    assert order.over[7] == ("R3",)


def test_within_a_phase_a_wire_waits_for_what_it_lies_over() -> None:
    order = work_order(small_build(), with_over(small_plan(), 7, ("R8",)))
    leads = [lead.what for job in order.jobs for lead in job.leads]
    assert leads.index("R8") < leads.index("W7")
    assert order.over[7] == ("R8",)
    unasked = [lead.what for job in work_order(small_build(), small_plan()).jobs for lead in job.leads]
    assert unasked.index("W7") < unasked.index("R8")


def test_a_part_over_a_part_of_a_later_phase_waits_and_stays_on_a_card_of_its_own_phase() -> None:
    plan = small_plan()
    over = seat("R8", "A.4", "A.1", layer=3, z_mm=20.0)
    plan = replace(plan, seats=tuple(over if s.part == "R8" else s for s in plan.seats))
    order = work_order(small_build(), plan)
    card = card_of(order, "R8")
    assert (card.phase, card.title) == ("B+", "B+ supply, what had to wait")
    assert [note for note in card.notes if note.startswith("R8 belongs to the B+ supply work and waited: R8 lies over")]
    assert order.jobs[card.number].phase in {"input", "check"}


@pytest.mark.parametrize("kind", ["wire", "part"])
@pytest.mark.parametrize("seed", range(12))
def test_nothing_waits_for_the_feedback_end_whatever_lies_over_it(kind: str, seed: int) -> None:
    build, plan, dice = small_build(), small_plan(), random.Random(seed)
    if kind == "part":
        seats = tuple(replace(s, terminals=("T2.speaker.1", "A.3")) if s.part == "R9" else s for s in plan.seats)
        plan = replace(plan, seats=seats, wires=tuple(w for w in plan.wires if w.number != 11))
    names = [*(s.part for s in plan.seats), *(f"W{w.number}" for w in plan.wires)]
    wires = tuple(replace(w, lies_over=("R9", "W11", *dice.sample(names, 5))) for w in plan.wires)
    seats = tuple(replace(s, layer=dice.randint(1, 3), z_mm=dice.choice((8.0, 18.0))) for s in plan.seats)
    plan = replace(plan, wires=wires, seats=seats)
    order = work_order(build, plan)
    ends = feedback_ends(build, plan)
    assert list(ends) == (["W11"] if kind == "wire" else ["R9"])
    check_only_feedback_after_check(order, ends)
    check_solder(build, plan, order)
    check_joints(build, plan, order)


def test_a_part_over_a_lug_goes_in_after_every_lead_of_that_lug() -> None:
    plan = small_plan()
    over = seat("R8", "A.4", "A.1", layer=2, z_mm=20.0)  # lies along the strip, over lugs 2 and 3
    plan = replace(plan, seats=tuple(over if s.part == "R8" else s for s in plan.seats))
    order = work_order(small_build(), plan)
    place = {lead.what: (job.number, index) for job in order.jobs for index, lead in enumerate(job.leads)}
    for earlier in ("W4", "W5", "W6", "W9", "C1", "R9"):
        assert place[earlier] < place["R8"], earlier
    assert {"strip A lug 2", "strip A lug 3"} <= set(card_of(order, "R8").covers)
    assert not [text for text in order.broken_rules if "R8" in text]


def test_of_two_wires_that_cross_the_later_one_is_over_without_a_word() -> None:
    plan = with_over(with_over(small_plan(), 4, ("W6",)), 6, ("W4",))
    order = work_order(small_build(), plan)
    laid = [number for job in order.jobs for number in job.wires]
    later, earlier = (6, 4) if laid.index(6) > laid.index(4) else (4, 6)
    assert (order.over[later], order.over[earlier]) == ((f"W{earlier}",), ())
    assert not [text for text in (*order.broken_rules, *card_of(order, "W4").notes) if "W4 beneath W6" in text]
    assert order.broken_rules == work_order(small_build(), small_plan()).broken_rules
    assert obey(small_build(), plan, order).too_late == []


def test_a_ring_is_broken_at_its_cheapest_place_and_reported_in_words() -> None:
    plan = with_over(small_plan(), 4, ("R8",))
    over = seat("R8", "A.4", "A.1", layer=2, z_mm=20.0)  # lies along the strip, over lug 2, where W4 ends
    plan = replace(plan, seats=tuple(over if s.part == "R8" else s for s in plan.seats))
    order = work_order(small_build(), plan)
    assert "R8 goes in after W4 although W4 lies over R8: slide R8 in beneath W4." in order.broken_rules
    assert "Goes in beneath what is there: R8 beneath W4." in card_of(order, "R8").notes
    assert obey(small_build(), plan, order).too_late == []


def _rule(first: str, then: str, *, covered: str = "", cost: float = 6.0, upper: str = "") -> Precedence:
    return Precedence(first, then, cost, f"{then} lies over {covered or first}", covered or first, upper)


def test_what_is_given_up_is_said_once_on_the_card_where_it_matters() -> None:
    broken = [
        _rule("W2", "R1"), _rule("W3", "R1"), _rule("W2", "R5"), _rule("W3", "R5"), _rule("W8", "C1"),
        _rule("W9", "ground", upper="the bus ground"), _rule("R7", "R6", covered="strip A lug 2", cost=8.0),
        _rule("R8", "C2", cost=10.0),
    ]  # fmt: skip
    assert card_notes(broken, {"W2", "W3", "W8", "W9", "R7", "R8"}) == (
        "Goes in beneath what is there: W2 and W3 beneath R1 and R5; W8 beneath C1; W9 beneath the bus ground.",
    )
    assert card_notes(broken, {"R1", "R5", "R6", "C1", "C2", "ground"}) == (
        "Leave standing clear: R6 until R7 is soldered (over strip A lug 2); C2 until R8 is soldered.",
    )
    assert card_notes(broken, {"W7"}) == ()


def test_a_shared_lug_is_soldered_at_the_row_that_brings_its_last_lead(order: WorkOrder) -> None:
    rows = [lead for job in order.jobs for lead in job.leads if lead.terminal == "A.2"]
    assert [lead.solder for lead in rows] == [
        "wait (2 still to come)",
        "wait (1 still to come)",
        "solder now (all 3 in)",
    ]


def test_part_is_named_with_value_rating_and_bands(order: WorkOrder) -> None:
    text = card_of(order, "R3").text
    wanted = "R3 100 kΩ 1 W (brown black yellow gold): strip A lug 1 to V1 pin 1 (plate), body 8 mm above the plate"
    assert f"{wanted}, layer 1." in text


def test_polarity_is_said_in_words(order: WorkOrder) -> None:
    card = card_of(order, "C1")
    assert "Mind the polarity of C1: its + lead goes to strip A lug 3." in card.text
    assert [(lead.lead, lead.label) for lead in card.leads if lead.what == "C1"] == [
        ("+", "strip A lug 3"), ("-", "bus point 4"),
    ]  # fmt: skip


def test_wire_is_named_with_length_and_both_strip_lengths(order: WorkOrder) -> None:
    assert (
        "W3: red 22 AWG solid 600 V, cut 85 mm, strip 7 mm for J1 tip and 8 mm for V1 pin 2 (grid)."
        in card_of(order, "W3").text
    )


def test_three_leads_twisted_together_are_partners() -> None:
    twisted = replace(small_plan(), wires=tuple(replace(w, twist="T2 primary") for w in small_plan().wires[:3]))
    assert wire_words(small_build(), twisted, twisted.wires[2]).endswith(", twisted with its partners (T2 primary).")


def with_shield(plan: Plan) -> Plan:
    """Return the plan with wire 3 shielded, its braid on the sleeve of the jack."""
    change = {"type": "26 AWG shielded", "shield": "J1.sleeve", "jacket_mm": (28.0, 18.0)}
    return replace(plan, wires=tuple(replace(w, **change) if w.number == 3 else w for w in plan.wires))


def test_a_shielded_wire_says_what_is_done_with_its_braid_at_either_end() -> None:
    order = work_order(small_build(), with_shield(small_plan()))
    assert (
        "W3: red 26 AWG shielded, cut 85 mm, strip 7 mm for J1 tip and 8 mm for V1 pin 2 (grid). "
        "Jacket off 28 mm at J1 tip: comb the braid out, twist it, sleeve it, braid to J1 sleeve; cut the core back to "
        "what it needs. Jacket off 18 mm at V1 pin 2 (grid): braid cut back to the jacket and sleeved over, soldered "
        "to nothing."
    ) in card_of(order, "W3").text
    (row,) = (row for row in order.cut_list if row.wires == (3,))
    assert (row.type, row.strip_mm, row.jacket_mm) == ("26 AWG shielded", (7.0, 8.0), (28.0, 18.0))


def test_the_braid_goes_in_as_a_lead_and_its_lug_is_soldered_after_it() -> None:
    build, plan = small_build(), with_shield(small_plan())
    order = work_order(build, plan)
    braid = [(lead.what, lead.lead, lead.terminal) for job in order.jobs for lead in job.leads if lead.lead == "braid"]
    assert braid == [("W3", "braid", "J1.sleeve")]
    check_solder(build, plan, order)
    check_joints(build, plan, order)


def test_a_bond_is_named_with_what_it_is_for(order: WorkOrder) -> None:
    (words,) = (text for text in card_of(order, "W16").text if text.startswith("W16: "))
    assert words.endswith("; it is the bond W2: earth.")


def test_same_plan_same_order_whatever_the_order_of_its_records() -> None:
    plan = small_plan()
    turned = replace(plan, seats=plan.seats[::-1], wires=plan.wires[::-1])
    assert work_order(small_build(), turned) == work_order(small_build(), plan)


def test_an_empty_plan_still_has_metalwork_mounting_and_check() -> None:
    order = work_order(replace(small_build(), buses=()), Plan("Small", {}, (), (), (), {}))
    assert [job.phase for job in order.jobs] == ["metalwork", *["mounting"] * 4, "check"]
    assert [job.number for job in order.jobs] == list(range(1, 7))


def test_mounting_says_where_the_key_points(order: WorkOrder) -> None:
    (card,) = [job for job in order.jobs if job.title == "Mount: Sockets"]
    assert card.text == (
        "V1 noval socket for TRIODE at x 60, y 40 mm, turned 180°: key or gap toward the front, pins counted clockwise "
        "from it on the wiring side.",
    )


def test_wires_of_one_kind_are_cut_in_one_row() -> None:
    plan = replace(
        small_plan(), wires=(wire(3, "in", "J1.tip", "V1.2", "grid"), wire(4, "V1.plate", "V1.1", "A.2", "plate"))
    )
    order = work_order(small_build(), plan)
    (row,) = order.cut_list
    assert (row.length_mm, row.wires, row.strip_mm) == (85.0, (3, 4), (7.0, 8.0))
    assert order.totals_mm == (("22 AWG solid 600 V", "red", 170.0),)


def test_a_transformer_lead_is_routed_and_cut_to_length_but_not_in_the_cut_list(order: WorkOrder) -> None:
    assert (
        "W7: T1.hv.1 lead (red), the part's own, to strip A lug 4, cut at 85 mm from its grommet, strip 8 mm."
        in card_of(order, "W7").text
    )
    assert 7 not in [number for row in order.cut_list for number in row.wires]
    assert order.totals_mm == (("22 AWG solid 600 V", "red", 680.0),)


def test_ground_bus_is_cut_with_ends_to_hold(order: WorkOrder) -> None:
    (card,) = [job for job in order.jobs if job.title == "Ground bus"]
    assert card.text[0].startswith("bus: bare tinned wire, 16 AWG or thicker, cut 100 mm, pulled straight; from (20")


def test_a_feedback_part_on_the_speaker_lead_itself_waits_as_a_whole() -> None:
    plan = small_plan()
    on_exit = replace(seat("R9", "T2.speaker.1", "A.3"))
    plan = replace(
        plan,
        seats=tuple(on_exit if s.part == "R9" else s for s in plan.seats),
        wires=tuple(w for w in plan.wires if w.number != 11),
    )
    order = work_order(small_build(), plan)
    assert [lead.what for lead in order.jobs[-1].leads][:2] == ["R9", "R9"]
    assert order.jobs[-1].phase == "feedback"


def test_a_speaker_load_that_is_no_feedback_does_not_wait() -> None:
    build, plan = small_build(), small_plan()
    to_ground = seat("R9", "A.5", "bus.4")
    plan = replace(plan, seats=tuple(to_ground if s.part == "R9" else s for s in plan.seats))
    order = work_order(build, plan)
    assert "feedback" not in [job.phase for job in order.jobs]


def test_names_stand_in_the_order_a_person_looks_for_them() -> None:
    names = ["W10", "strip A lug 11", "W9", "C2", "strip A lug 2", "W9", "R\N{SUPERSCRIPT TWO}"]
    wanted = ["C2", "R\N{SUPERSCRIPT TWO}", "W9", "W10", "strip A lug 2", "strip A lug 11"]
    assert in_bench_order(names) == wanted
