"""What takes long can be stopped, and does not begin again by itself."""

from __future__ import annotations

import asyncio
from pathlib import Path

import pytest

from lugwright.web.lanes import Lanes, Refused


async def stopped_checks(path: Path, *, begun: bool) -> None:
    lanes = Lanes()
    await lanes.writes("all checks")  # the worker for pages is there
    heard = asyncio.Event()
    asked = asyncio.create_task(lanes.ask("all checks", path, "", {}, progress=lambda share, words: heard.set()))
    try:
        await asyncio.wait_for(heard.wait(), 120) if begun else await asyncio.sleep(0.1)
        await lanes.cancel_long()
        await asyncio.wait_for(asked, 10)
    finally:
        await lanes.stop()


@pytest.mark.parametrize("begun", [True, False], ids=["under way", "while its worker starts"])
def test_what_takes_long_is_stopped_and_says_so(dunlin: Path, begun: bool) -> None:
    with pytest.raises(Refused) as refused:
        asyncio.run(stopped_checks(dunlin, begun=begun))
    assert refused.value.error == {
        "what": "all checks was stopped",
        "found": "stopped by hand, here or in another tab",
        "wanted": "time to finish",
        "do": "ask for it again",
    }


async def told() -> tuple[bool | None, ...]:
    lanes = Lanes()
    try:
        return tuple([await lanes.writes(what) for what in ("tick", "outline", "no such thing")])
    finally:
        await lanes.stop()


def test_a_worker_says_what_can_be_asked_and_what_is_written() -> None:
    assert asyncio.run(told()) == (True, False, None)
