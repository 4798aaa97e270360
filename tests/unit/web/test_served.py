"""A real server, asked by sockets: what is odd, too large or too slow gets a plain refusal."""

from __future__ import annotations

import socket
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from lugwright.web import guard, patience
from lugwright.web.guard import policy

from .served import exchanged, headers_of, heard, request, status_of


def _post(port: int, *headers: str, target: str = "/build/dunlin-5/photos", body: bytes = b"x") -> bytes:
    return request(port, target, f"Origin: http://127.0.0.1:{port}", *headers, method="POST", body=body)


@pytest.mark.parametrize(
    ("target", "status"),
    [
        ("/", 200),
        ("/build/dunlin-5/work", 200),
        ("/build/dunlin-5", 303),
        ("/build/none/work", 404),
        ("/static/look.css", 200),
        ("/static/none.css", 404),
        ("/nowhere", 404),
        ("/socket", 404),
        ("/build/dunlin-5/tables/none.csv", 404),
        ("/build/dunlin-5/take/plan.json", 200),
        ("/build/dunlin-5/take/none.dxf", 404),
        ("/build/dunlin-5/book/A4/none.html", 404),
        ("/build/dunlin-5/photos/none.jpg", 404),
    ],
)
def test_every_answer_says_what_it_may_load_and_that_nobody_keeps_it(port: int, target: str, status: int) -> None:
    answer = exchanged(port, request(port, target))
    headers = headers_of(answer)
    assert status_of(answer) == status
    assert headers["content-security-policy"] == policy(f"127.0.0.1:{port}")
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["x-frame-options"] == "DENY"
    assert headers["referrer-policy"] == "same-origin"
    assert headers["cross-origin-resource-policy"] == headers["cross-origin-opener-policy"] == "same-origin"
    assert headers["permissions-policy"].startswith("camera=(), microphone=(), geolocation=(), midi=(), usb=()")
    assert headers["cache-control"] == ("no-cache" if target.startswith("/static/") else "no-store")
    assert "server" not in headers
    assert "set-cookie" not in headers
    assert b"Traceback" not in answer


def test_a_refusal_has_the_headers_too(port: int) -> None:
    answer = exchanged(port, request(port, "/", host=f"evil.example:{port}"))
    assert answer.endswith(b"\r\n\r\nunknown Host")
    assert status_of(answer) == 421
    assert headers_of(answer)["content-security-policy"] == policy(f"evil.example:{port}")
    assert headers_of(answer)["cache-control"] == "no-store"
    assert "cross-origin-opener-policy" not in headers_of(answer)


@pytest.mark.parametrize(
    "target",
    [
        "/static/../app.py",
        "/static/%2e%2e/app.py",
        "/static/..%2fapp.py",
        "/static/..%5capp.py",
        "/static/%252e%252e%252fapp.py",
        "/static//etc/passwd",
        "/static/%2fetc%2fpasswd",
        "/static/../../../../../../../../etc/passwd",
        "/static/look.css%00.png",
        "/static/%00",
        "/static/fonts",
        "/static/",
        "/static/%ff%fe",
        "/static/" + "a" * 5000,
        "/build/..%2f..%2fetc/work",
        "/build/%2e%2e/work",
        "/build/dunlin-5%2f..%2f..%2fetc",
        "/build/dunlin-5/photos/..%2fdunlin_5.toml",
        "/build/dunlin-5/photos/dunlin_5.toml",
        "/build/dunlin-5/photos/%00.jpg",
        "/build/dunlin-5/photos/" + "a" * 300 + ".jpg",
        "/build/dunlin-5/tables/..%2fparts.csv",
        "/build/dunlin-5/book/A4/made.json",
        "/build/dunlin-5/book/A4/..%2f..%2fdunlin_5.toml",
        "/build/dunlin-5/book/..%2f/x",
        "http://evil.example/",
        "//evil.example/%2e%2e",
    ],
)
def test_no_address_leads_to_a_file_that_is_not_meant(port: int, target: str) -> None:
    answer = exchanged(port, request(port, target))
    assert status_of(answer) == 404, answer[:200]
    assert b"root:" not in answer
    assert b"format = 1" not in answer
    assert b"Traceback" not in answer


