"""Benches served to the tests: a copied folder of builds, and a server that can be killed and started again."""

from __future__ import annotations

import ctypes
import os
import re
import signal
import subprocess
import sys
import urllib.request
from pathlib import Path

COMMAND = (sys.executable, "-c", "from lugwright.cli import main; main()")
_LIBC = ctypes.CDLL(None)
STARTS_WITHIN_S = 120.0
ENDS_WITHIN_S = 600.0


def run(*words: str | Path) -> str:
    """Return what a command of lugwright prints; it has to succeed or find something, not to fail."""
    done = subprocess.run(
        [*COMMAND, *map(str, words)], capture_output=True, text=True, check=False, timeout=ENDS_WITHIN_S
    )
    assert done.returncode in (0, 1), done.stderr
    return done.stdout


def _bound_by_modes() -> None:
    """Have a process, also one of root, ask whether it may write a file as everybody has to."""
    for capability in (1, 2):  # CAP_DAC_OVERRIDE, CAP_DAC_READ_SEARCH; without root nothing happens
        _LIBC.prctl(24, capability, 0, 0, 0)  # PR_CAPBSET_DROP


class Bench:
    """A server of its own for a folder of builds."""

    def __init__(self, folder: Path, *options: str) -> None:
        self.folder, self.address, self._port = folder, "", 0
        self._options = options
        self._errors = folder / "server.err"
        self._process: subprocess.Popen[str] | None = None

    def start(self) -> None:
        """Serve; the second time at the same port, as a person would start it again."""
        with self._errors.open("a") as errors:
            self._process = subprocess.Popen(
                [*COMMAND, "bench", self.folder, "--port", str(self._port), *self._options],
                stdout=subprocess.PIPE, stderr=errors, text=True, env={**os.environ, "PYTHONUNBUFFERED": "1"},
                preexec_fn=_bound_by_modes,
            )  # fmt: skip
        assert self._process.stdout is not None
        said = self._process.stdout.readline()
        found = re.search(r"http://127\.0\.0\.1:(\d+)", said)
        assert found, f"{said}{self.errors()}"
        self.address, self._port = found[0], int(found[1])

    def open_all(self) -> None:
        """Have every build opened, so that no test waits for the first page of it."""
        for path in sorted(self.folder.glob("*.toml")):
            address = self.at("work", path.stem.replace("_", "-"))
            with urllib.request.urlopen(address, timeout=STARTS_WITHIN_S) as page:
                assert page.status == 200

    def kill(self) -> None:
        """End the server as a pulled plug does: kill -9."""
        self._end(signal.SIGKILL)

    def stop(self) -> None:
        """End the server as Ctrl-C does."""
        self._end(signal.SIGINT)

    def _end(self, how: signal.Signals) -> None:
        if self._process is not None:
            self._process.send_signal(how)
            self._process.wait(STARTS_WITHIN_S)
            if self._process.stdout is not None:
                self._process.stdout.close()
        self._process = None

    @property
    def process_id(self) -> int:
        """Return the server's process."""
        assert self._process is not None
        return self._process.pid

    def errors(self) -> str:
        """Return what the server and its workers complained of."""
        return self._errors.read_text(encoding="utf-8") if self._errors.exists() else ""

    def at(self, page: str, build: str = "dunlin-5") -> str:
        """Return the address of a page of a build: ``at("work")``."""
        return f"{self.address}/build/{build}/{page}"

    def file(self, build: str = "dunlin_5") -> Path:
        """Return a build file that is served."""
        return self.folder / f"{build}.toml"
