"""A served bench gets whatever a socket and a request can carry; it answers plainly, and goes on."""

from __future__ import annotations

import asyncio
import json
import logging
import string
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import quote

import pytest
from hypothesis import HealthCheck, Phase, given, seed, settings
from hypothesis import strategies as st
from websockets.asyncio.client import ClientConnection, connect
from websockets.exceptions import ConnectionClosed

from lugwright.log.store import Log
from lugwright.web.asked.asked import LONG
from lugwright.web.asked.table import ASKED
from lugwright.web.serve import Bench

from .odd_args import ODD, anything, args_for, words
from .served import exchanged, port_of, request, running, status_of

MESSAGES, REQUESTS = 200, 250
OWN = (".toml", ".plan.json", ".log.sqlite", ".log.sqlite-wal", ".log.sqlite-shm", ".photos")
QUICK = sorted(name for name, asked in ASKED.items() if asked.lane != LONG)
SETTINGS = settings(deadline=None, database=None, phases=[Phase.generate], suppress_health_check=list(HealthCheck))


class Complaints(logging.Handler):
    """What the server would print as an error."""

    def __init__(self) -> None:
        super().__init__(logging.ERROR)
        self.heard: list[str] = []

    def emit(self, record: logging.LogRecord) -> None:
        self.heard.append(record.getMessage())


@pytest.fixture(scope="module")
def complaints() -> Iterator[list[str]]:
    """Return what the server has complained of."""
    handler = Complaints()
    for name in ("uvicorn.error", "asyncio"):
        logging.getLogger(name).addHandler(handler)
    yield handler.heard
    for name in ("uvicorn.error", "asyncio"):
        logging.getLogger(name).removeHandler(handler)


@pytest.fixture(scope="module")
def bench(folder: Path, complaints: list[str]) -> Iterator[Bench]:
    """Return a bench that serves it."""
    with running(folder) as found:
        yield found


@pytest.fixture(autouse=True)
def _nothing_left_behind(bench: Bench, folder: Path, complaints: list[str]) -> Iterator[None]:
    text = (folder / "dunlin_5.toml").read_bytes()
    yield
    assert complaints == []
    assert (folder / "dunlin_5.toml").read_bytes() == text
    assert [each.name for each in folder.parent.iterdir()] == ["builds"]
    names = {each.name for each in folder.iterdir()}
    assert names <= {
        f"dunlin_5{end}"
        for end in (".toml", ".plan.json", ".log.sqlite", ".log.sqlite-wal", ".log.sqlite-shm", ".photos")
    }
    Log(folder / "dunlin_5.log.sqlite").entries()
    assert status_of(exchanged(port_of(bench), request(port_of(bench), "/build/dunlin-5/work"))) == 200


builds = st.one_of(st.just("dunlin-5"), st.just("dunlin-5"), st.just("none"), words)
whats = st.one_of(st.sampled_from(QUICK), words)
cids = st.one_of(st.integers(0, 2**128 - 1).map("{:032x}".format), words)


@st.composite
def messages(draw: st.DrawFn) -> Any:
    """Return a message: mostly one that a page could send."""
    what = draw(whats)
    args = draw(args_for(ASKED[what].args) if what in ASKED else anything)
    kind = draw(st.sampled_from(["ask", "deed", "errand", "hello", "cancel", "there?", "odd"]))
    message: dict[str, Any] = {"t": kind, "what": what, "build": draw(builds), "args": args}
    if kind == "ask":
        message["id"] = draw(st.integers(-1, 2**60))
    elif kind in ("deed", "errand"):
        message["cid"] = draw(cids)
    else:
        told = {"hello": ("build",), "cancel": ("what", "build")}.get(kind, ())
        message = {"t": kind, **{name: message[name] for name in told}}
    if draw(st.booleans()):
        message["copy"] = draw(st.one_of(st.just("1"), words))
    if draw(st.integers(0, 9)) == 0:
        message[draw(words)] = draw(anything)
    return message


