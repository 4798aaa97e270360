"""The guard: every way in which something could come that is not from our own pages, and what it gets."""

from __future__ import annotations

from typing import Any

import pytest

from lugwright.web.guard import FORM, LOOPBACK, PICTURES, Guard, policy

Header = tuple[str, str]
OWN: list[Header] = [("host", "127.0.0.1:8463"), ("origin", "http://127.0.0.1:8463")]
JSON: Header = ("content-type", "application/json")


async def _nothing(scope: Any, receive: Any, send: Any) -> None:
    raise AssertionError


GUARD = Guard(
    _nothing, port=8463,
    doors={"127.0.0.1": LOOPBACK, "192.0.2.7": {"192.0.2.7"}, "2001:db8::7": {"2001:db8::7"}},
    takes={r"/build/[^/]+/photos": PICTURES, "/pair": FORM},
)  # fmt: skip


def _refusal(
    *headers: Header, method: str = "GET", path: str = "/", door: str = "127.0.0.1", kind: str = "http"
) -> tuple[int, str] | None:
    scope: dict[str, Any] = {
        "type": kind, "path": path, "server": (door, 8463),
        "headers": [(name.encode("latin1"), value.encode("latin1")) for name, value in headers],
    }  # fmt: skip
    if kind == "http":
        scope["method"] = method
    return GUARD.refusal(scope)


BAD, UNKNOWN = (400, "bad Host"), (421, "unknown Host")
TWICE = (400, "a header that has to be there once is there twice")


@pytest.mark.parametrize("host", ["127.0.0.1:8463", "localhost:8463", "LOCALHOST:8463", "[::1]:8463"])
def test_the_names_of_this_machine_pass(host: str) -> None:
    assert _refusal(("host", host)) is None


@pytest.mark.parametrize(
    ("host", "refusal"),
    [
        ("", BAD),
        ("127.0.0.1:", BAD),
        ("127.0.0.1:84x3", BAD),
        ("127.0.0.1:-1", BAD),
        ("127.0.0.1:99999", BAD),
        ("127.0.0.1:084630", BAD),
        ("127.0.0.1:\u00b2", BAD),
        ("127.0.0.1 :8463", BAD),
        (" 127.0.0.1:8463", BAD),
        ("127.0.0.1:8463\n", BAD),
        ("127.0.0.1:8463@evil.example", BAD),
        ("evil.example@127.0.0.1:8463", BAD),
        ("127.0.0.1:8463/evil.example", BAD),
        ("127.0.0.1:8463?evil.example", BAD),
        ("127.0.0.1:8463#evil.example", BAD),
        ("127.0.0.1\\evil.example:8463", BAD),
        ("127.0.0.1,evil.example:8463", BAD),
        ("[::1", BAD),
        ("::1:8463", BAD),
        ("[::1%25eth0]:8463", BAD),
        ("[127.0.0.1]x:8463", BAD),
        ("evil.example:8463", UNKNOWN),
        ("127.0.0.1.evil.example:8463", UNKNOWN),
        ("127.0.0.1", UNKNOWN),
        ("127.0.0.1:80", UNKNOWN),
        ("127.0.0.1:8464", UNKNOWN),
        ("127.0.0.1.:8463", UNKNOWN),
        ("localhost.:8463", UNKNOWN),
        ("127.1:8463", UNKNOWN),
        ("127.0.0.2:8463", UNKNOWN),
        ("2130706433:8463", UNKNOWN),
        ("0x7f000001:8463", UNKNOWN),
        ("0.0.0.0:8463", UNKNOWN),
        ("[::]:8463", UNKNOWN),
        ("[::ffff:127.0.0.1]:8463", UNKNOWN),
        ("[0:0:0:0:0:0:0:1]:8463", UNKNOWN),
        ("192.0.2.7:8463", UNKNOWN),
    ],
)
def test_every_other_host_is_refused(host: str, refusal: tuple[int, str]) -> None:
    assert _refusal(("host", host)) == refusal
    assert _refusal(("host", host), ("origin", f"http://{host}"), JSON, method="POST") == refusal
    assert _refusal(("host", host), ("origin", f"http://{host}"), kind="websocket", path="/socket") == refusal


