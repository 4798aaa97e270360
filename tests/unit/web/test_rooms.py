"""What the tabs of a build are told when its files change, and whether what was read of them is read again."""

from __future__ import annotations

import asyncio
import time
from pathlib import Path
from typing import Any

import pytest
from jinja2 import UndefinedError
from starlette.requests import Request

from lugwright.web.call import Call
from lugwright.web.desk import Openings
from lugwright.web.pages.page import Page, build_page
from lugwright.web.rooms import Rooms
from lugwright.web.shelf import Shelf
from lugwright.web.workshop import Workshop


def away_and_back(path: Path) -> None:
    """Take a file away and bring it back as it was, slower than a clock of the file system ticks."""
    time.sleep(0.02)
    away = path.rename(path.with_name("away"))
    time.sleep(0.02)
    away.rename(path)


@pytest.mark.parametrize(("ending", "kind"), [(".toml", "file"), (".plan.json", "plan"), (".log.sqlite", "log")])
def test_a_file_that_was_away_between_two_looks_is_told_of(tmp_path: Path, ending: str, kind: str) -> None:
    """A page may have asked meanwhile, and been told that there is no such file."""
    build = tmp_path / "amp.toml"
    for each in (".toml", ".plan.json", ".log.sqlite"):
        build.with_suffix(each).write_text("as it was")
    told: list[dict[str, Any]] = []

    async def say(message: dict[str, Any]) -> None:
        told.append(message)

    async def look() -> None:
        rooms = Rooms(Shelf({"amp": build}))
        rooms.enter("amp", say)
        await rooms.look_at("amp")
        assert told == []
        away_and_back(build.with_suffix(ending))
        await rooms.look_at("amp")
        await rooms.look_at("amp")

    asyncio.run(look())
    assert told == [{"t": "changed", "build": "amp", "kind": kind}]


def test_what_was_read_while_a_plan_was_away_is_read_again(dunlin: Path) -> None:
    openings = Openings()
    before = openings.opened(dunlin, "", (), "")
    time.sleep(0.02)
    away = before.plan_path.rename(dunlin.with_name("away"))
    assert before.stored_plan is None
    time.sleep(0.02)
    away.rename(before.plan_path)
    assert openings.opened(dunlin, "", (), "").stored_plan is not None


def test_tabs_that_show_a_build_are_told_how_far_a_page_of_it_is() -> None:
    told: list[dict[str, Any]] = []

    async def say(message: dict[str, Any]) -> None:
        told.append(message)

    class Lanes:
        """Lanes that answer at once, and say before that for what a page waits."""

        async def ask(self, what: str, *given: Any, call: Call | None = None, **how: Any) -> Any:
            if call is not None:
                call.waits("the book of Godwit 40")
                call.progress(0.5, "the start")
            return {"title": "Amp", "readable": True, "copy": "7"} if what == "outline" else {}

    async def look() -> None:
        workshop = Workshop(Shelf({"amp": Path("/nowhere/amp.toml")}))
        workshop.lanes = Lanes()  # type: ignore[assignment]
        workshop.rooms.enter("amp", say)
        page = Page("ratings", "Ratings", whole=("all checks",))
        scope = {"type": "http", "path_params": {"build": "amp"}, "query_string": b"whole", "headers": []}
        with pytest.raises(UndefinedError):  # there is nothing for the page to show
            await build_page(Request(scope), workshop, page, (page,))
        await asyncio.sleep(0)

    asyncio.run(look())
    about = {"what": "all checks", "build": "amp", "copy": "7"}
    assert told == [
        {"t": "waits", "for": "the book of Godwit 40", **about},
        {"t": "progress", "share": 0.5, "words": "the start", **about},
    ]
