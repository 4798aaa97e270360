"""Ticking work off, as `lugwright tick` does."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import Field

from lugwright.errors import LogError
from lugwright.web.asked.asked import LOG, Args, Asked, NoArgs
from lugwright.web.desk import Desk
from lugwright.workflow import tick

Name = Annotated[str, Field(min_length=1, max_length=80)]


class TickArgs(Args):
    """Cards by number, leads as R3.1 or W12, terminals as A.4; ``undo`` takes the ticks back.

    ``mark`` is of the cards that were seen when it was ticked: numbers mean nothing once there are others.
    """

    cards: list[Annotated[int, Field(ge=1, le=10_000)]] = Field(default=[], max_length=50)
    leads: list[Name] = Field(default=[], max_length=200)
    terminals: list[Name] = Field(default=[], max_length=200)
    undo: bool = False
    mark: Annotated[str, Field(max_length=16)] = ""


def _tick(desk: Desk, args: TickArgs) -> dict[str, Any]:
    if args.mark and args.mark != desk.opened.cards_mark:
        raise LogError(
            what="the job cards have changed since this was ticked",
            found="cards and wires may have other numbers now",
            wanted="a tick on the cards as they are",
            do="look at the new cards, and tick there what is done",
        )
    ticked = tick(desk.opened, cards=args.cards, leads=args.leads, terminals=args.terminals, undo=args.undo)
    return {"copy": ticked.serial, "written": [e.subject for e in ticked.entries], "already": list(ticked.already)}


def _ready(desk: Desk, args: NoArgs) -> str:
    """Have the build open where ticks are written, so that the first one is as quick as the others."""
    return desk.opened.cards_mark


READY_TO_TICK = Asked("ready to tick", _ready, lane=LOG)
TICK = Asked("tick", _tick, TickArgs, LOG, writes=True)