@pytest.mark.parametrize(
    ("lines", "status"),
    [
        ("GET / HTTP/1.1\r\nHost: {own}\r\nHost: {own}", 400),
        ("GET / HTTP/1.1\r\nHost: {own}\r\nhost: evil.example", 400),
        ("GET / HTTP/1.1\r\nConnection: close", 400),
        ("GET / HTTP/1.0\r\nConnection: close", 400),
        ("GET http://127.0.0.1:1/ HTTP/1.1\r\nHost: evil.example", 421),
        ("GET / HTTP/1.1\r\nHost: {own}\r\nX : y", 400),
        ("GET / HTTP/1.1\r\n Host: {own}", 400),
        ("GET / HTTP/1.1\r\nHost: {own}\r\nContent-Length: 1\r\nContent-Length: 2", 400),
        ("GET / HTTP/1.1\r\nHost: {own}\r\nContent-Length: -1", 400),
        ("GET / HTTP/1.1\r\nHost: {own}\r\nTransfer-Encoding: gzip, chunked", 400),
        ("GET  / HTTP/1.1\r\nHost: {own}", 400),
        ("GET /\x7f HTTP/1.1\r\nHost: {own}", 400),
        ("GET /\u00e9 HTTP/1.1\r\nHost: {own}", 400),
        ("OPTIONS * HTTP/1.1\r\nHost: {own}", 405),
        ("TRACE / HTTP/1.1\r\nHost: {own}", 405),
        ("CONNECT evil.example:443 HTTP/1.1\r\nHost: {own}", 405),
        ("\x16\x03\x01\x02", 400),
        ("GET /socket HTTP/1.1\r\nHost: {own}\r\nConnection: Upgrade\r\nUpgrade: h2c", 404),
        (
            "GET / HTTP/1.1\r\nHost: {own}\r\nX-Forwarded-For: 1.2.3.4\r\nX-Forwarded-Host: evil\r\nConnection: close",
            200,
        ),
    ],
)
def test_requests_that_are_out_of_order_are_refused(port: int, lines: str, status: int) -> None:
    own = f"127.0.0.1:{port}"
    text = lines.replace("{own}", own) + ("" if "onnection:" in lines else "\r\nConnection: close") + "\r\n\r\n"
    answer = exchanged(port, text.encode("latin1"))
    assert status_of(answer) == status, answer[:300]
    assert b"Traceback" not in answer


@pytest.mark.parametrize(
    ("sent", "status"),
    [
        (("/" + "a" * 7_900,), 404),
        (("/" + "a" * 8_100,), 414),
        (("/?" + "a" * 100_000,), 414),
        (("/", "X: " + "a" * 33_000), 431),
        (("/", *(f"X{k}: a" for k in range(8_000))), 431),
        (("/", "X: " + "a" * 1_000_000), 400),
    ],
)
def test_what_is_too_long_is_refused(port: int, sent: tuple[str, ...], status: int) -> None:
    target, *headers = sent
    cut_off = {400} if status > 404 else set()  # what comes in several pieces is cut off by the reader of headers
    assert status_of(exchanged(port, request(port, target, *headers))) in {status, *cut_off}


@pytest.mark.parametrize("target", ["/", "/build/dunlin-5/work", "/static/look.css", "/nowhere", "/socket"])
def test_nothing_can_be_sent_where_nothing_is_taken(port: int, target: str) -> None:
    sent = _post(port, "Content-Type: application/json", target=target, body=b"[" * 1_000_000)
    assert status_of(exchanged(port, sent)) in (0, 404, 405)


@pytest.mark.parametrize(
    ("kind", "body", "status", "words"),
    [
        ("image/jpeg", b"x" * 3, 400, b"bad request"),
        ("image/svg+xml", b"<svg/>", 415, b"only image/jpeg or image/png or image/webp is taken here"),
        ("application/json", b"{}", 415, b"only image/jpeg or image/png or image/webp is taken here"),
    ],
)
def test_photos_without_what_belongs_to_them_are_refused(
    port: int, kind: str, body: bytes, status: int, words: bytes
) -> None:
    answer = exchanged(port, _post(port, f"Content-Type: {kind}", body=body))
    assert (status_of(answer), answer.split(b"\r\n\r\n")[1]) == (status, words)


