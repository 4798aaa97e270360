"""Of several plans the best one as routed is taken: doubts first, then cost."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

import numpy as np
import pytest

from lugwright.findings import Finding, Grade
from lugwright.layout import best_routed
from lugwright.layout.anneal import repair, whole_plans
from lugwright.layout.hardware import hardware_for
from lugwright.layout.kernel.tables import LAYER, ROW
from lugwright.layout.lug_plan import plan_lugs
from lugwright.layout.results import Plan
from lugwright.layout.search import Bench

from .amplifier import amplifier
from .test_search import problem

BUILD, VOLTS = amplifier(1)
pytestmark = pytest.mark.usefixtures("short_search")


@pytest.fixture(scope="module")
def plan() -> Plan:
    return plan_lugs(BUILD, joint_volts=VOLTS)


def chosen(plan: Plan, monkeypatch: pytest.MonkeyPatch, *kinds: tuple[float, tuple[Grade, ...]]) -> int:
    """Return which of some plans is taken, each of a cost and with findings of these grades."""
    plans = [replace(plan, cost={"wires": cost}, build=str(number)) for number, (cost, _) in enumerate(kinds)]
    said: Callable[..., list[Finding]] = lambda _build, a_plan, **_: [  # noqa: E731
        Finding(rule="r", grade=grade, what="w", found="f", wanted="x", do="d") for grade in kinds[int(a_plan.build)][1]
    ]
    monkeypatch.setattr(best_routed, "layout_findings", said)
    taken = best_routed.best_routed(BUILD, plans, joint_volts=VOLTS, hardware=hardware_for(BUILD))
    return int(taken.build)


@pytest.mark.parametrize(
    ("kinds", "best"),
    [
        (((30.0, ()), (20.0, ()), (20.0, ())), 1),
        (((20.0, (Grade.DOUBT,)), (30.0, ())), 1),
        (((20.0, (Grade.NOTE, Grade.NOTE)), (30.0, ())), 0),
        (((20.0, (Grade.FAULT,)), (30.0, (Grade.DOUBT, Grade.DOUBT))), 1),
        (((20.0, (Grade.DANGER,)), (30.0, (Grade.FAULT, Grade.FAULT))), 1),
    ],
)
def test_dangers_then_faults_then_doubts_then_cost_decide_and_of_equals_the_first(
    plan: Plan, monkeypatch: pytest.MonkeyPatch, kinds: tuple[tuple[float, tuple[Grade, ...]], ...], best: int
) -> None:
    assert chosen(plan, monkeypatch, *kinds) == best


def test_the_plan_taken_is_the_best_of_those_searched(monkeypatch: pytest.MonkeyPatch) -> None:
    offered: list[tuple[Plan, ...]] = []
    choose = best_routed.best_routed

    def noted(build: object, plans: list[Plan], **rest: object) -> Plan:
        offered.append(tuple(plans))
        return choose(build, plans, **rest)  # type: ignore[arg-type]

    monkeypatch.setattr("lugwright.layout.lug_plan.best_routed", noted)
    taken = plan_lugs(BUILD, joint_volts=VOLTS)
    (plans,) = offered
    assert len(plans) > 1
    assert len({tuple((s.part, s.terminals) for s in p.seats) for p in plans}) > 1
    doubts = [_badness(p) for p in plans]
    assert _badness(taken) == min(doubts)


def _badness(plan: Plan) -> tuple[tuple[int, ...], float]:
    found = best_routed.layout_findings(BUILD, plan, joint_volts=VOLTS, hardware=hardware_for(BUILD))
    grades = [finding.grade for finding in found]
    return tuple(grades.count(grade) for grade in best_routed.BAD), round(sum(plan.cost.values()), 1)


def test_each_plan_of_a_search_can_be_laid_out_again_at_the_price_it_had() -> None:
    bench = Bench(*problem())
    plans = whole_plans(bench)
    repair(bench)
    prices: dict[int, Mapping[str, float]] = {}
    for number, kept in enumerate(plans):
        bench.lay_out(kept)
        prices[number] = bench.cost_terms()
        assert np.array_equal(bench.tables.part[:, [ROW, LAYER]], kept[: len(bench.board.parts)])
    assert [sum(p.values()) for p in prices.values()] == sorted(sum(p.values()) for p in prices.values())
    for number, kept in enumerate(plans):
        bench.clear()
        assert len(bench.unplaced()) == len(bench.board.parts)
        assert not any(bench.ties)
        bench.lay_out(kept)
        assert bench.cost_terms() == prices[number]
