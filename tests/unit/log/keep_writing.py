"""Writes into a log until it is killed; tells each identifier once the log has acknowledged it."""

from __future__ import annotations

import sys
from pathlib import Path

from lugwright.log.store import Log

log = Log(Path(sys.argv[1]))
while True:
    for entry in log.append(sys.argv[2], [("note", "", {"text": "x" * 300}), ("note", "", {"text": "second"})]):
        sys.stdout.write(f"{entry.id}\n")
        sys.stdout.flush()
