"""Pages go out packed where the browser can unpack them."""

from __future__ import annotations

import gzip
from pathlib import Path

from .served import exchanged, headers_of, request, served


def test_a_page_is_packed_for_who_can_unpack_it(dunlin: Path) -> None:
    with served(dunlin.parent) as port:
        plain = exchanged(port, request(port, "/static/look.css"))
        packed = exchanged(port, request(port, "/static/look.css", "Accept-Encoding: gzip"))
    assert "content-encoding" not in headers_of(plain)
    assert headers_of(packed)["content-encoding"] == "gzip"
    assert int(headers_of(packed)["content-length"]) < int(headers_of(plain)["content-length"]) / 2
    assert gzip.decompress(packed.split(b"\r\n\r\n", 1)[1]) == plain.split(b"\r\n\r\n", 1)[1]
