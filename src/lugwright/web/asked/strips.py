"""Strips and ground bus as lines for the build file, as they stand or as they would be proposed."""

from __future__ import annotations

from typing import Any

from lugwright.documents.strips_table import strips_table
from lugwright.web.asked.asked import LONG, Args, Asked
from lugwright.web.desk import Desk
from lugwright.workflow import without_strips


class StripsArgs(Args):
    """``afresh``: as though the build file stated none; nothing is written."""

    afresh: bool = False


def _strips(desk: Desk, args: StripsArgs) -> dict[str, Any]:
    desk.tell(0.0, "finding places for strips")
    opened = without_strips(desk.opened) if args.afresh else desk.opened
    text = strips_table(opened.written.title, opened.strip_uses, opened.bus_uses, opened.lug_count)
    return {"text": text, "cost": round(sum(opened.plan.cost.values()))}


STRIPS = Asked("strips", _strips, StripsArgs, LONG, words="places for strips")
