"""What follows from a circuit alone can be worked out in a process that knows nothing else."""

from __future__ import annotations

import subprocess
import sys

READING_AND_DRAWING = ("pydantic", "lugwright.buildfile.read", "lugwright.layout.lug_plan", "lugwright.documents")


def test_who_computes_beside_loads_nothing_that_reads_plans_or_draws() -> None:
    asked = f"import sys, lugwright.workflow.computed; print([m for m in {READING_AND_DRAWING!r} if m in sys.modules])"
    told = subprocess.run([sys.executable, "-c", asked], capture_output=True, text=True, check=True)
    assert told.stdout.strip() == "[]"
