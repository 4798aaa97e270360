"""Fault tracing beside the power-up: suspects with their chances, what to measure or look for next."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Iterator
from pathlib import Path
from typing import Annotated, Any

from pydantic import Field

from lugwright.bringup.trace_results import Tracing
from lugwright.web.asked.asked import LOG, LONG, Args, Asked, NoArgs
from lugwright.web.desk import Desk
from lugwright.web.fragments import fragment
from lugwright.web.shown.trace import chance_words, doubt_words
from lugwright.workflow import (
    FaultBench,
    SaidSign,
    alarms_now,
    fault_bench,
    signs_in,
    suspects_drawing,
    take_signs_back,
)

FEW = 3  # faults of one group that are told with what to do
AHEAD = 3  # readings proposed
MOST_KEPT = 4
_KEPT: OrderedDict[tuple[Path, str], FaultBench] = OrderedDict()  # of this process: the fault lists are kept warm

Name = Annotated[str, Field(min_length=1, max_length=100)]


class SignArgs(Args):
    """Something that may be seen, heard or felt, and whether it is there."""

    sign: Name
    seen: bool


class SignBackArgs(Args):
    """A sign whose answer does not count."""

    sign: Name


def _bench(desk: Desk) -> FaultBench:
    """Return the fault bench of a build with the readings of its log; what does not hang on them is kept."""
    key = desk.path, desk.copy
    bench = fault_bench(desk.opened, before=_KEPT.get(key))
    _KEPT[key] = bench
    _KEPT.move_to_end(key)
    while len(_KEPT) > MOST_KEPT:
        _KEPT.popitem(last=False)
    if "tracer" not in bench.__dict__:
        desk.tell(0.1, "what every fault on the list would read; the first time that takes a while")
    bench.take_logged()
    return bench


def _trace(desk: Desk, args: NoArgs) -> dict[str, Any]:
    bench = _bench(desk)
    desk.tell(0.5, "which faults explain the readings")
    found = bench.tracing(count=AHEAD)
    html = fragment(
        "power/trace",
        found=found,
        few=FEW,
        chances=[chance_words(suspect.chance) for suspect in found.suspects],
        pair_chances=[chance_words(pair.chance) for pair in found.pairs],
        beyond=chance_words(found.none_of_these),
        healthy=chance_words(found.healthy),
        doubted=doubt_words(found),
        signs=bench.signs(),
        left_out=bench.left_out,
    )
    alarm = fragment("power/trace_alarm", **alarm_beyond(desk, found))
    return {"state": found.state, "parts": {"trace-alarm": alarm, "power-trace": html}}


def alarm_beyond(desk: Desk, found: Tracing) -> dict[str, Any]:
    """Return what the search says at once, without what the alarm above it says of a reading or a sign already."""
    standing = alarms_now(desk.opened)
    told = {each.why for each in standing if not each.doubt and (each.live or not found.live)}
    asked = {each.why for each in standing if each.doubt}
    return {
        "switch_off": "" if found.switch_off in told else found.switch_off,
        "again": "" if found.again in asked else found.again,
        "live": found.live,
    }


def _suspects(desk: Desk, args: NoArgs) -> dict[str, Any]:
    bench = _bench(desk)
    found: Tracing = bench.tracing(count=1)
    return {"svg": suspects_drawing(bench, found)}


def _sign(desk: Desk, args: SignArgs) -> dict[str, Any]:
    return {"written": [each.point for each in signs_in(desk.opened, [SaidSign(args.sign, args.seen)])]}


def _sign_back(desk: Desk, args: SignBackArgs) -> dict[str, Any]:
    return {"written": [e.subject for e in take_signs_back(desk.opened, [args.sign])]}


def _meanwhile() -> Iterator[None]:
    """Work out what the next reading of the build that was asked about last will ask for."""
    bench = next(reversed(_KEPT.values()), None)
    return iter(()) if bench is None else bench.work_ahead()


TRACE = Asked("trace", _trace, NoArgs, LONG, words="the search for a fault", meanwhile=_meanwhile)
SUSPECTS = Asked("suspects", _suspects, NoArgs, LONG, words="the drawing of suspects")
SIGN = Asked("sign", _sign, SignArgs, LOG, writes=True)
SIGN_BACK = Asked("sign back", _sign_back, SignBackArgs, LOG, writes=True)
