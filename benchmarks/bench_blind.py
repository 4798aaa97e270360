"""How well tracing finds drawn faults in drawn amplifiers, blind.

Run: python benchmarks/bench_blind.py [BUILD] [--singles N] [--good N] [--pairs N] [--seed N]. Every case is an
amplifier with its parts, tubes and mains drawn within what is allowed, its faults drawn as often as builders make them,
and a meter that is off by half a percent to one and rounds to its digits. The truth is computed whole, case by case. A
builder reads the charts in order until a reading is wrong; tracing gets that one and the two before it and chooses the
others, eight in all. Faults that no single reading shows are not drawn; their share is printed.
"""

from __future__ import annotations

import argparse
import pickle
import sys
from collections import defaultdict
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))

from tests.blind import Result, blind_bench, calibration_error, drawn_faults, run_case, visible

from lugwright.bringup.trace.tracer import Tracer
from lugwright.workflow import open_build

EXAMPLES = Path(__file__).parents[1] / "examples"


def prepared(name: str) -> Tracer:
    """Return the fault list of an example, ready."""
    opened = open_build(EXAMPLES / f"{name}.toml")
    return blind_bench(opened.build, opened.circuit, opened.plan, opened.solved)


def results(tracer: Tracer, faults: int, count: int, seed: int) -> list[Result]:
    """Return what tracing makes of some cases with that many faults."""
    rng = np.random.default_rng(seed)
    return [run_case(tracer, drawn_faults(tracer, faults, rng), rng)[1] for _ in range(count)]


def report(name: str, tracer: Tracer, *, singles: int, good: int, pairs: int, seed: int) -> None:
    """Print what was found."""
    seen = visible(tracer)[1:]
    share = float(np.sum(tracer.odds[seen]) / np.sum(tracer.odds))
    print(f"{name}: {len(seen)} hypotheses; a reading shows {np.mean(seen):.1%} of them, ", end="")
    print(f"{share:.1%} by how often they are made")
    one = results(tracer, 1, singles, seed)
    places = np.array([r.place(r.truth) for r in one])
    print(f"  one fault, {len(one)} cases: first {np.mean(places == 0):.1%}, ", end="")
    print(f"among three {np.mean((places >= 0) & (places < 3)):.1%}, ", end="")
    print(f"faults in the first group {np.median([len(r.suspects[0].faults) for r in one if r.suspects]):.0f} (median)")
    by_code: dict[str, list[bool]] = defaultdict(list)
    for result, place in zip(one, places, strict=True):
        by_code[result.code].append(place == 0)
    missed = (f"{code} {hits.count(False)}/{len(hits)}" for code, hits in sorted(by_code.items()) if not all(hits))
    print(f"  missed by kind: {', '.join(missed)}")
    error, rows = calibration_error([(r.suspects[0].chance, r.place(r.truth) == 0) for r in one if r.suspects])
    print(f"  calibration {error:.3f}: " + ", ".join(f"{p:.2f} said, {r:.2f} right ({n})" for p, r, n in rows))
    fine = results(tracer, 0, good, seed + 1)
    print(f"  good builds, {len(fine)}: false alarms {sum(r.alarm for r in fine)}")
    two = results(tracer, 2, pairs, seed + 2)
    print(f"  two faults, {len(two)} cases: one of them first {np.mean([r.place(r.truth) == 0 for r in two]):.1%}")


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
        return float(np.mean([r.place(r.truth) == 0 for r in results(self.tracer, 1, 40, seed=3)]))

    def track_false_alarms_of_forty(self, kept: bytes) -> int:
        """Return how many good builds raise an alarm."""
        return sum(r.alarm for r in results(self.tracer, 0, 40, seed=4))


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("build", nargs="?", default="dunlin_5", choices=sorted(p.stem for p in EXAMPLES.glob("*.toml")))
    for name, count in (("singles", 300), ("good", 300), ("pairs", 200), ("seed", 1)):
        parser.add_argument(f"--{name}", type=int, default=count)
    said = parser.parse_args()
    report(said.build, prepared(said.build), singles=said.singles, good=said.good, pairs=said.pairs, seed=said.seed)
