"""The server itself computes nothing, so it loads nothing that does: it is there at once, and small."""

from __future__ import annotations

import subprocess
import sys

SAY = "import sys, lugwright.web.serve; print(*sorted(name for name in sys.modules if name.startswith({starts!r})))"


def test_the_server_loads_no_solver_no_layout_and_no_numbers() -> None:
    starts = ("numpy", "lugwright.solve", "lugwright.layout", "lugwright.circuit", "lugwright.web.asked.table")
    done = subprocess.run([sys.executable, "-c", SAY.format(starts=starts)], capture_output=True, text=True, check=True)
    assert done.stdout.split() == []