raw = st.one_of(
    messages().map(json.dumps),
    messages().map(json.dumps),
    messages().map(lambda message: json.dumps(message)[:-1]),
    anything.map(json.dumps),
    st.text(max_size=200).filter(lambda text: not any("\ud800" <= each <= "\udfff" for each in text)),
    st.binary(max_size=200),
    st.sampled_from([
        "", "null", "[" * 150_000, '{"t":' * 20_000, "9" * 199_000, '{"t":"there?"}' * 2, "\0", "NaN", "Infinity",
        '{"t":"ask","id":1e999,"what":"outline","build":"dunlin-5"}',
        '{"t":"ask","id":1,"what":"outline","build":"dunlin-5","args":{"x":NaN}}',
        '{"t":"ask","id":1,"what":"outline","build":"dunlin-5","args":{"x":1e999}}',
        '{"t":"ask","id":1,"what":"outline","build":"dunlin-5","args":{"x":"\\ud800"}}',
        '{"t":"ask","id":1,"what":"outline","build":"dunlin-5","args":{"x":' + "9" * 5000 + "}}",
        '{"t":"ask","id":1,"what":"outline","build":"dunlin-5","args":{"x":' + "[" * 100 + "]" * 100 + "}}",
        '{"t":"ask","id":1,"id":2,"what":"outline","build":"dunlin-5"}',
        "x" * 200_001, "x" * 1_000_000,
    ]),
)  # fmt: skip


LAST: list[dict[str, Any]] = [
    {"t": "deed", "cid": "f" * 32, "what": "tick", "build": "dunlin-5", "args": {"no": "such"}},
    {"t": "ask", "id": 2**53 - 1, "what": "outline", "build": "dunlin-5", "args": {"no": "such"}},
    {"t": "there?"},
]


class Talk:
    """A socket that is opened again when the server has closed it."""

    def __init__(self, port: int) -> None:
        self._port = port
        self._socket: ClientConnection | None = None

    async def say(self, message: str | bytes) -> list[dict[str, Any]]:
        """Return what is said after a message, up to the answer to it."""
        if self._socket is None:
            origin = f"http://127.0.0.1:{self._port}"
            self._socket = await connect(f"ws://127.0.0.1:{self._port}/socket", origin=origin, max_size=None)  # type: ignore[arg-type]
        heard: list[dict[str, Any]] = []
        try:
            await self._socket.send(message)
            for last in LAST:  # what came before it in the same lane is answered by then
                await self._socket.send(json.dumps(last))
            ends = {"done" + LAST[0]["cid"], f"answer{LAST[1]['id']}"}
            while ends:
                heard.append(json.loads(await asyncio.wait_for(self._socket.recv(), 60)))
                ends.discard(f"{heard[-1]['t']}{heard[-1].get('cid', heard[-1].get('id'))}")
        except ConnectionClosed as closed:
            self._socket = None
            heard.append({"t": "closed", "code": closed.rcvd.code if closed.rcvd else 1006})
        return heard

    async def close(self) -> None:
        """Close it."""
        if self._socket is not None:
            await self._socket.close()


def test_a_socket_takes_whatever_comes(bench: Bench) -> None:
    loop = asyncio.new_event_loop()
    talk = Talk(port_of(bench))
    kinds: set[str] = set()

    @seed(20261126)
    @settings(SETTINGS, max_examples=MESSAGES)
    @given(raw)
    def say(message: str | bytes) -> None:
        for heard in loop.run_until_complete(talk.say(message)):
            kinds.add(heard["t"])
            text = json.dumps(heard)
            assert "Traceback" not in text
            assert "a defect of this program" not in text, (message, heard)
            if "error" in heard:
                assert set(heard["error"]) == {"what", "found", "wanted", "do"}
            if heard["t"] == "closed":
                assert isinstance(message, bytes) or len(message) > 200_000, (message, heard)
                assert heard["code"] != 1011

    say()
    loop.run_until_complete(talk.close())
    loop.close()
    assert {"answer", "not understood", "here", "closed", "done"} <= kinds


pieces = st.one_of(
    st.sampled_from(["build", "dunlin-5", "static", "photos", "tables", "book", "A4", "Letter", "parts.csv", "work",
                     "wiring", "power-up", "socket", "look.css", "fonts", "devices", "pair", "", ".", "..", "none"]),
    st.sampled_from(ODD[:-1]).map(lambda text: text[:300]),
    st.text(string.printable, max_size=20),
)  # fmt: skip


def _quoted(text: str) -> str:
    return quote(text.encode("utf-8", "surrogatepass"), safe="")


