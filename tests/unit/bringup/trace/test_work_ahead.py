"""What is done before the next reading is there, and in which order."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np

from lugwright.bringup.trace.records import Probe
from lugwright.bringup.trace.work_ahead import AT_ONCE, CLOSE, LIKELY, WorkAhead


def probe(name: str, step: str = "all tubes", quantity: str = "V dc") -> Probe:
    return Probe(step, name, "ground", quantity, name, 10.0, 0.0)


@dataclass
class Slips:
    asked: list[Any]

    def of(self, place: int, read: Probe) -> None:
        self.asked.append(("slips", read.red))


@dataclass
class Asked:
    """Takes note of what is asked of it."""

    asked: list[Any] = field(default_factory=list)
    forgotten: list[str] = field(default_factory=list)

    @property
    def slips(self) -> Slips:
        return Slips(self.asked)

    def predictions(self, probes: list[Probe], some: Any = None) -> None:
        self.asked.append(("closely", [p.red for p in probes], None if some is None else len(some)))

    def lumped(self, probes: list[Probe], some: Any, *, in_passing: bool = False) -> None:
        self.asked.append(("roughly", [p.red for p in probes], some[:2].tolist(), in_passing))

    def by_circuit(self, probes: list[Probe]) -> list[list[Probe]]:
        return [[p for p in probes if p.step == step] for step in dict.fromkeys(p.step for p in probes)]

    def forget(self, probes: list[Probe]) -> None:
        self.forgotten += [p.red for p in probes]


A, B, C, LATER = probe("A"), probe("B"), probe("C", "ohms", "ohm"), probe("L", "signal")
LOOK = probe("hum", quantity="sign")


def test_first_come_the_readings_proposed_then_the_likely_faults_and_a_later_step_last() -> None:
    asked = Asked()
    ahead = WorkAhead(asked)  # type: ignore[arg-type]
    chance = np.arange(LIKELY + AT_ONCE, dtype=float)[::-1].copy()
    chance[[0, 1]] = 0.0  # the others in their order
    ahead.note(chance, [], [A, B, C], [A], [A, LOOK])
    assert len(list(ahead.pieces([LATER]))) == len(asked.asked)
    each = (LIKELY + AT_ONCE) // AT_ONCE
    solved = -(-each // 2)
    firsts = [[2, 3], [2 * AT_ONCE + 2, 2 * AT_ONCE + 3], [0, 1]]
    assert asked.asked[:solved] == [("roughly", ["A"], first, False) for first in firsts]
    assert asked.asked[solved] == ("closely", ["A"], None)
    rest = asked.asked[solved + 1 :]
    assert rest[:2] == [("roughly", ["A", "B"], [2, 3], False), ("roughly", ["C"], [2, 3], False)]
    assert [call[3] for call in rest[: 2 * each]] == [False] * (2 * each - 2) + [True] * 2
    assert rest[2 * each : 2 * each + 2] == [("closely", ["A"], CLOSE), ("slips", "A")]
    assert [call[1] for call in rest[2 * each + 2 :]] == [["L"]] * each


def test_what_was_proposed_and_nobody_read_is_forgotten() -> None:
    asked = Asked()
    ahead = WorkAhead(asked)  # type: ignore[arg-type]
    ahead.note(np.ones(3), [], [A, B, C], [], [A, B, C])
    list(ahead.pieces())
    ahead.note(np.ones(3), [A], [B, C], [], [C])
    assert asked.forgotten == ["B"]
    ahead.note(np.ones(3), [A], [B, C], [], [])
    assert asked.forgotten == ["B", "C"]
