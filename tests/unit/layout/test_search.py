"""The search keeps its sums right, takes moves back whole, and gives the same plan wherever it runs."""

from __future__ import annotations

import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from lugwright.layout import anneal
from lugwright.layout.board import Board, make_board
from lugwright.layout.bodies import line_distance_mm
from lugwright.layout.charging_loop import charging_wires
from lugwright.layout.chassis import fixed_terminals
from lugwright.layout.hardware import hardware_for
from lugwright.layout.heater_chain import heater_chains
from lugwright.layout.joint_classes import joint_facts
from lugwright.layout.kernel.tables import NOW, TERMS, TIE
from lugwright.layout.lug_plan import decided_wires
from lugwright.layout.objective import (
    BUSY_FROM,
    BUSY_LUG,
    HOT_AIR_MM,
    HOT_NEAR_COLD,
    NEW_LUG,
    TIE_LUG,
    layer_cost,
)
from lugwright.layout.search import Bench

from .amplifier import amplifier

HERE = Path(__file__).parent


def problem(tubes: int = 1, **kind: bool) -> tuple[Board, list[tuple[int, int, int]]]:
    build, volts = amplifier(tubes, **kind)
    hardware = hardware_for(build)
    terminals = fixed_terminals(build, hardware)
    board = make_board(build, hardware, terminals, joint_facts(build, volts))
    return board, decided_wires(board, [*heater_chains(build, terminals), *charging_wires(build, terminals)])


def searched(seed: int, moves: int) -> Bench:
    bench = Bench(*problem())
    anneal.fill(bench, range(len(bench.board.parts)))
    anneal.search(bench, seed, moves)
    return bench


def added_up(bench: Bench) -> dict[str, float]:
    """Return the terms of the objective, added up anew from what stands on the bench."""
    board, seats = bench.board, bench.seats
    seated = [(p, s) for p, s in enumerate(seats) if s is not None]
    ends = np.zeros(len(board.terminals), dtype=int)
    for tree in bench.trees:
        for edge in tree.edges:
            ends[list(edge)] += 1
    for _, a, b in bench.chain:
        ends[[a, b]] += 1
    beside = sum(
        board.penalty[bench.joint_at[a], bench.joint_at[b]]
        for a, b in board.beside
        if bench.joint_at[a] >= 0 and bench.joint_at[b] >= 0
    )
    hot = sum(
        line_distance_mm(a.lying.body, b.lying.body) < a.lying.radius_mm + b.lying.radius_mm + HOT_AIR_MM
        for p, a in seated
        for q, b in seated
        if board.parts[p].is_hot and board.parts[q].fears_heat
    )
    ties = int(bench.tables.terminal[:, TIE].sum())
    used = int(((board.joint_at == -1) & (bench.joint_at >= 0)).sum())
    crowded = sum(max(0, int(bench.load[t] + ends[t]) - BUSY_FROM) for t in range(len(ends)))
    return {
        "wires": sum(
            board.distance[a, b] * board.weight[joint] for joint, tree in enumerate(bench.trees) for a, b in tree.edges
        ),
        "seats": sum(board.seats[p].cost[s.row] for p, s in seated),
        "layers": sum(layer_cost(s.layer) for _, s in seated),
        "neighbors": beside,
        "heat": HOT_NEAR_COLD * hot,
        "lugs": NEW_LUG * used + TIE_LUG * ties,
        "busy": BUSY_LUG * crowded,
    }


def test_the_price_kept_up_through_thousands_of_moves_is_the_price_added_up_anew():
    bench = searched(seed=3, moves=4000)
    kept, anew = bench.cost_terms(), added_up(bench)
    assert bench.unplaced() == bench.broken() == []
    # Distances are kept to 0.01 mm and prices to 0.0001: half of the last figure, times weight 4, for each wire.
    slack = 0.02 * len(bench.board.terminals)
    assert {name: kept[name] for name in anew} == pytest.approx(anew, abs=slack)


def test_a_plan_put_up_again_costs_the_same_to_the_last_figure():
    bench = searched(seed=3, moves=2000)
    again = Bench(bench.board, bench.chain)
    for joint, lugs in enumerate(bench.ties):
        for lug in lugs:
            again.add_tie(joint, lug)
    for part, seat in enumerate(bench.seats):
        assert seat is not None
        again.put(part, seat)
    for joint in range(len(bench.board.joints)):
        again.rewire(joint)
    assert again.tables.notes[NOW, :TERMS].tolist() == bench.tables.notes[NOW, :TERMS].tolist()
    assert again.trees == bench.trees


def test_no_two_bodies_of_a_layer_are_in_the_way_after_the_search():
    bench = searched(seed=3, moves=2000)
    for part, seat in enumerate(bench.seats):
        assert seat is not None
        met = {other.layer for _, other in bench.overlapped(part, seat.row, seat.lying)}
        assert bench.board.parts[part].is_bond or seat.layer not in met


def test_searching_longer_costs_no_more_and_another_seed_gives_another_plan():
    short, other = searched(seed=3, moves=64), searched(seed=4, moves=4000)
    long = searched(seed=3, moves=4000)
    assert long.cost() < short.cost()
    assert long.trees != other.trees


def test_a_builder_who_dislikes_layers_gets_fewer_bodies_over_others():
    board, chain = problem()
    usual, flat = Bench(board, chain), Bench(replace(board, dislikes={"layers": 8.0}), chain)
    for bench in (usual, flat):
        anneal.fill(bench, range(len(board.parts)))
        anneal.search(bench, 3, 4000)
    upper = [sum(1 for seat in bench.seats if seat is not None and seat.layer > 1) for bench in (usual, flat)]
    assert upper[1] < upper[0]
    assert flat.cost_terms()["layers"] == 8.0 * sum(layer_cost(s.layer) for s in flat.seats if s is not None)


WITHOUT_COMPILER = """
import sys
sys.path.insert(0, {folder!r})
from layout.test_search import searched
bench = searched(seed=3, moves=128)
from lugwright.layout.kernel.tables import NOW, TERMS
print(bench.tables.notes[NOW, :TERMS].tolist(), bench.tables.part[:, 7:9].tolist())
"""


def test_plain_python_gives_the_plan_that_machine_code_gives():
    bench = searched(seed=3, moves=128)
    wanted = f"{bench.tables.notes[NOW, :TERMS].tolist()} {bench.tables.part[:, 7:9].tolist()}"
    program = WITHOUT_COMPILER.format(folder=str(HERE.parent))
    run = subprocess.run(
        [sys.executable, "-c", program],
        env={**os.environ, "NUMBA_DISABLE_JIT": "1", "PYTHONPATH": os.pathsep.join(sys.path)},
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    assert run.stdout.strip() == wanted
