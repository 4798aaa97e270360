"""A process that was made ready has the machine code of a fault list before it is asked for one."""

from __future__ import annotations

import subprocess
import sys

ASKED = """
from lugwright.solve.rewired_ready import load
load()
from lugwright.solve.kernel import cycles, drops, joints, middle, polish, ports, seen, settle, supplies
for entry in (
    cycles.close, cycles.mean_slopes, drops.grow, drops.fill, joints.meet, polish.at_joints, polish.polish,
    ports.drawn_amps, seen.see, settle.draw, settle.settle, supplies.within, ports.among, ports.between_pairs,
    middle.middles,
):
    print(len(entry.signatures))
"""


def test_everything_that_wirings_need_is_loaded() -> None:
    told = subprocess.run([sys.executable, "-c", ASKED], capture_output=True, text=True, timeout=300, check=True).stdout
    assert told.split() == ["1"] * 12 + ["2"] * 3  # the last three for real and for complex numbers
