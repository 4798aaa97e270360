"""A plan tried out by hand: something dragged elsewhere and the rest planned around it; kept only when asked."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import Field, model_validator

from lugwright.documents.drawings.wiring_side import wiring_side_svg
from lugwright.layout.results import PutPart, PutStrip
from lugwright.web.asked.asked import LONG, Args, Asked, NoArgs
from lugwright.web.asked.wiring import inline
from lugwright.web.asked.wiring_tables import wiring_tables
from lugwright.web.desk import Desk
from lugwright.workflow import (
    Draft,
    draft_side,
    drafted,
    file_change,
    keep_draft,
    part_put,
    planning_words,
    worst_volts,
    write_plan,
)

MOST_PUTS = 40
Name = Annotated[str, Field(min_length=1, max_length=60)]
Millimeters = Annotated[float, Field(ge=-2000.0, le=2000.0)]
Pair = Annotated[list[Millimeters], Field(min_length=2, max_length=2)]


class Put(Args):
    """A part hung between two terminals, or dragged ``by`` so much; or a strip put ``at`` a place."""

    part: Name | None = None
    ends: Annotated[list[Name], Field(min_length=2, max_length=2)] | None = None
    by: Pair | None = None
    strip: Name | None = None
    at: Pair | None = None
    turn: Annotated[float, Field(ge=0.0, lt=360.0)] = 0.0

    @model_validator(mode="after")
    def _one_thing(self) -> Put:
        part = self.part is not None and self.strip is None and (self.ends is None) != (self.by is None)
        strip = self.strip is not None and self.part is None and self.at is not None
        if part == strip:
            raise ValueError("a part with its ends or by how much it is dragged, or a strip with its place")
        return self


class Puts(Args):
    """Everything put elsewhere by hand, in order."""

    puts: Annotated[list[Put], Field(min_length=1, max_length=MOST_PUTS)]


class Keep(Puts):
    """The same, and which text of the build file the change to it was shown for."""

    seen: Annotated[str, Field(max_length=64)] = ""


def _puts(desk: Desk, given: list[Put]) -> tuple[PutPart | PutStrip, ...]:
    """Return what is put where; a part that is dragged is given its terminals in the draft as it is by then."""
    found: list[PutPart | PutStrip] = []
    for put in given:
        if put.strip is not None and put.at is not None:
            found.append(PutStrip(put.strip, (float(put.at[0]), float(put.at[1])), float(put.turn)))
        elif put.part is not None and put.ends is not None:
            found.append(PutPart(put.part, (put.ends[0], put.ends[1])))
        elif put.part is not None and put.by is not None:
            found.append(part_put(desk.opened, found, put.part, (put.by[0], put.by[1])))
    return tuple(found)


def _draft(desk: Desk, args: Puts) -> dict[str, Any]:
    desk.tell(0.0, planning_words())
    opened, puts = desk.opened, _puts(desk, args.puts)
    draft = drafted(opened, puts, desk.tell)
    change = file_change(opened, puts)
    tables = wiring_tables(draft.build, draft.plan, draft.order, opened.idle, worst_volts(opened))
    return {
        "puts": [_as_asked(put) for put in puts],
        "svg": inline(wiring_side_svg(draft_side(opened, draft))),
        "tables": {"plan": "draft", "fingerprint": opened.plan.fingerprint, **tables},
        "file": {"was": change.was, "lines": list(change.lines), "name": opened.path.name} if change else None,
        **_told(draft, sum(opened.plan.cost.values())),
    }


def _as_asked(put: PutPart | PutStrip) -> dict[str, Any]:
    if isinstance(put, PutPart):
        return {"part": put.part, "ends": list(put.ends)}
    return {"strip": put.strip, "at": list(put.at), "turn": put.turn}


def _told(draft: Draft, before: float) -> dict[str, Any]:
    """Return what a draft costs and moves, as the page says it."""
    return {
        "before": round(before, 1),
        "after": round(sum(draft.plan.cost.values()), 1),
        "terms": [
            {"name": t.name, "before": round(t.before, 1), "after": round(t.after, 1), "reason": t.reason}
            for t in draft.terms
        ],
        "moves": [{"what": m.what, "before": m.before, "after": m.after, "why": m.why} for m in draft.moves],
        "new": [{"grade": str(f.grade.value), "what": f.what} for f in draft.new],
        "gone": [{"grade": str(f.grade.value), "what": f.what} for f in draft.gone],
    }


def _keep(desk: Desk, args: Keep) -> dict[str, Any]:
    written = keep_draft(desk.opened, _puts(desk, args.puts), args.seen)
    return {"written": written}


def _plan(desk: Desk, args: NoArgs) -> dict[str, Any]:
    """Plan what there is no plan of, or follow the build file, as `lugwright plan` does."""
    desk.tell(0.0, planning_words())
    opened = desk.opened
    moved = opened.moves
    desk.tell(0.9, "writing the plan")
    write_plan(opened)
    return {"moved": len(moved), "to_unsolder": list(opened.to_unsolder)}


WIRING_DRAFT = Asked("wiring draft", _draft, Puts, LONG, words="a plan that is tried out")
WIRING_KEEP = Asked("wiring keep", _keep, Keep, LONG, writes=True, words="a plan that is kept")
PLAN = Asked("plan", _plan, NoArgs, LONG, writes=True, words="the plan")
