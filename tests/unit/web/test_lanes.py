"""Workers that die, hang, run out of memory or are left alone: whoever asks gets an answer or a reason."""

from __future__ import annotations

import asyncio
import os
import time
from collections.abc import Awaitable, Callable
from pathlib import Path
from typing import Any

import pytest

from lugwright.log.store import Log
from lugwright.web import lanes as lanes_module
from lugwright.web.call import Call
from lugwright.web.lanes import How, Lanes, Refused, surroundings
from lugwright.web.line import Line

ODD = Path(__file__).with_name("odd_worker.py")
SAFE = "what is written in the log is safe"


@pytest.fixture(autouse=True)
def _odd_workers(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(lanes_module, "_COMMAND", f"import runpy; runpy.run_path({str(ODD)!r}, run_name='__main__')")


def with_lanes(do: Callable[[Lanes], Awaitable[Any]]) -> Any:
    async def done() -> Any:
        lanes = Lanes()
        try:
            return await asyncio.wait_for(do(lanes), 240)
        finally:
            await lanes.stop()

    return asyncio.run(done())


def lines_of(refused: Refused) -> tuple[str, ...]:
    return tuple(refused.error[name] for name in ("what", "found", "wanted", "do"))


async def reason(asking: Awaitable[Any]) -> tuple[tuple[str, ...], bool]:
    with pytest.raises(Refused) as caught:
        await asking
    return lines_of(caught.value), caught.value.keep


def test_every_way_to_fail_has_its_reason_and_the_worker_goes_on(dunlin: Path) -> None:
    async def do(lanes: Lanes) -> None:
        def ask(what: str, value: Any = None) -> Awaitable[Any]:
            return lanes.ask(what, dunlin, "", {"value": value})

        again = f"try the same on the command line; {SAFE}"
        defect = "an answer, or an error that explains itself"
        assert await reason(ask("no memory")) == (
            ("no memory takes more memory than there is", "no memory left", "a machine with room for it",
             f"close other programs and try again; {SAFE}"), False,
        )  # fmt: skip
        assert await reason(ask("fail")) == (
            ("fail failed: a defect of this program", "RuntimeError", defect, again),
            False,
        )
        assert await reason(ask("not a number")) == (
            ("not a number failed: a defect of this program", "ValueError", defect, again), False,
        )  # fmt: skip
        assert await reason(ask("die")) == (
            ("die could not be worked out", "the process working on it ended twice", "an answer", again), True,
        )  # fmt: skip
        for odd in (float("nan"), float("inf"), 10**5000):
            assert await reason(ask("echo", odd)) == (
                ("echo cannot be asked so", "a number that is none, or one without end", "plain words and numbers",
                 "reload the page; it may be older than the program"), False,
            )  # fmt: skip
        for plain in ("\udcff \U0001f50c Ω", "x" * 3_000_000, [[[[1]]]], None):
            assert await ask("echo", plain) == plain

    with_lanes(do)


def test_a_tick_whose_worker_dies_before_it_answers_is_in_the_log_once(dunlin: Path) -> None:
    async def do(lanes: Lanes) -> Any:
        return await lanes.ask("tick and die once", dunlin, "", {"cards": [1]}, command="a" * 32)

    assert with_lanes(do)["copy"] == "1"
    assert dunlin.with_name("died").exists()
    assert len(Log(dunlin.with_suffix(".log.sqlite")).entries()) == 1


def test_what_takes_too_long_is_ended_and_holds_up_neither_ticks_nor_what_waits(
    dunlin: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(lanes_module.LIMITS_S, "pages", 30.0)

    async def do(lanes: Lanes) -> None:
        await lanes.ask("echo", dunlin, "", {})  # both workers are there
        await lanes.ask("tick", dunlin, "", {"cards": [1]}, command="1" * 32)
        lanes._lanes["pages"]._limit_s = 4.0
        hanging = asyncio.create_task(reason(lanes.ask("sleep", dunlin, "", {"value": 600})))
        waiting = asyncio.create_task(lanes.ask("echo", dunlin, "", {"value": "after"}))
        await asyncio.sleep(0.1)
        began = time.monotonic()
        await lanes.ask("tick", dunlin, "", {"cards": [2]}, command="2" * 32)
        assert not hanging.done()
        assert time.monotonic() - began < 4.0
        assert await hanging == (
            ("sleep takes too long", "no answer after 4 s", "an answer before that: others wait behind it",
             f"try the same on the command line; {SAFE}"), True,
        )  # fmt: skip
        lanes._lanes["pages"]._limit_s = 60.0
        assert await waiting == "after"

    with_lanes(do)


def test_what_nobody_waits_for_any_more_is_not_begun(dunlin: Path) -> None:
    async def do(lanes: Lanes) -> None:
        await lanes.ask("echo", dunlin, "", {})
        first = asyncio.create_task(lanes.ask("sleep", dunlin, "", {"value": 1.0}))
        await asyncio.sleep(0.1)
        left = [asyncio.create_task(lanes.ask("count", dunlin, "", {"value": k})) for k in range(200)]
        stays = asyncio.create_task(lanes.ask("count", dunlin, "", {"value": "stays"}))
        await asyncio.sleep(0.1)
        for each in [first, *left]:
            each.cancel()
        await stays

    with_lanes(do)
    assert dunlin.with_name("asked").read_text() == "stays\n"


def test_a_lane_takes_only_so_many(dunlin: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(lanes_module, "MOST_QUEUED", 20)

    async def do(lanes: Lanes) -> list[Any]:
        await lanes.ask("echo", dunlin, "", {})
        asked = [lanes.ask("echo", dunlin, "", {"value": k}) for k in range(100)]
        return list(await asyncio.gather(*asked, return_exceptions=True))

    found = with_lanes(do)
    assert found[:20] == list(range(20))
    assert [(lines_of(each), each.keep) for each in found[20:]] == [
        (("echo has to wait", "20 questions of all tabs together are not answered yet", "fewer",
          "close tabs that nobody looks at, and wait a moment"), True)
    ] * 80  # fmt: skip


def _alive(pid: int) -> bool:
    try:
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except OSError:
        return False


def _gone(pid: int) -> bool:
    until = time.monotonic() + 30
    while _alive(pid) and time.monotonic() < until:
        time.sleep(0.05)
    return not _alive(pid)


@pytest.mark.skipif(not os.path.isdir("/proc/self"), reason="processes are looked at in /proc")
def test_what_a_worker_has_started_ends_with_it(dunlin: Path) -> None:
    seen: list[int] = []

    async def do(lanes: Lanes) -> None:
        heard = asyncio.Event()

        def progress(share: float, words: str) -> None:
            seen.append(int(words))
            heard.set()

        call = Call(progress)
        monkey = asyncio.create_task(lanes.ask("child", dunlin, "", {"value": 600}, call=call))
        await heard.wait()
        call.end()
        assert (await reason(monkey))[0][0] == "child was stopped"

    with_lanes(do)
    assert len(seen) == 1
    assert _gone(seen[0])


def test_who_waits_is_told_for_what_and_may_go_and_nothing_else_is_ended(dunlin: Path) -> None:
    told: list[list[str]] = [[], [], []]

    async def do(lanes: Lanes) -> None:
        under_way = asyncio.Event()
        first = Call(lambda share, words: under_way.set(), told[0].append)
        calls = [first, *(Call(waits=each.append) for each in told[1:])]
        asked = []
        for call, value in zip(calls, (600, 0, 0), strict=True):
            asking = lanes.ask("child", dunlin, "", {"value": value}, of="Dunlin 5", call=call)
            asked.append(asyncio.create_task(asking))
            await asyncio.sleep(0.05)
        await under_way.wait()
        assert told == [[], ["child of Dunlin 5"], ["child of Dunlin 5 and 1 more"]]
        calls[1].end()
        assert await reason(asked[1]) == (
            ("child was stopped", "stopped by hand", "time to finish", "ask for it again"), False,
        )  # fmt: skip
        assert told[2][1:] == ["child of Dunlin 5"]
        assert not asked[0].done()
        calls[0].end()
        assert (await reason(asked[0]))[0][0] == "child was stopped"
        assert await asked[2] > 0
        assert told[2][2:] == [""]

    with_lanes(do)


def test_what_nobody_waits_for_gives_way_to_what_somebody_waits_for() -> None:
    async def stand() -> tuple[list[bool], bool]:
        line, ended = Line(), []
        gone, again, other = (Call(name=name) for name in ("the book of A", "the book of A", "the plan of B"))
        await line.turn(gone)
        gone.ended_by(line.next)
        line.left(gone)
        waiting = [asyncio.create_task(line.turn(again))]
        await asyncio.sleep(0)
        ended.append(gone.ended)
        waiting.append(asyncio.create_task(line.turn(other)))
        await asyncio.sleep(0.001)
        ended.append(gone.ended)
        return ended, line.at_work is again

    assert asyncio.run(stand()) == ([False, True], True)


def test_the_charts_of_one_build_hold_up_no_reading_of_another() -> None:
    lanes, chart, reading, tick = Lanes(), How("meter", False), How("meter", True), How("log", True)
    one, other = (Path("one.toml"), ""), (Path("other.toml"), "")
    at_work = lanes._lane(chart, one)
    assert at_work is lanes._lane(reading, one)
    assert lanes._lane(chart, other) is not at_work
    assert lanes._lane(chart, (Path("third.toml"), "")) is lanes._lane(chart, (Path("one.toml"), "2"))
    assert lanes._lane(tick, one) is lanes._lane(tick, other)


def test_two_servers_on_one_folder_lose_nothing(dunlin: Path) -> None:
    async def do(lanes: Lanes) -> None:
        other = Lanes()
        try:
            ticks = [
                each.ask("tick", dunlin, "", {"cards": [card]}, command=f"{card:032x}")
                for card, each in zip(range(1, 21), [lanes, other] * 10, strict=True)
            ]
            await asyncio.gather(*ticks)
            for each in (lanes, other):
                cards = (await each.ask("work state", dunlin, "", {}))["cards"]
                done = [number for number, card in cards.items() if card["state"] == "done"]
                assert done == [str(card) for card in range(1, 21)]
        finally:
            await other.stop()

    with_lanes(do)
    entries = Log(dunlin.with_suffix(".log.sqlite")).entries(["job checked"])
    assert len(entries) == len({each.subject for each in entries}) == 20


def test_a_worker_keeps_its_memory_unless_the_server_is_told_otherwise(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("MALLOC_MMAP_THRESHOLD_", "MALLOC_TRIM_THRESHOLD_"):
        monkeypatch.delenv(name, raising=False)
    assert surroundings()["MALLOC_MMAP_THRESHOLD_"] == str(32 << 20)
    assert surroundings()["MALLOC_TRIM_THRESHOLD_"] == str(256 << 20)
    monkeypatch.setenv("MALLOC_TRIM_THRESHOLD_", "131072")
    assert surroundings()["MALLOC_TRIM_THRESHOLD_"] == "131072"
