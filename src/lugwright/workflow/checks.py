"""Every check of a build, one after the other: what one of them cannot do keeps none of the others from being made."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from lugwright.circuit.operating import Rating
from lugwright.errors import LugwrightError
from lugwright.findings import Finding, sorted_by_grade
from lugwright.workflow.opened import Opened
from lugwright.workflow.ticking import where_it_stands

Found = tuple[Iterable[Finding], Iterable[Rating]]
Tell = Callable[[float, str], None]


@dataclass(frozen=True)
class NotMade:
    """A check that could not be made, and why."""

    check: str
    error: LugwrightError


@dataclass(frozen=True)
class Checked:
    """What checks found, worst first; the ratings, the most used first; and the checks that were not made."""

    findings: tuple[Finding, ...]
    ratings: tuple[Rating, ...]
    not_made: tuple[NotMade, ...]


def quick_checks(opened: Opened, tell: Tell = lambda share, words: None) -> Checked:
    """Return what the file and the idle say: the first look."""
    return _checked(opened, _QUICK, tell)


def all_checks(opened: Opened, tell: Tell = lambda share, words: None) -> Checked:
    """Return what every check says: also the start, full drive, the mains' swing, feedback, the plan."""
    return _checked(opened, {**_QUICK, **_LONG}, tell)


def _checked(opened: Opened, checks: dict[str, Callable[[Opened], Found]], tell: Tell) -> Checked:
    findings: list[Finding] = []
    ratings: list[Rating] = []
    not_made: list[NotMade] = []
    for count, (check, made) in enumerate(checks.items()):
        tell(count / len(checks), check)
        try:
            found, rated = made(opened)
        except LugwrightError as error:
            not_made.append(NotMade(check, error))
        else:
            findings += found
            ratings += rated
    by_use = sorted(ratings, key=lambda r: (-r.share, r.part, r.rule, r.what))
    return Checked(tuple(sorted_by_grade(findings)), tuple(by_use), tuple(not_made))


def _file(opened: Opened) -> Found:
    return opened.findings, ()


def _as_built(opened: Opened) -> Found:
    _ = opened.written  # nothing can be measured in a build that cannot be read
    return opened.as_built.findings, ()


def _at_idle(opened: Opened) -> Found:
    ratings, findings = opened.ratings
    return findings, ratings


def _start(opened: Opened) -> Found:
    ratings, findings = opened.start_ratings
    return findings, ratings


def _mains(opened: Opened) -> Found:
    return opened.mains_findings, ()


def _feedback(opened: Opened) -> Found:
    return opened.stability_of(opened.response), ()


def _driven(opened: Opened) -> Found:
    power = opened.rated.power_answer
    return opened.driven_findings_of(power), opened.driven_ratings_of(power)


def _plan(opened: Opened) -> Found:
    where_it_stands(opened)
    return opened.plan_findings, ()


_QUICK: dict[str, Callable[[Opened], Found]] = {
    "the build file": _file,
    "what was measured": _as_built,
    "parts and tubes at idle": _at_idle,
}
_LONG: dict[str, Callable[[Opened], Found]] = {
    "mains low and high": _mains,
    "feedback and response": _feedback,
    "the plan": _plan,
    "the start": _start,
    "full drive": _driven,
}
