"""How a bench ends: asked to, by its terminal, or killed; no process and no file of its own is left."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from .served import exchanged, request, status_of

pytestmark = pytest.mark.skipif(not os.path.isdir("/proc/self"), reason="processes are looked at in /proc")
WITHIN_S = 60.0


class Started:
    """A bench as a person starts it, in a process group of its own as from a terminal."""

    def __init__(self, folder: Path, private: Path) -> None:
        self.process = subprocess.Popen(
            [sys.executable, "-c", "from lugwright.cli import main; main()", "bench", str(folder), "--port", "0"],
            stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, start_new_session=True,
            env={**os.environ, "PYTHONUNBUFFERED": "1", "TMPDIR": str(private)},
        )  # fmt: skip
        assert self.process.stdout is not None
        self.port = int(self.process.stdout.readline().split(":")[2].split("/")[0])
        page = request(self.port, "/build/dunlin-5/work")
        assert status_of(exchanged(self.port, page)) == 200
        until = time.monotonic() + WITHIN_S
        while len(self.workers()) < 2 and time.monotonic() < until:
            time.sleep(0.05)

    def workers(self) -> list[int]:
        """Return the processes that it has started."""
        found = Path(f"/proc/{self.process.pid}/task/{self.process.pid}/children")
        return [int(each) for each in found.read_text().split()]

    def ended(self) -> tuple[int, str]:
        """Return how it ended, and what it printed on the way."""
        said, complained = self.process.communicate(timeout=WITHIN_S)
        return self.process.returncode, said + complained


def _gone(processes: list[int]) -> bool:
    until = time.monotonic() + WITHIN_S
    while any(map(_alive, processes)) and time.monotonic() < until:
        time.sleep(0.05)
    return not any(map(_alive, processes))


def _alive(process: int) -> bool:
    try:
        return Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except OSError:
        return False


@pytest.fixture
def started(dunlin: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Started, Path]]:
    """Return a bench with its workers, and the folder for what it makes for itself."""
    private = tmp_path_factory.mktemp("private")
    bench = Started(dunlin.parent, private)
    yield bench, private
    if bench.process.poll() is None:
        bench.process.kill()
    bench.process.wait()
    for pipe in (bench.process.stdout, bench.process.stderr):
        if pipe is not None:
            pipe.close()


@pytest.mark.parametrize("how", [signal.SIGINT, signal.SIGTERM, signal.SIGHUP])
def test_it_ends_cleanly_with_all_its_processes_when_the_terminal_says_so(
    started: tuple[Started, Path], how: signal.Signals
) -> None:
    bench, private = started
    workers = bench.workers()
    assert len(workers) >= 2
    assert len(list(private.iterdir())) == 1
    os.killpg(bench.process.pid, how)  # as a terminal does it: to everything started from it
    code, said = bench.ended()
    assert said == ""
    assert code in (0, -how)
    assert _gone(workers)
    assert list(private.iterdir()) == []


def test_its_workers_end_when_it_is_killed(started: tuple[Started, Path]) -> None:
    bench, _ = started
    workers = bench.workers()
    assert len(workers) >= 2
    bench.process.kill()
    assert bench.ended() == (-signal.SIGKILL, "")
    assert _gone(workers)