def test_a_photo_that_is_none_is_not_read_to_its_end(port: int) -> None:
    target = f"/build/dunlin-5/photos?cid={'0' * 32}&about=x"
    answer = exchanged(port, _post(port, "Content-Type: image/png", target=target, body=b"no picture" * 2_000_000))
    assert status_of(answer) in (0, 422)


def test_a_client_that_asks_for_nothing_is_let_go(port: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(patience, "ASKS_WITHIN_S", 0.3)
    for begun in (b"", b"GET / HTTP/1.1\r\nHost: "):
        with socket.create_connection(("127.0.0.1", port), timeout=20) as connection:
            connection.sendall(begun)
            assert heard(connection) == b""


def test_a_client_whose_second_request_does_not_come_to_an_end_is_let_go(
    port: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(patience, "ASKS_WITHIN_S", 0.3)
    with socket.create_connection(("127.0.0.1", port), timeout=20) as connection:
        connection.sendall(request(port, "/nowhere").replace(b"Connection: close\r\n", b"") + b"GET / HT")
        assert status_of(heard(connection)) == 404


def test_a_picture_that_does_not_come_to_an_end_is_given_up(port: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(guard, "BODY_WITHIN_S", 0.3)
    target = f"/build/dunlin-5/photos?cid={'0' * 32}&about=x"
    sent = _post(port, "Content-Type: image/png", target=target, body=b"\x89PNG\r\n\x1a\n" + b"x" * 5000)
    with socket.create_connection(("127.0.0.1", port), timeout=20) as connection:
        connection.sendall(sent[:-100])
        assert status_of(heard(connection)) == 400


@pytest.fixture
def large(folder: Path) -> Iterator[tuple[str, int]]:
    """Return the address of a picture that no buffer on the way holds, and its size."""
    photos = folder / "dunlin_5.photos"
    photos.mkdir(exist_ok=True)
    picture = photos / "large-000000000000.jpg"
    picture.write_bytes(b"\xff\xd8\xff" + bytes(24 * 1024 * 1024))
    yield f"/build/dunlin-5/photos/{picture.name}", picture.stat().st_size
    picture.unlink()


def _asking(port: int, target: str, *, room: int) -> socket.socket:
    """Return a connection with so much room of its own that has asked for something. [bytes]"""
    connection = socket.socket()
    connection.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, room)
    connection.settimeout(20)
    connection.connect(("127.0.0.1", port))
    connection.sendall(request(port, target))
    return connection


def test_a_client_that_takes_nothing_in_is_let_go(
    port: int, large: tuple[str, int], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(patience, "TAKES_WITHIN_S", 0.3)
    target, size = large
    with _asking(port, target, room=4096) as connection:
        time.sleep(2.0)
        assert len(heard(connection)) < size


def test_a_client_that_takes_it_in_slowly_gets_all_of_it(
    port: int, large: tuple[str, int], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(patience, "TAKES_WITHIN_S", 0.3)
    monkeypatch.setattr(patience, "ASKS_WITHIN_S", 0.3)
    target, size = large
    taken = 0
    with _asking(port, target, room=256 * 1024) as connection:
        for _ in range(10):
            time.sleep(0.1)
            taken += len(connection.recv(256 * 1024))
        taken += len(heard(connection))
    assert taken > size


def test_the_server_answers_others_while_some_are_slow(port: int) -> None:
    slow = [socket.create_connection(("127.0.0.1", port), timeout=20) for _ in range(50)]
    for connection in slow:
        connection.sendall(b"GET / HTTP/1.1\r\n")
    began = time.monotonic()
    assert status_of(exchanged(port, request(port, "/static/look.css"))) == 200
    assert time.monotonic() - began < 5.0  # not one of their time limits
    for connection in slow:
        connection.close()


def test_without_tablets_there_is_no_page_for_them(port: int) -> None:
    for target in ("/devices", "/pair", "/devices/code"):
        assert status_of(exchanged(port, request(port, target))) == 404
    assert b"/devices" not in exchanged(port, request(port, "/"))