targets = st.builds(
    lambda path, query: "/" + "/".join(map(_quoted, path)) + ("?" + query if query else ""),
    st.lists(pieces, max_size=6),
    st.one_of(st.just(""), st.builds(lambda name, value: f"{name}={_quoted(value)}",
              st.sampled_from(["copy", "cid", "about", "text", "x"]), st.one_of(words, st.just("0" * 32)))),
)  # fmt: skip
HEADERS = (
    "Content-Type: image/png", "Content-Type: application/json", "Range: bytes=0-5", "Range: bytes=9-1,x",
    "If-None-Match: *", "If-Modified-Since: never", "Accept-Encoding: gzip;q=x", "Cookie: \xff=\xff; ;=",
    "Origin: null",
    "Sec-Fetch-Site: cross-site", "Expect: 100-continue", "Content-Encoding: gzip",
)  # fmt: skip
METHODS = ("GET", "GET", "GET", "HEAD", "POST", "POST", "PUT", "OPTIONS")
sent_headers = st.lists(st.sampled_from(HEADERS), max_size=3)
pictures = st.just(b"\x89PNG\r\n\x1a\n" + b"\0" * 3000)
bodies = st.one_of(st.just(b""), st.binary(max_size=500), pictures, st.just(b"[" * 100_000))


def test_any_request_gets_a_plain_answer(bench: Bench) -> None:
    port = port_of(bench)
    statuses: set[int] = set()

    @seed(20261126)
    @settings(SETTINGS, max_examples=REQUESTS)
    @given(
        st.sampled_from(["GET", "GET", "GET", "HEAD", "POST", "POST", "PUT", "OPTIONS"]), targets, sent_headers, bodies
    )
    def ask(method: str, target: str, headers: list[str], body: bytes) -> None:
        own = [f"Origin: http://127.0.0.1:{port}"] if method == "POST" and "Origin: null" not in headers else []
        answer = exchanged(port, request(port, target, *own, *headers, method=method, body=body))
        status = status_of(answer)
        statuses.add(status)
        assert 200 <= status < 500, (method, target, headers, answer[:300])
        assert b"Traceback" not in answer
        assert b"/builds/" not in answer

    ask()
    assert {200, 404, 405, 415} <= statuses


def test_twelve_tabs_and_a_crowd_of_questions_are_all_answered(bench: Bench) -> None:
    port = port_of(bench)

    async def tab(number: int) -> tuple[int, int]:
        origin = f"http://127.0.0.1:{port}"
        async with connect(f"ws://127.0.0.1:{port}/socket", origin=origin, max_size=None) as socket:  # type: ignore[arg-type]
            await socket.send('{"t":"hello","build":"dunlin-5"}')
            for k in range(100):
                await socket.send(json.dumps({"t": "ask", "id": k, "what": "work state", "build": "dunlin-5"}))
            found: dict[int, bool] = {}
            while len(found) < 100:
                message = json.loads(await asyncio.wait_for(socket.recv(), 60))
                if message["t"] == "answer":
                    found[message["id"]] = "answer" in message
                    assert message.get("error", {}).get("what", "too much is asked at once") in (
                        "too much is asked at once", "work state has to wait",
                    )  # fmt: skip
            return number, sum(found.values())

    async def all_tabs() -> list[tuple[int, int]]:
        return await asyncio.gather(*(tab(number) for number in range(12)))

    answered = asyncio.run(all_tabs())
    assert len(answered) == 12
    assert sum(count for _, count in answered) >= 256


def test_a_tab_that_never_reads_holds_up_nobody_and_fills_no_memory(bench: Bench) -> None:
    port = port_of(bench)

    async def talk() -> None:
        origin = f"http://127.0.0.1:{port}"
        address = f"ws://127.0.0.1:{port}/socket"
        deaf = await connect(address, origin=origin, max_size=None, max_queue=1)  # type: ignore[arg-type]
        await deaf.send('{"t":"hello","build":"dunlin-5"}')
        for k in range(60):
            await deaf.send(json.dumps({"t": "ask", "id": k, "what": "wiring", "build": "dunlin-5"}))
        async with connect(address, origin=origin, max_size=None) as other:  # type: ignore[arg-type]
            await other.send('{"t":"hello","build":"dunlin-5"}')
            note = {"t": "deed", "cid": "e" * 32, "what": "note", "build": "dunlin-5", "args": {"text": "x"}}
            await other.send(json.dumps(note))
            kinds: list[str] = []
            while not {"done", "changed"} <= set(kinds):
                kinds.append(json.loads(await asyncio.wait_for(other.recv(), 60))["t"])
        deaf.transport.abort()

    asyncio.run(talk())
    assert threading.active_count() < 50
