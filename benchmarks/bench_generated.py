"""Hundreds of drawn amplifiers, 20 to 250 parts and 1 to 12 tubes, each planned, checked, wired card by card.

    python benchmarks/bench_generated.py 500            # builds 0 to 499
    python benchmarks/bench_generated.py 40 --first 100
    python benchmarks/bench_generated.py 500 --keep rows.jsonl   # what is in the file is not planned again
    python benchmarks/bench_generated.py 0 --growth     # plan time against size alone

Every plan goes through the independent checker and the layout rules, every order of work is carried out card by card
and what it joins is held against the circuit. Printed: how many can be planned and what the others lack, findings by
rule, lugs used and spare, processor seconds by size and how they grow.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import math
import os
import sys
import tempfile
import time
from collections import Counter
from dataclasses import asdict, dataclass, field
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
sys.path.insert(0, str(Path(__file__).parents[1]))

from tests.generated.amplifiers import build_text, is_generous
from tests.generated.metal import HANGING
from tests.unit.workorder.obey import check_joints, check_solder

from lugwright.buildfile.build import Tube
from lugwright.errors import LugwrightError, NoIdlePoint, PlanError
from lugwright.layout.lug_plan import plan_lugs
from lugwright.layout.plan_file import plan_to_text
from lugwright.layout.results import Plan
from lugwright.workflow import open_build
from lugwright.workflow.opened import Opened

GROWTH_PARTS, GROWTH_SEEDS = (25, 50, 100, 150, 200, 250), (3, 15, 27)
PARTS_TO_A_TUBE = 20
BAD = ("danger", "fault")
SURE = 1.96  # standard errors to either side hold 95 of 100


@dataclass
class Row:
    """What became of one build."""

    seed: int
    parts: int
    hanging: int  # parts held by their leads
    tubes: int
    refused: str = ""
    broken: str = ""  # an order of work that does not build the circuit
    findings: list[tuple[str, str, str]] = field(default_factory=list)  # grade, rule, what
    spare: float = 0.0  # share of the lugs
    seconds: float = 0.0  # of the processor, for the plan alone; none without an idle point
    digest: str = ""  # of the plan file


def opened_text(text: str, folder: Path) -> Opened:
    """Return a build text opened from a file of its own."""
    path = folder / "drawn.toml"
    path.write_text(text, encoding="utf-8")
    opened = open_build(path)
    opened.plan_path.unlink(missing_ok=True)
    return opened


def planned(opened: Opened) -> Plan:
    """Return the plan, without the tries at changes of the build that a refusal is followed by."""
    plan = plan_lugs(opened.build, joint_volts=opened.joint_volts, hardware=opened.hardware)
    opened.plan_path.write_text(plan_to_text(plan), encoding="utf-8")  # everything else is worked out from it
    return plan


def one(seed: int, folder: Path) -> Row:
    """Plan one drawn build and return what came of it."""
    opened = opened_text(build_text(seed), folder)
    parts = opened.build.parts
    hanging, tubes = (sum(isinstance(part.values, kind) for part in parts) for kind in (HANGING, Tube))
    row = Row(seed, len(parts), hanging, tubes)
    try:
        _ = opened.joint_volts
    except NoIdlePoint as error:
        row.refused = f"no idle: {error.found}"
        return row
    started = time.process_time()
    try:
        plan = planned(opened)
    except PlanError as error:
        row.refused = f"{error.what}; {error.found}"
        return row
    finally:
        row.seconds = time.process_time() - started
    row.digest = hashlib.sha256(plan_to_text(plan).encode()).hexdigest()[:16]
    row.findings = [(f.grade.value, f.rule, f.what) for f in opened.plan_findings]
    row.spare = len(plan.spare_lugs) / sum(t.kind == "lug" for t in plan.terminals.values())
    row.broken = wired_by_the_cards(opened, plan)
    return row


def wired_by_the_cards(opened: Opened, plan: Plan) -> str:
    """Carry out the order of work; return what it builds wrongly."""
    try:
        check_joints(opened.build, plan, opened.work_order)
        check_solder(opened.build, plan, opened.work_order)
    except (AssertionError, LugwrightError, KeyError, ValueError) as error:
        return f"{type(error).__name__}: {error}"[:300]
    return ""


def kept_rows(keep: Path | None) -> dict[int, Row]:
    """Return the rows of a file of an earlier run."""
    if keep is None or not keep.exists():
        return {}
    rows = [Row(**json.loads(line)) for line in keep.read_text(encoding="utf-8").splitlines()]
    return {row.seed: row for row in rows}


def all_rows(seeds: range, keep: Path | None, folder: Path) -> list[Row]:
    """Return a row for each seed; those that are not kept are made, and kept as they come."""
    known = kept_rows(keep)
    for seed in seeds:
        if seed in known:
            continue
        known[seed] = one(seed, folder)
        print(f"{seed}: {known[seed].refused or 'planned'}", file=sys.stderr, flush=True)
        if keep is not None:
            with keep.open("a", encoding="utf-8") as file:
                file.write(json.dumps(asdict(known[seed])) + "\n")
    return [known[seed] for seed in seeds]


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
    print(f"plan time grows as parts to the {growth_words(points)}")


def growth_words(points: list[tuple[int, float]]) -> str:
    """Return the exponent of the power of size that fits seconds best, with its range of 95 in 100."""
    logs = [(math.log(n), math.log(s)) for n, s in points]
    x0, y0 = (sum(column) / len(logs) for column in zip(*logs, strict=True))
    wide = sum((x - x0) ** 2 for x, _ in logs)
    slope = sum((x - x0) * (y - y0) for x, y in logs) / wide
    left = sum((y - y0 - slope * (x - x0)) ** 2 for x, y in logs)
    off = SURE * math.sqrt(left / (len(logs) - 2) / wide)
    return f"{slope:.2f} ({slope - off:.2f} to {slope + off:.2f}), {len(points)} builds"


def report(rows: list[Row]) -> None:
    """Print what the rows say together."""
    for words, kind in (("a third more lugs than least", True), ("the least lugs and a tenth", False)):
        some = [row for row in rows if is_generous(row.seed) is kind]
        print(f"with {words}: {sum(not row.refused for row in some)} of {len(some)} planned")
    whole = [row for row in rows if not row.refused]
    broken = sum(bool(row.broken) for row in rows)
    print(f"{len(whole)} of {len(rows)} planned; {broken} orders of work build something else")
    for row in rows:
        faults = "; ".join(dict.fromkeys(f"{rule}: {what}" for grade, rule, what in row.findings if grade in BAD))
        for title, words in (("refused", row.refused), ("faults", faults), ("cards", row.broken)):
            if words:
                print(f"  {title} {row.seed} ({row.hanging} hanging): {words}")
    rules = Counter(name for row in rows for name in {f"{grade} {rule}" for grade, rule, _ in row.findings})
    for name, builds in sorted(rules.items()):
        print(f"  {name:40s} in {builds} builds")
    if whole:
        spare = [row.spare for row in whole]
        mean = sum(spare) / len(spare)
        print(f"spare lugs: {mean:.1%} of all on average, least {min(spare):.1%}, most {max(spare):.1%}")
    times(rows)


def times(rows: list[Row]) -> None:
    """Print seconds by size, and how they grow."""
    for low in range(0, 250, 50):
        seconds = [row.seconds for row in rows if row.seconds and low < row.parts <= low + 50]
        if seconds:
            mean = sum(seconds) / len(seconds)
            words = f"{mean:6.2f} s, most {max(seconds):.2f} s"
            print(f"{low + 1:4d} to {low + 50:3d} parts: {len(seconds):3d} builds, {words}")
    for title, some in (
        ("all", [row for row in rows if row.seconds]),
        ("planned", [row for row in rows if not row.refused]),
    ):
        if len({row.hanging for row in some}) > 2:
            print(f"{title}: seconds as hanging parts to the {growth_words([(r.hanging, r.seconds) for r in some])}")


def main() -> None:
    """Run what the command line asks for."""
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("count", type=int)
    asked.add_argument("--first", type=int, default=0)
    asked.add_argument("--keep", type=Path, help="file of rows: those in it are taken, new ones are added")
    asked.add_argument("--growth", action="store_true")
    wanted = asked.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        if wanted.count:
            seeds = range(wanted.first, wanted.first + wanted.count)
            report(all_rows(seeds, wanted.keep, Path(folder)))
        if wanted.growth:
            growth(Path(folder))


if __name__ == "__main__":
    main()
