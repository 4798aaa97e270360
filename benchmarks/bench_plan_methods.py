"""The planner's search beside other methods, on the same drawn problems, in one run.

Run: python benchmarks/bench_plan_methods.py [parts ...]. The problems (`drawn_boards.py`) hold that part of the
planner's task that all methods can state exactly: one rung for each part, none twice, some parts kept off some rows,
price = weighted length of wires along x and y. All answers are priced by one function, `Instance.price`.

- ours: the search as the planner runs it.
- longer: the same, one search of four times the moves; shows what the usual one leaves on the table.
- milp: the mixed-integer program by scipy (HiGHS), 12 parts only, with its bound.
- cp-sat: OR-Tools with one worker, when it is installed, with its bound.
- qap: scipy's quadratic_assignment (FAQ, pins held fixed). It cannot be told of rows a part is kept off: parts that
  end there are left over, and the price is of a plan that may not be built.

Not here: trees of wires, layers, coupling, heat, insulation. No other method was given them, so nothing is said about
how near to the best whole plans are; `bench_plan.py` compares those with the best known only. "over bound" is against
the highest proven bound, "over best" against the cheapest plan that may be built.
"""

from __future__ import annotations

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import importlib.util
import math
import sys
import time
from dataclasses import dataclass

import numpy as np
from bench_plan import slope
from drawn_boards import Instance, board_of, draw
from scipy.optimize import Bounds, LinearConstraint, milp, quadratic_assignment
from scipy.sparse import csr_array

from lugwright.layout.anneal import fill, search, starts, whole_plans
from lugwright.layout.search import Bench

PARTS = (12, 25, 50, 112, 256)
SEED = 1
MILP_PARTS, MILP_S = 12, 40.0
CP_SAT_S = 20.0
LONGER = 4


@dataclass(frozen=True)
class Answer:
    """What a method found: the rung of each part (None: left over), seconds of the clock, bound if it proves one."""

    method: str
    at: list[int | None]
    seconds: float
    bound: float = 0.0


