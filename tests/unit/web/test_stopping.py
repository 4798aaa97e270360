"""What takes long can be stopped, and does not begin again by itself."""

from __future__ import annotations

import asyncio
from pathlib import Path

import pytest

from lugwright.web.lanes import Lanes, Refused


async def stopped_checks(path: Path) -> None:
    lanes = Lanes()
    heard = asyncio.Event()
    asked = asyncio.create_task(lanes.ask("all checks", path, "", {}, progress=lambda share, words: heard.set()))
    try:
        await asyncio.wait_for(heard.wait(), 60)
        await lanes.cancel_long()
        await asyncio.wait_for(asked, 10)
    finally:
        await lanes.stop()


def test_what_takes_long_is_stopped_and_says_so(dunlin: Path) -> None:
    with pytest.raises(Refused) as refused:
        asyncio.run(stopped_checks(dunlin))
    assert refused.value.error == {
        "what": "all checks was stopped",
        "found": "stopped by hand, here or in another tab",
        "wanted": "time to finish",
        "do": "ask for it again",
    }
