"""How long a log of a hundred thousand readings takes: one append, everything read back, what predictions hold.

Run: python benchmarks/bench_log.py. Figures are CPU milliseconds.
"""

from __future__ import annotations

import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from lugwright.log.state import PREDICTED, played
from lugwright.log.store import Draft, Log

READINGS, BLOCK = 100_000, 10_000


def reading(number: int) -> Draft:
    """Return one reading to be written."""
    body: dict[str, object] = {"step": "all tubes", "red": "B+1", "quantity": "V dc", "unit": "V"}
    return "reading", "B+1 to ground", {**body, "value": number / 1000.0}


def spent_ms(work: Callable[[], object]) -> float:
    """Return the CPU time of one run. [ms]"""
    start = time.process_time()
    work()
    return 1e3 * (time.process_time() - start)


def main() -> None:
    """Print what each takes."""
    with tempfile.TemporaryDirectory() as folder:
        log = Log(Path(folder) / "amp.log.sqlite")
        for first in range(0, READINGS, BLOCK):
            log.append("1", [reading(number) for number in range(first, first + BLOCK)])
        print(f"{READINGS} readings, {log.path.stat().st_size / 1e6:.0f} MB")
        print(f"one more         {spent_ms(lambda: log.append('1', [reading(0)])):8.0f} ms")
        print(f"all of them      {spent_ms(lambda: played(log.entries(), '1')):8.0f} ms")
        print(f"for predictions  {spent_ms(lambda: played(log.entries(PREDICTED), '1')):8.0f} ms")
        print(f"copies           {spent_ms(log.copies):8.0f} ms")


if __name__ == "__main__":
    main()
