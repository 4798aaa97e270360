"""Why a part, joint, wire or lug of the plan is where it is, and what other places would cost."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import Field

from lugwright.layout.explain_results import Choice
from lugwright.web.asked.asked import LONG, Args, Asked
from lugwright.web.desk import Desk
from lugwright.web.fragments import fragment


class SubjectArgs(Args):
    """A part with two leads, a joint, a wire such as W12, a terminal such as A.4."""

    name: Annotated[str, Field(min_length=1, max_length=80)]


def _why(desk: Desk, args: SubjectArgs) -> dict[str, Any]:
    desk.tell(0.0, "trying other places")
    found = desk.opened.why(args.name)
    choices = [(choice.place, _more(choice), choice.because) for choice in found.choices]
    return {"html": fragment("wiring_why", why=found, choices=choices)}


def _more(choice: Choice) -> str:
    return (
        "cannot be"
        if choice.more is None
        else f"costs {choice.more:.0f} more"
        if round(choice.more)
        else "costs no more"
    )


WIRING_WHY = Asked("wiring why", _why, SubjectArgs, LONG, words="other places to be tried out")
