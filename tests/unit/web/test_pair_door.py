"""A bench with a second address for devices: what they get before the code and after it."""

from __future__ import annotations

import asyncio
import json
import re
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from websockets.asyncio.client import connect
from websockets.exceptions import ConnectionClosed, InvalidStatus

from lugwright.web.guard import policy
from lugwright.web.serve import Bench

from .served import exchanged, headers_of, port_of, request, running, status_of

THERE = "127.0.0.2"  # as good as an address of a network: the bench tells devices by the address they come in at


@pytest.fixture(scope="module")
def told() -> list[str]:
    """Return what a terminal would show."""
    return []


@pytest.fixture(scope="module")
def opened(planned_dunlin: Path, tmp_path_factory: pytest.TempPathFactory, told: list[str]) -> Iterator[Bench]:
    """Return a bench with the Dunlin that devices may use."""
    folder = tmp_path_factory.mktemp("door")
    for each in (planned_dunlin, planned_dunlin.with_suffix(".plan.json")):
        shutil.copy(each, folder)
    with running(folder, host=THERE, told=told) as found:
        yield found


@pytest.fixture
def bench(opened: Bench, told: list[str]) -> Bench:
    """Return it with a fresh code and no device."""
    assert opened.pairing is not None
    for device in opened.pairing.devices:
        opened.pairing.end(device.number)
    opened.pairing.open_code()
    told.clear()
    return opened


def asked(bench: Bench, target: str, *headers: str, method: str = "GET", body: bytes = b"", host: str = "") -> bytes:
    """Return what a device gets."""
    host = host or f"{THERE}:{port_of(bench)}"
    origin = [f"Origin: http://{host}"] if method == "POST" and not any(h.startswith("Origin") for h in headers) else []
    sent = request(port_of(bench), target, *origin, *headers, method=method, body=body, host=host)
    return exchanged(port_of(bench), sent, address=THERE)


FORM = "Content-Type: application/x-www-form-urlencoded"


def paired(bench: Bench, code: str = "") -> bytes:
    assert bench.pairing is not None
    return asked(bench, "/pair", FORM, method="POST", body=f"code={code or bench.pairing.code}".encode())


def cookie_of(answer: bytes) -> str:
    return "Cookie: " + headers_of(answer)["set-cookie"].split(";")[0]


@pytest.mark.parametrize(
    "target",
    ["/", "/build/dunlin-5/work", "/build/dunlin-5/tables/parts.csv", "/build/none/work", "/devices", "/pair",
     "/static/bench.js", "/static/look.css/../bench.js", "/static/%2e%2e/app.py", "/build/x/photos/x.css",
     "/nowhere.css"],
)  # fmt: skip
def test_a_device_that_is_not_paired_gets_the_question_for_the_code(bench: Bench, target: str) -> None:
    answer = asked(bench, target)
    assert status_of(answer) == 401
    assert b"<h1>Pair this device with the bench</h1>" in answer
    assert b"Dunlin" not in answer
    assert headers_of(answer)["content-security-policy"] == policy(f"{THERE}:{port_of(bench)}")
    assert headers_of(answer)["cache-control"] == "no-store"
    assert "cross-origin-opener-policy" not in headers_of(answer)


def test_the_question_is_shown_as_it_is_meant_and_nothing_else_is_open(bench: Bench) -> None:
    for target in ("/static/look.css", "/static/devices.css", "/static/icon.svg", "/static/fonts/sans.woff2"):
        assert status_of(asked(bench, target)) == 200
    for target in ("/build/dunlin-5/photos", "/devices/code", "/devices/end"):
        kind = "Content-Type: image/png" if "photos" in target else FORM
        answer = asked(bench, target, kind, method="POST", body=b"x")
        assert (status_of(answer), answer.split(b"\r\n\r\n")[1]) == (401, b"this device is not paired")


def test_a_code_opens_everything_but_the_devices(bench: Bench, told: list[str]) -> None:
    answer = paired(bench)
    port = port_of(bench)
    assert status_of(answer) == 303
    assert headers_of(answer)["location"] == "/"
    assert re.fullmatch(
        rf"lugwright-{port}=[\w-]{{43}}; HttpOnly; Max-Age=2592000; Path=/; SameSite=strict",
        headers_of(answer)["set-cookie"],
    )
    cookie = cookie_of(answer)
    shelf = asked(bench, "/", cookie)
    assert status_of(shelf) == 200
    assert b"Dunlin" in shelf
    assert b"/devices" not in shelf
    for target in ("/devices", "/devices/code", "/devices/"):
        refused = asked(bench, target, cookie)
        assert (status_of(refused), refused.split(b"\r\n\r\n")[1]) == (403, b"only on the machine of the bench")
    again = asked(bench, "/pair", cookie)
    assert (status_of(again), headers_of(again)["location"]) == (303, "/")
    assert re.fullmatch(r"device \d+ is paired, at 127\.0\.0\.\d", "".join(told))


def test_a_code_that_was_used_opens_nothing(bench: Bench) -> None:
    assert bench.pairing is not None
    code = bench.pairing.code
    assert status_of(paired(bench, code)) == 303
    answer = paired(bench, code)
    assert status_of(answer) == 403
    assert b"the last one has been used: each is for one device" in answer
    assert "set-cookie" not in headers_of(answer)


def test_a_wrong_code_opens_nothing(bench: Bench, told: list[str]) -> None:
    assert bench.pairing is not None
    bench.pairing.misses = 0
    wrong = f"{(int(bench.pairing.code) + 1) % 10**8:08d}"
    answer = paired(bench, wrong)
    assert status_of(answer) == 403
    assert b"<h2>this is not the code</h2>" in answer
    assert re.fullmatch(r"a wrong code from 127\.0\.0\.\d \(1 of 8\)", told[0])


