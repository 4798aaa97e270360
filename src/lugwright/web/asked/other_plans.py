"""Other plans of the same build: laid side by side, and one of them put in the place of the stored one."""

from __future__ import annotations

from typing import Any, Literal

from lugwright.documents.plans_compared import cheapest, made_words, plan_rows
from lugwright.errors import PlanError
from lugwright.web.asked.asked import LONG, Args, Asked, NoArgs
from lugwright.web.asked.wiring import WHOLE, plan_state
from lugwright.web.desk import Desk
from lugwright.web.fragments import fragment
from lugwright.workflow import Opened, choose_plan, compared_plans, plan_afresh, planning_words

AFRESH = "afresh"
PLANS = 4  # that are told of while they are made


class ChooseArgs(Args):
    """A way of planning; ``afresh``: at the weights of the build file, without a look at the stored plan."""

    way: Literal["shortest", "tidiest", "fewest", "afresh"]


def _planned(opened: Opened) -> Opened:
    if plan_state(opened) == WHOLE:
        return opened
    raise PlanError(
        what="there is no plan to hold others against",
        found="no plan, or one of an earlier state of the build file",
        wanted="a plan of the build as it is",
        do="plan it first",
    )


def _compared(desk: Desk, args: NoArgs) -> dict[str, Any]:
    opened = _planned(desk.opened)
    made = iter(range(PLANS))
    plans = compared_plans(opened, lambda words: desk.tell(next(made, PLANS - 1) / PLANS, words))
    best = cheapest(plans)
    return {
        "html": fragment(
            "other_plans",
            names=[plan.name for plan in plans],
            rows=plan_rows(plans),
            made=made_words(plans, opened.build.wishes.weights),
            cheapest=None if best is None else {"name": best[0].name, "saved": f"{best[1]:.0f}"},
        )
    }


def _choose(desk: Desk, args: ChooseArgs) -> dict[str, Any]:
    opened = _planned(desk.opened)
    desk.tell(0.0, planning_words() if args.way == AFRESH else f"planning: {args.way}")
    before = sum(opened.plan.cost.values())
    now = plan_afresh(opened) if args.way == AFRESH else choose_plan(opened, args.way)
    return {"before": round(before), "after": round(sum(now.plan.cost.values()))}


PLANS_COMPARED = Asked("plans compared", _compared, NoArgs, LONG, words="plans to be laid side by side")
CHOOSE_PLAN = Asked("choose plan", _choose, ChooseArgs, LONG, writes=True, words="another plan")
