"""Hundreds of drawn amplifiers, 20 to 250 parts and 1 to 12 tubes, each planned, checked, wired card by card.

    python benchmarks/bench_generated.py 500            # builds 0 to 499
    python benchmarks/bench_generated.py 40 --first 100
    python benchmarks/bench_generated.py 0 --growth     # plan time against size alone

Every plan goes through the independent checker and the layout rules, every order of work is carried out card by card
and what it joins is held against the circuit. Printed: how many can be planned and what the others lack, findings by
rule, lugs used and spare, processor seconds by size.
"""

from __future__ import annotations

import argparse
import math
import os
import sys
import tempfile
import time
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
sys.path.insert(0, str(Path(__file__).parents[1]))

from tests.generated.amplifiers import build_text, is_generous
from tests.unit.workorder.obey import check_joints, check_solder

from lugwright.errors import LugwrightError, NoIdlePoint, PlanError
from lugwright.findings import Grade
from lugwright.layout.lug_plan import plan_lugs
from lugwright.layout.results import Plan
from lugwright.workflow import open_build
from lugwright.workflow.opened import Opened

GROWTH_PARTS, GROWTH_SEEDS = (25, 50, 100, 150, 200, 250), (3, 15, 27)
PARTS_TO_A_TUBE = 20


@dataclass
class Tally:
    """What became of the builds so far."""

    planned: int = 0
    refused: dict[int, str] = field(default_factory=dict)
    broken: dict[int, str] = field(default_factory=dict)  # an order of work that does not build the circuit
    rules: Counter[str] = field(default_factory=Counter)
    worst: dict[int, str] = field(default_factory=dict)  # faults and dangers of a finished plan
    spare: list[float] = field(default_factory=list)  # share of the lugs
    seconds: list[tuple[int, int, float]] = field(default_factory=list)  # seed, parts, plan


def opened_text(text: str, folder: Path) -> Opened:
    """Return a build text opened from a file of its own."""
    path = folder / "drawn.toml"
    path.write_text(text, encoding="utf-8")
    return open_build(path)


def planned(opened: Opened) -> Plan:
    """Return the plan, without the tries at changes of the build that a refusal is followed by."""
    plan = plan_lugs(opened.build, joint_volts=opened.joint_volts, hardware=opened.hardware)
    vars(opened)["plan"] = plan  # so that everything else is worked out from it
    return plan


def one(seed: int, folder: Path, tally: Tally) -> None:
    """Plan one drawn build and enter what came of it."""
    opened = opened_text(build_text(seed), folder)
    try:
        _ = opened.joint_volts
    except NoIdlePoint as error:
        tally.refused[seed] = f"no idle: {error.found}"
        return
    started = time.process_time()
    try:
        plan = planned(opened)
    except PlanError as error:
        tally.refused[seed] = f"{error.what}; {error.found}"
        return
    finally:
        tally.seconds.append((seed, len(opened.build.parts), time.process_time() - started))
    tally.planned += 1
    tally.rules.update({f"{f.grade.value} {f.rule}" for f in opened.plan_findings})
    bad = [f for f in opened.plan_findings if f.grade in (Grade.DANGER, Grade.FAULT)]
    if bad:
        tally.worst[seed] = "; ".join(dict.fromkeys(f"{f.rule}: {f.what}" for f in bad))
    tally.spare.append(len(plan.spare_lugs) / sum(t.kind == "lug" for t in plan.terminals.values()))
    wired_by_the_cards(seed, opened, plan, tally)


def wired_by_the_cards(seed: int, opened: Opened, plan: Plan, tally: Tally) -> None:
    """Carry out the order of work; note what it builds wrongly."""
    try:
        check_joints(opened.build, plan, opened.work_order)
        check_solder(opened.build, plan, opened.work_order)
    except (AssertionError, LugwrightError, KeyError, ValueError) as error:
        tally.broken[seed] = f"{type(error).__name__}: {error}"[:300]


def growth(folder: Path) -> None:
    """Print plan time against size and the exponent that fits it."""
    points = []
    for parts in GROWTH_PARTS:
        tubes = max(1, min(12, round((parts - 12) / PARTS_TO_A_TUBE)))
        for seed in GROWTH_SEEDS:
            opened = opened_text(build_text(seed, tubes=tubes, parts=parts), folder)
            _ = opened.joint_volts
            started = time.process_time()
            try:
                planned(opened)
                words = "planned"
            except PlanError as error:
                words = error.what
            points.append((len(opened.build.parts), time.process_time() - started))
            print(f"{points[-1][0]:4d} parts  {points[-1][1]:7.2f} s  {words}", flush=True)
    exponent = slope([(math.log(n), math.log(s)) for n, s in points])
    print(f"plan time grows as parts to the {exponent:.2f}")


def slope(points: list[tuple[float, float]]) -> float:
    """Return the slope of the straight line nearest to some points."""
    x0, y0 = (sum(column) / len(points) for column in zip(*points, strict=True))
    return sum((x - x0) * (y - y0) for x, y in points) / sum((x - x0) ** 2 for x, _ in points)


def report(tally: Tally, count: int) -> None:
    """Print the whole tally."""
    seeds = [seed for seed, _, _ in tally.seconds]
    for words, kind in (("a third more lugs than least", True), ("the least lugs and a tenth", False)):
        some = [seed for seed in seeds if is_generous(seed) is kind]
        print(f"with {words}: {sum(seed not in tally.refused for seed in some)} of {len(some)} planned")
    print(f"{tally.planned} of {count} planned; {len(tally.broken)} orders of work build something else")
    for title, rows in (("refused", tally.refused), ("faults", tally.worst), ("cards", tally.broken)):
        for seed, words in sorted(rows.items()):
            print(f"  {title} {seed}: {words}")
    for rule, builds in sorted(tally.rules.items()):
        print(f"  {rule:40s} in {builds} builds")
    if tally.spare:
        mean = sum(tally.spare) / len(tally.spare)
        print(f"spare lugs: {mean:.1%} of all on average, least {min(tally.spare):.1%}, most {max(tally.spare):.1%}")
    for low in range(0, 250, 50):
        seconds = [s for _, parts, s in tally.seconds if low < parts <= low + 50]
        if seconds:
            mean = sum(seconds) / len(seconds)
            times = f"{mean:6.2f} s, most {max(seconds):.2f} s"
            print(f"{low + 1:4d} to {low + 50:3d} parts: {len(seconds):3d} builds, {times}")


def main() -> None:
    """Run what the command line asks for."""
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("count", type=int)
    asked.add_argument("--first", type=int, default=0)
    asked.add_argument("--growth", action="store_true")
    wanted = asked.parse_args()
    tally = Tally()
    with tempfile.TemporaryDirectory() as folder:
        for seed in range(wanted.first, wanted.first + wanted.count):
            one(seed, Path(folder), tally)
            print(f"{seed}: {tally.planned} planned, {len(tally.refused)} refused", file=sys.stderr, flush=True)
        if wanted.count:
            report(tally, wanted.count)
        if wanted.growth:
            growth(Path(folder))


if __name__ == "__main__":
    main()
