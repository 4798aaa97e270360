"""Steps of the power-up solved by two processes at once."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from lugwright.bringup.trace.step_answers import StepAnswers
from lugwright.circuit.rewiring import Rewiring
from lugwright.second_process import Helper, answers_beside
from lugwright.solve.rewired import as_found, solve_rewired
from lugwright.solve.rewired_many import Found, ManyRewired
from lugwright.solve.solved import Solved


@dataclass(frozen=True, eq=False)
class _Step:
    """What is to be solved of a step."""

    base: Solved
    rewirings: tuple[Rewiring, ...]

    @cached_property
    def many(self) -> ManyRewired:
        return solve_rewired(self.base, self.rewirings)

    def told(self, found: Found) -> ManyRewired:
        """Return all of what was found, here or in the other process."""
        return self.many if "many" in self.__dict__ else as_found(self.base, self.rewirings, found)


class SolvedSteps:
    """Steps by their keys; what was found of one is the attribute of that name, solved when it is first asked for."""

    def __init__(self, steps: Mapping[str, StepAnswers]) -> None:
        self.steps = {key: _Step(step.bench.solved_at(key), step.rewirings) for key, step in steps.items()}

    def __getattr__(self, key: str) -> Found:
        if key == "steps" or key not in self.steps:
            raise AttributeError(key)
        return self.steps[key].many.found


def solve_beside(steps: Sequence[StepAnswers], helper: Helper | None = None) -> None:
    """Solve every wiring of some steps, this process and a second one by turns; what is solved already stays.

    ``helper`` is a second process that waits to be asked; without it one is started.

    Raises
    ------
    NoIdlePoint
        A step has none.
    """
    waiting = {step.key: step for step in steps if not step.is_solved}
    if len(waiting) < 2:
        return
    solved = SolvedSteps(waiting)
    longest_first = sorted(waiting, key=lambda key: -len(waiting[key].bench.steps[key].fitted))
    meeting_at_short_ones = longest_first[0::2] + longest_first[1::2][::-1]  # each process begins at an end
    with answers_beside(solved, meeting_at_short_ones, helper) as answers:
        answers.gather(lambda key: waiting[key].keep(solved.steps[key].told(getattr(solved, key))))
