"""Where the usual search leaves something over, room comes first: everything has a place, or all is as it was."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from lugwright.layout import anneal, room
from lugwright.layout.kernel.tables import LEFT_OVER, LEFT_OVER_PRICE, NOW, PER_MM
from lugwright.layout.objective import BROKEN_LIMIT, UNPLACED
from lugwright.layout.search import Bench

from .test_search import problem


@pytest.fixture(autouse=True)
def _few_moves(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(room, "starts", lambda bench, seed: [(seed, 640), (seed + 1000, 640)])


def test_everything_finds_a_place_and_the_cheapest_plan_stands() -> None:
    bench = Bench(*problem())
    plans = room.plans_with_room(bench)
    assert len(plans) == 2
    prices = []
    for plan in reversed(plans):
        bench.lay_out(plan)
        assert not bench.unplaced()
        assert not bench.broken()
        prices.append(bench.cost())
    assert prices == sorted(prices, reverse=True)
    assert (bench.kept() == plans[0]).all()


def test_the_same_build_gets_the_same_plans() -> None:
    one, two = ([plan.tolist() for plan in room.plans_with_room(Bench(*problem()))] for _ in range(2))
    assert one == two


def test_prices_are_the_usual_ones_again() -> None:
    bench = Bench(*problem())
    room.plans_with_room(bench)
    assert (bench.tables.part[:, LEFT_OVER] == LEFT_OVER_PRICE).all()
    bench.clear()
    terms = bench.cost_terms()
    assert terms["unplaced"] == UNPLACED * len(bench.board.parts)


def test_where_no_room_is_found_all_stays_as_it_was(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(room, "MOVES_TO_DOUBLE", (1000,))
    monkeypatch.setattr(room, "usual_moves", lambda bench: 640)
    board, chain = problem()
    part = next(p for p in board.parts if not p.is_bond)
    nowhere = frozenset((joint, t) for joint in part.joints for t in np.flatnonzero(board.joint_at < 0).tolist())
    bench = Bench(replace(board, barred=nowhere), chain)
    anneal.fill(bench, range(len(board.parts)))
    before, cost = bench.kept(), bench.cost()
    assert room.plans_with_room(bench) == []
    assert (bench.kept() == before).all()
    assert bench.cost() == pytest.approx(cost)
    assert bench.unplaced()


def test_what_is_left_over_can_be_made_dearer_and_costs_the_same_afterwards() -> None:
    bench = Bench(*problem())
    anneal.fill(bench, range(len(bench.board.parts)))
    bench.take(3)
    before = bench.tables.notes[NOW].copy()
    assert bench.price_left_over(50) == 50 * UNPLACED * PER_MM
    pieces = sum(tree.missing for tree in bench.trees)
    assert bench.cost_terms()["unplaced"] == 50 * UNPLACED * len(bench.unplaced())
    assert bench.cost_terms()["broken joints"] == 50 * BROKEN_LIMIT * pieces
    bench.price_left_over(1)
    assert (bench.tables.notes[NOW] == before).all()


def test_a_copy_of_the_plan_brings_it_back() -> None:
    bench = Bench(*problem())
    anneal.fill(bench, range(len(bench.board.parts)))
    copy, cost = bench.kept(), bench.cost()
    bench.clear()
    bench.lay_out(copy)
    assert (bench.kept() == copy).all()
    assert bench.cost() == cost