@pytest.mark.parametrize(
    ("headers", "body", "status"),
    [
        ([FORM, "Origin: null"], b"code=1", 403),
        ([FORM, "Origin: http://127.0.0.1:1"], b"code=1", 403),
        (["Content-Type: text/plain"], b"code=1", 415),
        (["Content-Type: application/json"], b"{}", 415),
        ([FORM], b"code=" + b"1" * 100_000, 403),
        ([FORM], b"\xff\x00%ff=&&&code", 403),
        ([FORM], b"code=<script>", 403),
    ],
)
def test_what_is_sent_in_place_of_a_code_opens_nothing(
    bench: Bench, headers: list[str], body: bytes, status: int
) -> None:
    answer = asked(bench, "/pair", *headers, method="POST", body=body)
    assert status_of(answer) == status
    assert b"<script" not in answer
    assert "set-cookie" not in headers_of(answer)


@pytest.mark.parametrize(
    "cookie", ["lugwright-{port}=x", "lugwright-1={token}", "{token}", "a=b; c", "=", '"', "x" * 9000]
)
def test_other_cookies_open_nothing(bench: Bench, cookie: str) -> None:
    token = cookie_of(paired(bench)).partition("=")[2]
    shown = cookie.replace("{port}", str(port_of(bench))).replace("{token}", token)
    assert status_of(asked(bench, "/", f"Cookie: {shown}")) == 401
    right = f"Cookie: lugwright-{port_of(bench)}=x; {shown}; lugwright-{port_of(bench)}={token}"
    assert status_of(asked(bench, "/", right)) == 200


@pytest.mark.parametrize("host", ["127.0.0.1", "localhost", "bench.example", "127.0.0.3", "[::1]"])
def test_no_other_name_is_answered_at_the_address_for_devices(bench: Bench, host: str) -> None:
    answer = asked(bench, "/", host=f"{host}:{port_of(bench)}")
    assert (status_of(answer), answer.split(b"\r\n\r\n")[1]) == (421, b"unknown Host")


def test_this_machine_needs_no_code_lets_devices_in_and_sends_them_away(bench: Bench) -> None:
    port = port_of(bench)
    home = f"Origin: http://127.0.0.1:{port}"
    assert b'href="/devices"' in exchanged(port, request(port, "/"))
    assert bench.pairing is not None
    code = bench.pairing.code
    page = exchanged(port, request(port, "/devices"))
    assert f"{code[:4]} {code[4:]}".encode() in page
    assert f"http://{THERE}:{port}/".encode() in page
    answer = exchanged(port, request(port, "/devices/code", home, FORM, method="POST", body=b"x"))
    assert (status_of(answer), headers_of(answer)["location"]) == (303, "/devices")
    assert bench.pairing.code not in ("", code)
    cookie = cookie_of(paired(bench))
    assert status_of(asked(bench, "/", cookie)) == 200
    number = bench.pairing.devices[0].number
    for body in (f"device={number + 1}".encode(), b"device=x", b"device=%d9%a1", b"device", b"device=" + b"1" * 500):
        sent = request(port, "/devices/end", home, FORM, method="POST", body=body)
        assert status_of(exchanged(port, sent)) == 303
    assert f'aria-label="End device {number}"'.encode() in exchanged(port, request(port, "/devices"))
    exchanged(port, request(port, "/devices/end", home, FORM, method="POST", body=f"device={number}".encode()))
    assert status_of(asked(bench, "/", cookie)) == 401
    assert b"No device is paired." in exchanged(port, request(port, "/devices"))


def test_the_page_of_the_devices_takes_nothing_from_other_sites(bench: Bench) -> None:
    port = port_of(bench)
    assert bench.pairing is not None
    code = bench.pairing.code
    for origin in ("null", "http://evil.example", f"http://{THERE}:{port}", f"http://localhost:{port}"):
        sent = request(port, "/devices/code", f"Origin: {origin}", FORM, method="POST", body=b"x")
        assert status_of(exchanged(port, sent)) == 403
    assert bench.pairing.code == code


def test_a_socket_is_opened_for_paired_devices_and_closed_when_they_are_sent_away(bench: Bench) -> None:
    port = port_of(bench)
    address, origin = f"ws://{THERE}:{port}/socket", f"http://{THERE}:{port}"

    async def talk(cookie: str) -> str:
        for headers in ({}, {"Cookie": "lugwright=x"}):
            with pytest.raises(InvalidStatus, match="HTTP 403"):
                await connect(address, origin=origin, additional_headers=headers)  # type: ignore[arg-type]
        with pytest.raises(InvalidStatus, match="HTTP 403"):
            await connect(address, origin="http://evil.example", additional_headers={"Cookie": cookie})  # type: ignore[arg-type]
        async with connect(address, origin=origin, additional_headers={"Cookie": cookie}) as socket:  # type: ignore[arg-type]
            await socket.send('{"t":"there?"}')
            answer = str(await socket.recv())
            assert bench.pairing is not None
            number = bench.pairing.devices[0].number
            bench.server.servers[0].get_loop().call_soon_threadsafe(bench.pairing.end, number)
            with pytest.raises(ConnectionClosed):
                await asyncio.wait_for(socket.recv(), 20)
            return answer

    assert json.loads(asyncio.run(talk(cookie_of(paired(bench)).removeprefix("Cookie: ")))) == {"t": "here"}
