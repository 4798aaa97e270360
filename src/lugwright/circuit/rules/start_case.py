"""What a rule of the start looks at: the build with its idle, and its first minute."""

from __future__ import annotations

from dataclasses import dataclass

from lugwright.circuit.rules.case import Case
from lugwright.circuit.starting import Start


@dataclass(frozen=True)
class StartCase:
    """One build to be judged with its start."""

    case: Case
    start: Start
