"""Why there is no answer: what a page shows in place of one, in four lines."""

from __future__ import annotations

from collections.abc import Iterable

FourLines = dict[str, str]
_SAFE = "what is written in the log is safe"


def no_such(what: str, known: Iterable[str]) -> FourLines:
    """Return that a page asks for something unknown."""
    return {
        "what": "there is no such thing to be asked",
        "found": what[:60],
        "wanted": "; ".join(sorted(known)),
        "do": "reload the page; it may be older than the program",
    }


def not_to_be_said(what: str) -> FourLines:
    """Return that what comes with a question is not even to be passed on."""
    return {
        "what": f"{what} cannot be asked so",
        "found": "a number that is none, or one without end",
        "wanted": "plain words and numbers",
        "do": "reload the page; it may be older than the program",
    }


def stopped(what: str) -> FourLines:
    """Return that somebody did not want to wait."""
    return {
        "what": f"{what} was stopped",
        "found": "stopped by hand",
        "wanted": "time to finish",
        "do": "ask for it again",
    }


def died_twice(what: str) -> FourLines:
    """Return that the process working on it ended, and ended again."""
    return {
        "what": f"{what} could not be worked out",
        "found": "the process working on it ended twice",
        "wanted": "an answer",
        "do": f"try the same on the command line; {_SAFE}",
    }


def too_long(what: str, limit_s: float) -> FourLines:
    """Return that it was given up."""
    return {
        "what": f"{what} takes too long",
        "found": f"no answer after {limit_s:g} s",
        "wanted": "an answer before that: others wait behind it",
        "do": f"try the same on the command line; {_SAFE}",
    }


def too_many(what: str, most: int) -> FourLines:
    """Return that others have to be answered first."""
    return {
        "what": f"{what} has to wait",
        "found": f"{most} questions of all tabs together are not answered yet",
        "wanted": "fewer",
        "do": "close tabs that nobody looks at, and wait a moment",
    }


def too_large(what: str) -> FourLines:
    """Return that memory ran out."""
    return {
        "what": f"{what} takes more memory than there is",
        "found": "no memory left",
        "wanted": "a machine with room for it",
        "do": f"close other programs and try again; {_SAFE}",
    }


def defect(what: str, error: Exception) -> FourLines:
    """Return that it failed in a way nobody has foreseen; of the error only its kind."""
    return {
        "what": f"{what} failed: a defect of this program",
        "found": type(error).__name__,
        "wanted": "an answer, or an error that explains itself",
        "do": f"try the same on the command line; {_SAFE}",
    }
