"""Pictures sent to a real server and taken from it again."""

from __future__ import annotations

import json
from pathlib import Path
from urllib.parse import urlencode

import pytest

from lugwright.workflow import open_build

from .served import exchanged, headers_of, request, status_of

JPEG = b"\xff\xd8\xff\xe0" + bytes(range(256)) * 4
CID = "5eed" * 8


def sent(port: int, body: bytes, *, kind: str = "image/jpeg", build: str = "dunlin-5", **said: str) -> bytes:
    target = f"/build/{build}/photos?{urlencode({'cid': CID, 'copy': '1', **said})}"
    headers = (f"Origin: http://127.0.0.1:{port}", f"Content-Type: {kind}")
    return exchanged(port, request(port, target, *headers, method="POST", body=body))


def body_of(answer: bytes) -> bytes:
    return answer.split(b"\r\n\r\n", 1)[1]


def logged(folder: Path) -> list[tuple[str, str]]:
    return [(file, text) for _, file, text in open_build(folder / "dunlin_5.toml").bench_log.bench.photos]


def test_a_picture_sent_twice_is_kept_and_logged_once(port: int, folder: Path) -> None:
    for _ in range(2):
        answer = sent(port, JPEG, about="card 8", text="bare metal")
        assert status_of(answer) == 200
        assert json.loads(body_of(answer)) == {"answer": {"written": 1, "file": "card-8-5eed5eed5eed.jpg"}}
    assert [each.name for each in (folder / "dunlin_5.photos").iterdir()] == ["card-8-5eed5eed5eed.jpg"]
    assert logged(folder) == [("card-8-5eed5eed5eed.jpg", "card 8: bare metal")]
    answer = exchanged(port, request(port, "/build/dunlin-5/photos/card-8-5eed5eed5eed.jpg"))
    assert body_of(answer) == JPEG
    headers = headers_of(answer)
    assert headers["content-type"] == "image/jpeg"
    assert headers["content-security-policy"] == "sandbox; default-src 'none'"
    assert headers["x-content-type-options"] == "nosniff"


@pytest.mark.parametrize(
    ("body", "said", "status"),
    [
        (b"<svg xmlns='http://www.w3.org/2000/svg'/>", {}, 422),
        (JPEG, {"kind": "image/svg+xml"}, 415),
        (JPEG, {"kind": "text/html"}, 415),
        (JPEG, {"cid": "../../etc"}, 400),
        (JPEG, {"cid": ""}, 400),
        (JPEG, {"text": "a" * 1001}, 400),
        (JPEG, {"build": "none"}, 404),
        (JPEG + bytes(12 * 1024 * 1024), {}, 422),
    ],
)
def test_what_is_no_picture_of_a_build_leaves_nothing(
    port: int, folder: Path, body: bytes, said: dict[str, str], status: int
) -> None:
    before = sorted(folder.rglob("*"))
    assert status_of(sent(port, body, **said)) == status
    assert sorted(folder.rglob("*")) == before


def test_a_picture_that_the_log_refuses_does_not_stay(port: int, folder: Path) -> None:
    before = logged(folder)
    answer = sent(port, JPEG, cid="ab" * 16, copy="\x1b[31m")
    assert status_of(answer) == 409
    assert not json.loads(body_of(answer))["keep"]
    assert not (folder / "dunlin_5.photos" / "photo-abababababab.jpg").exists()
    assert logged(folder) == before


def test_a_picture_that_is_kept_is_neither_changed_nor_taken_away_by_a_second_sending(port: int, folder: Path) -> None:
    kept = folder / "dunlin_5.photos" / "kept-5eed5eed5eed.jpg"
    assert status_of(sent(port, JPEG, about="kept")) == 200
    assert status_of(sent(port, JPEG[:-100] + bytes(100), about="kept")) == 200
    assert kept.read_bytes() == JPEG
    assert status_of(sent(port, JPEG, about="kept", copy="\x1b[31m", cid="5eed" * 3 + "0" * 20)) == 409
    assert kept.read_bytes() == JPEG


def test_a_copy_is_named_in_few_letters(port: int) -> None:
    assert status_of(sent(port, JPEG, copy="x" * 61)) == 400
