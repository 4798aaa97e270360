"""The layers hold: nothing lower imports anything higher."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]
COMMAND = [sys.executable, "-c", "from importlinter.cli import lint_imports_command; lint_imports_command()"]


def test_every_contract_between_the_layers_is_kept() -> None:
    done = subprocess.run([*COMMAND, "--no-cache"], cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    assert "5 kept, 0 broken" in done.stdout
