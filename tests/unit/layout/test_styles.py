"""Several plans of one build: each made with other weights, each a plan of the build as its file says."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest

from lugwright.buildfile.build import Build, Wishes
from lugwright.buildfile.records import TERMS as TERMS_A_BUILDER_MAY_NAME
from lugwright.errors import PlanError
from lugwright.findings import Finding, Grade
from lugwright.layout import styles
from lugwright.layout.checker import check_plan
from lugwright.layout.figures import plan_figures
from lugwright.layout.hardware import hardware_for
from lugwright.layout.lug_plan import plan_lugs
from lugwright.layout.objective import TERMS
from lugwright.layout.results import Plan
from lugwright.layout.styles import STYLES, Style, empty_strips, plan_in_style

from .amplifier import amplifier
from .one_tube import one_tube

BUILD, VOLTS = one_tube({})
HARDWARE = hardware_for(BUILD)
PLAN = plan_lugs(BUILD, joint_volts=VOLTS)
Planner = Callable[..., Plan]


def recorded(monkeypatch: pytest.MonkeyPatch, answer: Callable[[Build], Plan]) -> list[Build]:
    """Put a planner in place that keeps what it was asked to plan."""
    asked: list[Build] = []

    def planner(build: Build, **_: object) -> Plan:
        asked.append(build)
        return answer(build)

    monkeypatch.setattr(styles, "plan_lugs", planner)
    return asked


def in_style(style: Style, build: Build = BUILD, stored: Plan = PLAN) -> Plan:
    return plan_in_style(build, style, stored, joint_volts=VOLTS, hardware=HARDWARE)


def test_a_style_searches_by_terms_that_a_builder_may_name_too():
    assert {term for style in STYLES for term in style.search} <= set(TERMS_A_BUILDER_MAY_NAME)
    assert {term for style in STYLES for term in style.counts} <= {term.name for term in TERMS}


def test_a_style_multiplies_what_the_builder_dislikes_already(monkeypatch: pytest.MonkeyPatch):
    asked = recorded(monkeypatch, lambda _: PLAN)
    build = replace(BUILD, wishes=Wishes(weights={"wires": 2.0, "heat": 5.0}))
    in_style(Style("shortest", "", {"wires": 3.0}), build)
    assert asked[0].wishes.weights == {"wires": 6.0, "heat": 5.0}


@pytest.mark.parametrize("style", STYLES, ids=lambda s: s.name)
def test_a_plan_in_a_style_is_valid_and_stays_when_the_build_is_planned_again(style: Style):
    plan = in_style(style)
    assert {f.rule for f in check_plan(BUILD, plan, joint_volts=VOLTS)} == {"ground-floats"}  # it has no bond
    assert plan_lugs(BUILD, joint_volts=VOLTS, previous=plan) is plan


def test_the_stored_plan_is_the_answer_when_nothing_better_is_found(monkeypatch: pytest.MonkeyPatch):
    longer = tuple(replace(w, route=((0.0, 0.0, 9.0), *w.route)) for w in PLAN.wires)
    recorded(monkeypatch, lambda _: replace(PLAN, wires=longer))
    plan = in_style(Style("shortest", "", {}, {"wires": 3.0, "detours": 3.0}))
    assert plan.wires == PLAN.wires


def test_a_better_plan_is_the_answer_when_one_is_found(monkeypatch: pytest.MonkeyPatch):
    longer = tuple(replace(w, route=((0.0, 0.0, 9.0), *w.route)) for w in PLAN.wires)
    recorded(monkeypatch, lambda _: PLAN)
    plan = in_style(Style("shortest", "", {}, {"wires": 3.0, "detours": 3.0}), stored=replace(PLAN, wires=longer))
    assert plan.wires == PLAN.wires


def test_a_strip_stays_empty_where_it_can(monkeypatch: pytest.MonkeyPatch):
    build, volts = amplifier(1)
    names = [strip.name for strip in build.strips]

    def answer(asked: Build) -> Plan:
        off = {strip for strips in asked.wishes.keep_off.values() for strip in strips}
        if "B1" in off:
            raise PlanError(what="w", found="f", wanted="w", do="d")
        return plan_on(set(names) - off)

    def plan_on(used: set[str]) -> Plan:
        terminals = {
            k: replace(t, joint="in" if t.owner in used and k.endswith(".1") else "")
            for k, t in plan_lugs_once.terminals.items()
            if t.kind in ("lug", "foot")
        }
        wires = [replace(plan_lugs_once.wires[0], terminals=(f"{name}.1", f"{name}.1")) for name in sorted(used)]
        return replace(plan_lugs_once, terminals=terminals, seats=(), wires=tuple(wires))

    plan_lugs_once = plan_lugs(build, joint_volts=volts)
    asked = recorded(monkeypatch, answer)
    monkeypatch.setattr(styles, "can_be_planned", lambda *_, **__: True)
    style = Style("fewest", "", {"lugs": 10.0}, fewer_strips=True)
    monkeypatch.setattr(styles, "own_terms", lambda *_: {})
    plan = plan_in_style(build, style, plan_lugs_once, joint_volts=volts, hardware=hardware_for(build))
    assert empty_strips(build, plan) == ("A1", "A2", "A3")
    assert [sorted({s for off in b.wishes.keep_off.values() for s in off}) for b in asked] == [
        [], ["A1"], ["A1", "A2"], ["A1", "A2", "A3"],
    ]  # fmt: skip
    assert set(asked[1].wishes.keep_off) == set(build.joints)


def test_a_strip_that_is_needed_is_kept(monkeypatch: pytest.MonkeyPatch):
    asked = recorded(monkeypatch, lambda b: PLAN if not b.wishes.keep_off else _refuse())
    monkeypatch.setattr(styles, "can_be_planned", lambda *_, **__: True)
    assert empty_strips(BUILD, in_style(Style("fewest", "", {}, fewer_strips=True))) == ()
    assert len(asked) == 2


def _refuse() -> Plan:
    raise PlanError(what="w", found="f", wanted="w", do="d")


def test_figures_of_a_plan():
    wires = (
        replace(PLAN.wires[0], number=1, kind="grid", length_mm=30.0, lies_over=("R1", "W2")),
        replace(PLAN.wires[0], number=2, kind="signal", length_mm=81.5, lies_over=()),
        replace(PLAN.wires[0], number=3, kind="signal", length_mm=20.0, lies_over=("W1",)),
    )
    doubt = Finding("r", Grade.DOUBT, "w", "f", "w", "d")
    seats = tuple(replace(seat, layer=k + 1) for k, seat in enumerate(PLAN.seats[:3]))
    figures = plan_figures(
        BUILD, replace(PLAN, wires=wires, seats=seats), [doubt, replace(doubt, grade=Grade.NOTE)], name="tidiest",
        words="made so", seconds=1.26, joint_volts=VOLTS, hardware=HARDWARE,
    )  # fmt: skip
    assert figures.wire_mm == {"grid": 30.0, "signal": 101.5}
    assert (figures.wires, figures.crossings, figures.upper_bodies, figures.doubts) == (3, 3, 2, 1)
    assert (figures.longest_grid_mm, figures.longest_signal_mm, figures.seconds) == (30.0, 81.5, 1.3)
    assert figures.lugs_used + figures.lugs_spare == 6


def test_costs_stand_at_the_builders_own_weights_whatever_the_plan_was_made_for():
    style = next(style for style in STYLES if style.name == "shortest")
    plan = in_style(style)
    figures = plan_figures(
        BUILD, plan, [], name="shortest", words="", seconds=0.0, joint_volts=VOLTS, hardware=HARDWARE
    )  # fmt: skip
    again = plan_figures(BUILD, PLAN, [], name="stored", words="", seconds=0.0, joint_volts=VOLTS, hardware=HARDWARE)
    assert again.cost == {name: cost for name, cost in PLAN.cost.items() if cost}
    in_the_style = [sum(cost * style.counts.get(term, 1.0) for term, cost in f.cost.items()) for f in (figures, again)]
    assert in_the_style[0] <= in_the_style[1]
