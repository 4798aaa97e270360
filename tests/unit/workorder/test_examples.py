"""The cards of every example build: what comes after the check, which phase a card carries, what they build."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from lugwright.buildfile.build import Build
from lugwright.layout.results import Plan
from lugwright.workorder.feedback import feedback_ends
from lugwright.workorder.order import work_order
from lugwright.workorder.phases import PHASES, seat_slot, wire_slot

from ...planned_examples import example
from .obey import check_joints, check_only_feedback_after_check, check_solder

EXAMPLES = sorted((Path(__file__).parents[3] / "examples").glob("*.toml"))
WITH_FEEDBACK = {"godwit_40": "R33", "redshank_50": "R48"}

Planned = tuple[str, Build, Plan]


@pytest.fixture(scope="module", params=EXAMPLES, ids=lambda path: path.stem)
def planned(request: pytest.FixtureRequest) -> Planned:
    opened = example(request.param.stem)
    return request.param.stem, opened.build, opened.plan


def test_after_the_check_only_the_feedback_end(planned: Planned) -> None:
    name, build, plan = planned
    ends = feedback_ends(build, plan)
    assert (name in WITH_FEEDBACK) == bool(ends)
    check_only_feedback_after_check(work_order(build, plan), ends)


def test_after_the_check_only_the_feedback_end_though_every_wire_lies_over_it(planned: Planned) -> None:
    name, build, plan = planned
    part = WITH_FEEDBACK.get(name, build.parts[0].name)
    plan = replace(plan, wires=tuple(replace(w, lies_over=(*w.lies_over, part)) for w in plan.wires))
    order = work_order(build, plan)
    check_only_feedback_after_check(order, feedback_ends(build, plan))
    check_joints(build, plan, order)


def test_the_cards_obeyed_build_the_joints(planned: Planned) -> None:
    _, build, plan = planned
    order = work_order(build, plan)
    check_joints(build, plan, order)
    check_solder(build, plan, order)


def test_every_part_and_wire_is_on_a_card_of_its_own_phase(planned: Planned) -> None:
    _, build, plan = planned
    ends = feedback_ends(build, plan)
    phase_of = {f"W{w.number}": [wire_slot(build, plan, w)[0]] for w in plan.wires}
    for twist in {w.twist for w in plan.wires if w.twist}:
        pair = [f"W{w.number}" for w in plan.wires if w.twist == twist]
        phase_of |= {key: [phase for name in pair for phase in phase_of[name]] for key in pair}
    phase_of |= {s.part: [seat_slot(build, plan, s)[0]] for s in plan.seats}
    phase_of |= {name: [*phase_of[name], "feedback"] for name in ends}
    seen = set()
    for job in work_order(build, plan).jobs:
        for lead in job.leads:
            seen.add(lead.what)
            assert job.phase in phase_of[lead.what], f"{lead.what} on card {job.number}, {job.phase}"
    assert seen == set(phase_of)


def test_phases_come_in_order_but_for_cards_that_say_what_they_waited_for(planned: Planned) -> None:
    _, build, plan = planned
    reached = 0
    for job in work_order(build, plan).jobs:
        rank = PHASES.index(job.phase)
        if "what had to wait" in job.title:
            assert rank < reached
            assert len([note for note in job.notes if " and waited: " in note]) >= len(job.parts) + len(job.wires)
            continue
        assert rank >= reached, f"card {job.number}, {job.phase}"
        reached = rank


def test_ground_meets_the_metal_after_every_other_ground_wire(planned: Planned) -> None:
    _, build, plan = planned
    cards = [job for job in work_order(build, plan).jobs if job.phase == "ground"]
    assert [card.title for card in cards].count("Ground to chassis bond") == 1
    assert cards[-1].title == "Ground to chassis bond"
