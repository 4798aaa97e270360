"""Writes into a log until it is killed, or cannot; tells each identifier once the log has acknowledged it.

``keep_writing.py LOG COPY notes|readings [BYTES]``: with BYTES no file may grow beyond, as on a full disk.
"""

from __future__ import annotations

import resource
import sys
from pathlib import Path

from lugwright.errors import LogError
from lugwright.log.store import Log

READING = {
    "step": "all tubes", "red": "B+1", "quantity": "V dc", "value": 281.0, "unit": "V", "words": "x" * 300,
}  # fmt: skip
PAIRS = {
    "notes": [("note", "", {"text": "x" * 300}), ("note", "", {"text": "second"})],
    "readings": [("reading", "first", READING), ("reading", "second", {**READING, "value": None, "over_range": True})],
}

if len(sys.argv) > 4:
    resource.setrlimit(resource.RLIMIT_FSIZE, (int(sys.argv[4]), int(sys.argv[4])))
log = Log(Path(sys.argv[1]))
while True:
    try:
        written = log.append(sys.argv[2], PAIRS[sys.argv[3]])
    except LogError as error:
        sys.stderr.write(str(error))
        raise SystemExit(7) from error
    for entry in written:
        sys.stdout.write(f"{entry.id}\n")
        sys.stdout.flush()