def test_without_a_host_nothing_is_answered() -> None:
    assert _refusal() == BAD


@pytest.mark.parametrize(
    ("door", "host", "refusal"),
    [
        ("192.0.2.7", "192.0.2.7:8463", None),
        ("192.0.2.7", "localhost:8463", UNKNOWN),
        ("192.0.2.7", "127.0.0.1:8463", UNKNOWN),
        ("192.0.2.8", "192.0.2.8:8463", UNKNOWN),
        ("2001:db8::7", "[2001:DB8::7]:8463", None),
        ("2001:db8::7", "192.0.2.7:8463", UNKNOWN),
    ],
)
def test_each_address_we_listen_at_has_names_of_its_own(door: str, host: str, refusal: Any) -> None:
    assert _refusal(("host", host), door=door) == refusal


@pytest.mark.parametrize(
    "name", ["host", "origin", "content-type", "content-length", "sec-fetch-site", "sec-fetch-mode"]
)
def test_a_header_given_twice_is_refused_even_where_both_are_right(name: str) -> None:
    value = dict([*OWN, JSON]).get(name, "same-origin")
    headers = [each for each in (*OWN, JSON) if each[0] != name]
    assert _refusal(*headers, (name, value), (name, value), method="POST") == TWICE


@pytest.mark.parametrize(
    ("origin", "refusal"),
    [
        ("http://127.0.0.1:8463", None),
        ("null", (403, "foreign Origin")),
        ("", (403, "foreign Origin")),
        ("http://127.0.0.1", (403, "foreign Origin")),
        ("http://127.0.0.1:8464", (403, "foreign Origin")),
        ("https://127.0.0.1:8463", (403, "foreign Origin")),
        ("http://localhost:8463", (403, "foreign Origin")),
        ("http://evil.example", (403, "foreign Origin")),
        ("http://127.0.0.1:8463.evil.example", (403, "foreign Origin")),
        ("http://127.0.0.1:8463/", (403, "foreign Origin")),
        ("http://127.0.0.1:8463 http://evil.example", (403, "foreign Origin")),
        (None, (403, "no Origin")),
    ],
)
def test_what_changes_something_has_to_come_from_our_own_pages(origin: str | None, refusal: Any) -> None:
    headers = [OWN[0], *([("origin", origin)] if origin is not None else [])]
    assert _refusal(*headers, JSON, method="POST") == refusal
    assert _refusal(*headers, kind="websocket", path="/socket") == refusal


@pytest.mark.parametrize("site", ["cross-site", "same-site", "none", "nonsense"])
def test_what_the_browser_says_comes_from_elsewhere_changes_nothing(site: str) -> None:
    refusal = (403, "sent from another site")
    assert _refusal(*OWN, JSON, ("sec-fetch-site", site), method="POST") == refusal
    assert _refusal(*OWN, ("sec-fetch-site", site), kind="websocket", path="/socket") == refusal


@pytest.mark.parametrize(
    ("path", "kind", "taken"),
    [
        ("/anything", "application/json", True),
        ("/anything", "application/json; charset=utf-8", True),
        ("/anything", "Application/JSON", True),
        ("/anything", "text/plain", False),
        ("/anything", "application/x-www-form-urlencoded", False),
        ("/anything", "multipart/form-data; boundary=x", False),
        ("/anything", "text/plain, application/json", False),
        ("/anything", "", False),
        ("/anything", None, False),
        ("/build/dunlin-5/photos", "image/jpeg", True),
        ("/build/dunlin-5/photos", "image/webp", True),
        ("/build/dunlin-5/photos", "image/svg+xml", False),
        ("/build/dunlin-5/photos", "application/json", False),
        ("/build/dunlin-5/photos/", "image/jpeg", False),
        ("/build/a/b/photos", "image/jpeg", False),
        ("/pair", "application/x-www-form-urlencoded", True),
        ("/pair", "text/plain", False),
    ],
)
def test_only_the_kind_of_content_that_belongs_there_is_taken(path: str, kind: str | None, taken: bool) -> None:
    headers = [*OWN, *([("content-type", kind)] if kind is not None else [])]
    refusal = _refusal(*headers, method="POST", path=path)
    assert refusal is None if taken else refusal is not None and refusal[0] == 415


