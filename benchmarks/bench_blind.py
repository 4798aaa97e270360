"""How well tracing finds drawn faults in drawn amplifiers, blind.

Run: python benchmarks/bench_blind.py [BUILD] [--singles N] [--good N] [--pairs N] [--seed N] [--keep ROWS]. Every case
is an amplifier with its parts, tubes and mains drawn within what is allowed, its faults drawn as often as builders make
them, and a meter that is off by half a percent to one and rounds to its digits. The truth is computed whole, case by
case. A builder reads the charts in order until a reading is wrong; tracing gets that one and the two before it and
chooses the others, eight in all. Faults that no single reading shows are not drawn; their share is printed.

Every case is drawn from its own number, so that a run can be cut off and taken up again: what stands in ROWS is not
traced again, and what is new is added there.
"""

from __future__ import annotations

import argparse
import json
import pickle
import sys
import time
from collections import defaultdict
from dataclasses import asdict, dataclass
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))

from tests.blind import Result, blind_bench, calibration_error, drawn_faults, run_case, visible

from lugwright.bringup.trace.tracer import Tracer
from lugwright.workflow import open_build

EXAMPLES = Path(__file__).parents[1] / "examples"
TITLES = ("good", "one fault", "two faults")


@dataclass(frozen=True)
class Row:
    """What tracing made of one case."""

    build: str
    faults: int  # how many at once
    seed: int
    number: int
    truth: list[str]
    code: str
    place: int  # of the group that holds one of the faults, from 0; -1: none does
    chance: float  # of the first group
    group: int  # faults in it
    suspects: list[list[object]]  # chance and first faults of the likeliest groups
    healthy: float
    none_of_these: float
    alarm: bool
    readings: list[list[object]]  # step, red, black, quantity, value
    refused: list[str]
    seconds: float  # of processor

    @property
    def key(self) -> tuple[str, int, int, int]:
        """Return what a case is told by."""
        return self.build, self.faults, self.seed, self.number


def prepared(name: str) -> Tracer:
    """Return the fault list of an example, ready."""
    opened = open_build(EXAMPLES / f"{name}.toml")
    return blind_bench(opened.build, opened.circuit, opened.plan, opened.solved)


def case(tracer: Tracer, faults: int, seed: int, number: int) -> Result:
    """Return what tracing makes of the case with that number."""
    rng = np.random.default_rng((seed, faults, number))
    return run_case(tracer, drawn_faults(tracer, faults, rng), rng)[1]


def row(tracer: Tracer, build: str, faults: int, seed: int, number: int) -> Row:
    """Return the row of the case with that number."""
    started = time.process_time()
    result = case(tracer, faults, seed, number)
    first = result.suspects[0] if result.suspects else None
    return Row(
        build, faults, seed, number, list(result.truth), result.code, result.place(result.truth),
        first.chance if first else 0.0, len(first.faults) if first else 0,
        [[round(s.chance, 4), list(s.faults[:3])] for s in result.suspects[:4]],
        result.healthy, result.none_of_these, result.alarm,
        [[t.probe.step, t.probe.red, t.probe.black, t.probe.quantity, t.value] for t in result.taken],
        list(result.refused), round(time.process_time() - started, 2),
    )  # fmt: skip


def kept_rows(keep: Path | None) -> dict[tuple[str, int, int, int], Row]:
    """Return the rows of a file of an earlier run."""
    if keep is None or not keep.exists():
        return {}
    rows = [Row(**json.loads(line)) for line in keep.read_text(encoding="utf-8").splitlines()]
    return {kept.key: kept for kept in rows}


def rows_of(tracer: Tracer, build: str, faults: int, seed: int, count: int, keep: Path | None) -> list[Row]:
    """Return a row for each case; those that are not kept are made, and kept as they come."""
    known = kept_rows(keep)
    rows = []
    for number in range(count):
        made = known.get((build, faults, seed, number)) or row(tracer, build, faults, seed, number)
        rows.append(made)
        if keep is not None and made.key not in known:
            with keep.open("a", encoding="utf-8") as file:
                file.write(json.dumps(asdict(made)) + "\n")
    return rows


def report(name: str, tracer: Tracer, counts: tuple[int, int, int], seed: int, keep: Path | None) -> None:
    """Print what was found; ``counts`` of good builds, of single faults, of pairs."""
    seen = visible(tracer)[1:]
    share = float(np.sum(tracer.odds[seen]) / np.sum(tracer.odds))
    print(f"{name}: {len(seen)} hypotheses; a reading shows {np.mean(seen):.1%} of them, ", end="")
    print(f"{share:.1%} by how often they are made", flush=True)
    for faults, told in ((1, singles_words), (0, good_words), (2, pairs_words)):
        if counts[faults]:
            rows = rows_of(tracer, name, faults, seed, counts[faults], keep)
            print(f"  {TITLES[faults]}, {len(rows)} cases: {told(rows)}", flush=True)


def singles_words(rows: list[Row]) -> str:
    """Return how often the fault was found, what was missed, and how far chances can be trusted."""
    places = np.array([r.place for r in rows])
    among = np.mean((places >= 0) & (places < 3))
    by_code: dict[str, list[bool]] = defaultdict(list)
    for r in rows:
        by_code[r.code].append(r.place == 0)
    missed = (f"{code} {hits.count(False)}/{len(hits)}" for code, hits in sorted(by_code.items()) if not all(hits))
    error, bins = calibration_error([(r.chance, r.place == 0) for r in rows if r.group])
    said = ", ".join(f"{p:.2f} said, {right:.2f} right ({n})" for p, right, n in bins)
    middle = np.median([r.group for r in rows if r.group])
    return (
        f"first {np.mean(places == 0):.1%}, among three {among:.1%}, faults in the first group {middle:.0f} (median)\n"
        f"    missed by kind: {', '.join(missed) or 'none'}\n    calibration {error:.3f}: {said}"
    )


def good_words(rows: list[Row]) -> str:
    """Return how often a good build was held to be faulty."""
    return f"false alarms {sum(r.alarm for r in rows)}"


def pairs_words(rows: list[Row]) -> str:
    """Return how often one of two faults was found first."""
    return f"one of them first {np.mean([r.place == 0 for r in rows]):.1%}"


class Blind:
    """The smallest example, as the nightly run follows it."""

    timeout = 1800.0

    def setup_cache(self) -> bytes:
        """Return the prepared fault list."""
        return pickle.dumps(prepared("dunlin_5"))

    def setup(self, kept: bytes) -> None:
        """Take it up."""
        self.tracer: Tracer = pickle.loads(kept)

    def track_first_of_forty(self, kept: bytes) -> float:
        """Return the share of single faults that are first."""
        return float(np.mean([r.place(r.truth) == 0 for r in (case(self.tracer, 1, 3, k) for k in range(40))]))

    def track_false_alarms_of_forty(self, kept: bytes) -> int:
        """Return how many good builds raise an alarm."""
        return sum(case(self.tracer, 0, 4, k).alarm for k in range(40))


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("build", nargs="?", default="dunlin_5", choices=sorted(p.stem for p in EXAMPLES.glob("*.toml")))
    for name, count in (("singles", 300), ("good", 300), ("pairs", 200), ("seed", 1)):
        parser.add_argument(f"--{name}", type=int, default=count)
    parser.add_argument("--keep", type=Path, help="file of rows: those in it are taken, new ones are added")
    said = parser.parse_args()
    report(said.build, prepared(said.build), (said.good, said.singles, said.pairs), said.seed, said.keep)
