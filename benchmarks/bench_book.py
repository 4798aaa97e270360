"""How long the build book takes, and how much memory: from nothing, after a change, and once more.

    python benchmarks/bench_book.py             # every example
    python benchmarks/bench_book.py godwit_40

cold      no plan yet, nothing kept
value     another plate resistor: plan and answers are there, of another circuit
metal     a socket stands a millimeter aside: the plan is searched from the one before, the charts stay
warm      the very same book once more
Wall and processor seconds of the command with all its processes, and the largest of its processes in memory. The
program's byte code and machine code are there before, from a run that is not counted.
"""

from __future__ import annotations

import os
import re
import resource
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from lugwright.kept_answers import CHOICE

EXAMPLES = Path(__file__).parents[1] / "examples"
COMMAND = "from lugwright.cli import main; main()"


def run(build_file: Path, kept: Path) -> str:
    """Make the book of a build and return what it took, as a cell of the table."""
    arguments = [sys.executable, "-c", COMMAND, "book", str(build_file), "--out", str(build_file.parent / "book")]
    before, started = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
    subprocess.run(arguments, check=True, capture_output=True, env={**os.environ, CHOICE: str(kept)})
    wall, after = time.perf_counter() - started, resource.getrusage(resource.RUSAGE_CHILDREN)
    cpu = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return f"{wall:5.1f} s {cpu:5.1f} s"


def with_another_value(text: str) -> str:
    """Return a build file whose first 100k or 220k is another."""
    changed, count = re.subn(r'"(100k|220k)"', '"91k"', text, count=1)
    if not count:
        raise ValueError("no 100k or 220k to change")
    return changed


def with_a_socket_aside(text: str) -> str:
    """Return a build file whose first placed part stands a millimeter to the right."""
    changed, count = re.subn(r"at = \[(\d+)", lambda found: f"at = [{int(found[1]) + 1}", text, count=1)
    if not count:
        raise ValueError("no part with a place")
    return changed


def main() -> None:
    """Print a line for each example."""
    names = sys.argv[1:] or sorted(path.stem for path in EXAMPLES.glob("*.toml"))
    print(f"{'wall and processor':15} {'cold':>15} {'value':>15} {'metal':>15} {'warm':>15}")
    for name in names:
        with tempfile.TemporaryDirectory() as folder:
            build_file = Path(shutil.copy(EXAMPLES / f"{name}.toml", folder))
            kept, text = Path(folder) / "kept", build_file.read_text(encoding="utf-8")
            run(build_file, Path(folder) / "uncounted")
            build_file.with_suffix(".plan.json").unlink()
            cells = [run(build_file, kept)]
            for changed in (with_another_value, with_a_socket_aside):
                build_file.write_text(changed(text), encoding="utf-8")
                cells.append(run(build_file, kept))
                build_file.write_text(text, encoding="utf-8")
                run(build_file, kept)
            cells.append(run(build_file, kept))
        print(f"{name:18} " + " ".join(f"{cell:>15}" for cell in cells), flush=True)
    print(f"largest process {resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024:.0f} MB")


if __name__ == "__main__":
    main()
