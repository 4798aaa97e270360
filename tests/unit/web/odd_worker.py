"""A worker that can be asked to die, to hang, to run out of memory: run as a program, in place of the usual one."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from typing import Any

from lugwright.web.asked.asked import LOG, LONG, Args, Asked
from lugwright.web.asked.table import ASKED
from lugwright.web.asked.ticks import TickArgs
from lugwright.web.desk import Desk
from lugwright.web.worker import work


class Any_(Args):
    """Anything under one name."""

    value: Any = None


def _die(desk: Desk, args: Any_) -> None:
    os.kill(os.getpid(), signal.SIGKILL)


def _tick_and_die_once(desk: Desk, args: TickArgs) -> Any:
    found = ASKED["tick"].answer(desk, args)
    mark = desk.path.with_name("died")
    if not mark.exists():
        mark.touch()
        os.kill(os.getpid(), signal.SIGKILL)
    return found


def _no_memory(desk: Desk, args: Any_) -> None:
    raise MemoryError


def _defect(desk: Desk, args: Any_) -> None:
    raise RuntimeError("/a/path/of/ours")


def _sleep(desk: Desk, args: Any_) -> str:
    time.sleep(args.value)
    return "slept"


def _echo(desk: Desk, args: Any_) -> Any:
    os.write(1, b"this is not an answer\n")
    return args.value


def _child(desk: Desk, args: Any_) -> int:
    child = subprocess.Popen([sys.executable, "-c", "import time; time.sleep(600)"])
    desk.tell(0.5, str(child.pid))
    time.sleep(args.value)
    return child.pid


def _count(desk: Desk, args: Any_) -> None:
    with desk.path.with_name("asked").open("a") as file:
        file.write(f"{args.value}\n")


def _not_a_number(desk: Desk, args: Any_) -> float:
    return float("nan")


for _asked in (
    Asked("die", _die, Any_),
    Asked("tick and die once", _tick_and_die_once, TickArgs, LOG, writes=True),
    Asked("no memory", _no_memory, Any_),
    Asked("fail", _defect, Any_),
    Asked("sleep", _sleep, Any_),
    Asked("echo", _echo, Any_),
    Asked("child", _child, Any_, LONG),
    Asked("count", _count, Any_),
    Asked("not a number", _not_a_number, Any_),
):
    ASKED[_asked.name] = _asked

if __name__ == "__main__":
    work()