def ours(drawn: Instance, *, longer: bool = False) -> Answer:
    """Return the plan of the planner's search, as planned or with more moves."""
    bench = Bench(board_of(drawn), ())
    start = time.perf_counter()
    fill(bench, range(len(drawn.may)))
    if longer:
        search(bench, SEED, LONGER * sum(moves for _, moves in starts(bench, SEED)))
    else:
        whole_plans(bench)
    seconds = time.perf_counter() - start
    if bench.broken():
        raise RuntimeError("a joint is left in pieces")
    return Answer(
        "longer" if longer else "ours", [None if s is None else s.lying.ends[0] // 2 for s in bench.seats], seconds
    )


def by_milp(drawn: Instance) -> Answer:
    """Return the plan of the mixed-integer program: a choice for each part and rung, a length for each wire."""
    choice = {(p, k): i for i, (p, k) in enumerate((p, k) for p, may in enumerate(drawn.may) for k in may)}
    rows: list[tuple[dict[int, float], float, float]] = []
    for p, may in enumerate(drawn.may):
        rows.append(({choice[p, k]: 1.0 for k in may}, 1.0, 1.0))
    for k in range(len(drawn.rungs)):
        rows.append(({i: 1.0 for (_, rung), i in choice.items() if rung == k}, 0.0, 1.0))
    price = [0.0] * len(choice)
    for p, side, x, y, weight in drawn.pinned:
        for k in drawn.may[p]:
            at = drawn.lug(k, side)
            price[choice[p, k]] += weight * (abs(at[0] - x) + abs(at[1] - y))
    for p, q, side, weight in drawn.joined:
        for axis in (0, 1):
            apart = {choice[p, k]: drawn.lug(k, side)[axis] for k in drawn.may[p]}
            apart |= {choice[q, k]: -drawn.lug(k, side)[axis] for k in drawn.may[q]}
            for sign in (1.0, -1.0):
                rows.append(({len(price): 1.0} | {i: -sign * v for i, v in apart.items()}, 0.0, np.inf))
            price.append(weight)
    whole = np.arange(len(price)) < len(choice)
    at = [(r, i, v) for r, (line, _, _) in enumerate(rows) for i, v in line.items()]
    table = csr_array(([v for *_, v in at], ([r for r, *_ in at], [i for _, i, _ in at])), (len(rows), len(price)))
    start = time.perf_counter()
    found = milp(
        price, integrality=whole.astype(int), bounds=Bounds(0.0, np.where(whole, 1.0, np.inf)),
        constraints=LinearConstraint(table, [low for _, low, _ in rows], [high for *_, high in rows]),
        options={"time_limit": MILP_S},
    )  # fmt: skip
    seconds, plan = time.perf_counter() - start, [None] * len(drawn.may)
    for (p, k), i in choice.items() if found.x is not None else ():
        if found.x[i] > 0.5:
            plan[p] = k
    return Answer("milp", plan, seconds, found.mip_dual_bound or 0.0)


def by_cp_sat(drawn: Instance) -> Answer:
    """Return the plan of OR-Tools' CP-SAT; lengths in tenths of a millimeter."""
    from ortools.sat.python import cp_model

    model, far = cp_model.CpModel(), 100000
    rung = [model.new_int_var_from_domain(cp_model.Domain.from_values(may), "") for may in drawn.may]
    model.add_all_different(rung)

    def place(p: int, side: int, axis: int) -> object:
        value = model.new_int_var(-far, far, "")
        model.add_element(rung[p], [round(10 * drawn.lug(k, side)[axis]) for k in range(len(drawn.rungs))], value)
        return value

    prices = []
    ends = [(w, [(place(p, s, a), place(q, s, a)) for a in (0, 1)]) for p, q, s, w in drawn.joined]
    ends += [(w, [(place(p, s, 0), round(10 * x)), (place(p, s, 1), round(10 * y))]) for p, s, x, y, w in drawn.pinned]
    for weight, axes in ends:
        for one, two in axes:
            apart = model.new_int_var(0, far, "")
            model.add_abs_equality(apart, one - two)
            prices.append(int(weight) * apart)
    model.minimize(sum(prices))
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds, solver.parameters.num_workers = CP_SAT_S, 1
    start = time.perf_counter()
    status = solver.solve(model)
    seconds = time.perf_counter() - start
    known = status in (cp_model.OPTIMAL, cp_model.FEASIBLE)
    plan = [solver.value(k) if known else None for k in rung]
    return Answer("cp-sat", plan, seconds, solver.best_objective_bound / 10.0)


def by_qap(drawn: Instance) -> Answer:
    """Return the answer of scipy's quadratic assignment; rungs without a part hold parts without wires."""
    parts, rungs, pins = len(drawn.may), len(drawn.rungs), len(drawn.pinned)
    flow, apart = np.zeros((rungs + pins, rungs + pins)), np.zeros((rungs + pins, rungs + pins))
    for p, q, _, weight in drawn.joined:
        flow[p, q] += weight
        flow[q, p] += weight
    xy = np.array([rung[:2] for rung in drawn.rungs])
    apart[:rungs, :rungs] = np.abs(xy[:, None] - xy[None]).sum(axis=2)
    for k, (p, side, x, y, weight) in enumerate(drawn.pinned, start=rungs):
        flow[p, k] = flow[k, p] = weight
        lugs = np.array([drawn.lug(rung, side) for rung in range(rungs)])
        apart[:rungs, k] = apart[k, :rungs] = np.abs(lugs - (x, y)).sum(axis=1)
    held = np.arange(rungs, rungs + pins)
    start = time.perf_counter()
    found = quadratic_assignment(flow, apart, options={"partial_match": np.stack([held, held], axis=1), "maxiter": 100})
    seconds = time.perf_counter() - start
    return Answer("qap", [int(k) for k in found.col_ind[:parts]], seconds)


def report(drawn: Instance, answers: list[Answer]) -> None:
    """Print a line for each method."""
    bound = max((a.bound for a in answers), default=0.0)
    lines = []
    for answer in answers:
        over = sum(k is None or k not in may for k, may in zip(answer.at, drawn.may, strict=True))
        there = [k for k in answer.at if k is not None]
        if len(set(there)) < len(there):
            raise RuntimeError(f"{answer.method}: two parts on one rung")
        lines.append((answer, over, drawn.price(there) if len(there) == len(answer.at) else math.nan))
    best = min(price for _, over, price in lines if not over)
    for answer, over, price in lines:
        to_bound = f"{100 * (price / bound - 1):9.1f}%" if bound > 0 else "         -"
        shown = f"{answer.bound:10.1f}" if answer.bound else "         -"
        print(f"{len(drawn.may):5}  {answer.method:7} {answer.seconds:8.2f} {price:10.1f} {shown} {to_bound} "
              f"{100 * (price / best - 1):8.1f}% {over:6}", flush=True)  # fmt: skip


def main() -> None:
    """Print every method on every problem, and how our time grows."""
    with_cp_sat = importlib.util.find_spec("ortools") is not None
    if not with_cp_sat:
        print("cp-sat: OR-Tools is not installed, left out")
    warm = Bench(board_of(draw(12, SEED)), ())
    fill(warm, range(12))
    search(warm, SEED, 64)  # whatever has to be compiled is compiled here
    print("parts  method   clock s      price      bound over bound over best  left over")
    points = []
    for parts in [int(word) for word in sys.argv[1:]] or PARTS:
        drawn = draw(parts, SEED)
        answers = [ours(drawn), ours(drawn, longer=True), by_qap(drawn)]
        answers += [by_milp(drawn)] if parts <= MILP_PARTS else []
        answers += [by_cp_sat(drawn)] if with_cp_sat else []
        points.append((math.log(parts), math.log(answers[0].seconds)))
        report(drawn, answers)
    if len(points) > 1:
        print(f"our seconds grow with parts to the power of {slope(points):.2f}")


if __name__ == "__main__":
    main()
