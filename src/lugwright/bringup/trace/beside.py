"""Steps of the power-up solved by two processes at once."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from lugwright.bringup.trace.step_answers import StepAnswers
from lugwright.second_process import Helper, answers_beside
from lugwright.solve.rewired_many import ManyRewired


class SolvedSteps:
    """Steps by their keys; every wiring of a step is the attribute of that name, solved when it is first asked for."""

    def __init__(self, steps: Mapping[str, StepAnswers]) -> None:
        self.steps = steps

    def __getattr__(self, key: str) -> ManyRewired:
        if key == "steps" or key not in self.steps:
            raise AttributeError(key)
        return self.steps[key].many


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
        answers.gather()
    for key, step in waiting.items():
        step.keep(getattr(solved, key))
