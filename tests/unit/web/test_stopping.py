"""What takes long can be stopped, and does not begin again by itself."""

from __future__ import annotations

import asyncio
from pathlib import Path

import pytest

from lugwright.web.call import Call
from lugwright.web.lanes import How, Lanes, Refused


async def stopped_checks(path: Path, *, begun: bool) -> None:
    lanes = Lanes()
    await lanes.how("all checks")  # the worker for pages is there
    heard = asyncio.Event()
    call = Call(lambda share, words: heard.set())
    asked = asyncio.create_task(lanes.ask("all checks", path, "", {}, call=call))
    try:
        await asyncio.wait_for(heard.wait(), 120) if begun else await asyncio.sleep(0.1)
        call.end()
        await asyncio.wait_for(asked, 10)
    finally:
        await lanes.stop()


@pytest.mark.parametrize("begun", [True, False], ids=["under way", "while its worker starts"])
def test_what_takes_long_is_stopped_and_says_so(dunlin: Path, begun: bool) -> None:
    with pytest.raises(Refused) as refused:
        asyncio.run(stopped_checks(dunlin, begun=begun))
    assert refused.value.error == {
        "what": "all checks was stopped",
        "found": "stopped by hand",
        "wanted": "time to finish",
        "do": "ask for it again",
    }


async def told() -> tuple[How | None, ...]:
    lanes = Lanes()
    try:
        return tuple([await lanes.how(what) for what in ("tick", "outline", "make book", "no such thing")])
    finally:
        await lanes.stop()


def test_a_worker_says_what_can_be_asked_and_how() -> None:
    assert asyncio.run(told()) == (How("log", True), How("pages", False), How("long", False, "the book"), None)