def test_a_refused_kind_of_content_says_which_are_taken() -> None:
    text = ("content-type", "text/plain")
    assert _refusal(*OWN, text, method="POST") == (415, "only application/json is taken here")
    assert _refusal(*OWN, text, method="POST", path="/build/a/photos") == (
        415, "only image/jpeg or image/png or image/webp is taken here",
    )  # fmt: skip


@pytest.mark.parametrize("packing", ["gzip", "deflate", "br", "zstd", "gzip, identity"])
def test_nothing_packed_is_unpacked(packing: str) -> None:
    assert _refusal(*OWN, JSON, ("content-encoding", packing), method="POST") == (
        415, "nothing packed is taken here",
    )  # fmt: skip


@pytest.mark.parametrize(
    "method", ["OPTIONS", "PUT", "DELETE", "PATCH", "TRACE", "CONNECT", "PROPFIND", "get", "post", "FOO", "QUERY"]
)
def test_other_methods_are_not_answered(method: str) -> None:
    assert _refusal(*OWN, JSON, method=method) == (405, "only GET, HEAD and POST are answered here")


@pytest.mark.parametrize(
    ("site", "mode", "dest", "passes"),
    [
        (None, None, None, True),
        ("none", "navigate", "document", True),
        ("same-origin", "cors", "empty", True),
        ("same-origin", "no-cors", "image", True),
        ("cross-site", "navigate", "document", True),
        ("same-site", "navigate", "document", True),
        ("cross-site", "navigate", "iframe", False),
        ("cross-site", "navigate", "object", False),
        ("cross-site", "navigate", "embed", False),
        ("cross-site", "no-cors", "script", False),
        ("same-site", "no-cors", "image", False),
        ("same-site", "cors", "empty", False),
        ("cross-site", None, None, False),
    ],
)
def test_another_site_may_link_to_a_page_and_read_nothing(
    site: str | None, mode: str | None, dest: str | None, passes: bool
) -> None:
    named = (("sec-fetch-site", site), ("sec-fetch-mode", mode), ("sec-fetch-dest", dest))
    headers = [(name, value) for name, value in named if value is not None]
    for method in ("GET", "HEAD"):
        assert _refusal(OWN[0], *headers, method=method) == (None if passes else (403, "read from another site"))


def test_pages_may_load_only_what_this_server_gives() -> None:
    assert policy("127.0.0.1:8463") == (
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; font-src 'self'; "
        "connect-src 'self' ws://127.0.0.1:8463; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
    )


def test_addresses_and_headers_have_their_limits() -> None:
    scope: dict[str, Any] = {"type": "http", "method": "GET", "path": "/", "server": ("127.0.0.1", 8463)}
    host = [(b"host", b"127.0.0.1:8463")]
    assert GUARD.refusal({**scope, "headers": host, "raw_path": b"/", "query_string": b"a" * 7_999}) is None
    assert GUARD.refusal({**scope, "headers": host, "raw_path": b"/", "query_string": b"a" * 8_000}) == (
        414, "this address is too long",
    )  # fmt: skip
    assert GUARD.refusal({**scope, "headers": [*host, (b"cookie", b"a" * 32_000)]}) == (
        431, "these headers are too long",
    )  # fmt: skip
