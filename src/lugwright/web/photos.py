"""Pictures that come in and go out. A name is never taken from outside, a kind never believed: the bytes say it."""

from __future__ import annotations

import asyncio
import re
from collections.abc import Awaitable, Callable
from pathlib import Path
from typing import Any

from starlette.requests import ClientDisconnect, Request
from starlette.responses import FileResponse, JSONResponse, Response

from lugwright.errors import FileAccessError, LugwrightError
from lugwright.web.lanes import Refused
from lugwright.web.pages.page import MOST_LETTERS_OF_COPY
from lugwright.web.workshop import Workshop
from lugwright.workflow import keep_photo, photo_file, photo_folder, picture_kind, refused_picture
from lugwright.workflow.photos import HEAD_BYTES, MOST_BYTES

TYPES = {"jpg": "image/jpeg", "png": "image/png", "webp": "image/webp"}
MOST_AT_ONCE = 16  # pictures coming in: each is held in memory until it is whole
_COMMAND = re.compile(r"[0-9a-f]{32}")
_ALONE = {"content-security-policy": "sandbox; default-src 'none'", "cache-control": "private, no-cache"}
Answer = Callable[[Request], Awaitable[Response]]


def photo_taker(workshop: Workshop) -> Answer:
    """Return what takes a picture in: its bytes as the body, ``cid``, ``copy``, ``about`` and ``text`` in the query."""

    room = asyncio.Semaphore(MOST_AT_ONCE)

    async def take(request: Request) -> Response:
        async with room:
            return await taken(request)

    async def taken(request: Request) -> Response:
        path = workshop.shelf.get(request.path_params["build"])
        said = {name: request.query_params.get(name, "") for name in ("cid", "copy", "about", "text")}
        wrong = not _COMMAND.fullmatch(said["cid"]) or any(len(words) > 1000 for words in said.values())
        wrong = wrong or len(said["copy"]) > MOST_LETTERS_OF_COPY
        if path is None or wrong:
            return Response("not found" if path is None else "bad request", 404 if path is None else 400)
        if request.headers.get("content-type", "") not in TYPES.values():
            return _refusal(refused_picture(), 415)
        before = await asyncio.to_thread(_names, path)
        try:
            content = await _body(request)
            name = await asyncio.to_thread(
                keep_photo, path, content, about=said["about"] or said["text"], command=said["cid"]
            )
            text = ": ".join(filter(None, (said["about"], said["text"])))
            build = request.path_params["build"]
            found = await workshop.ask("photo", build, said["copy"], {"file": name, "text": text}, command=said["cid"])
        except ClientDisconnect:
            return Response(status_code=400)
        except FileAccessError as error:
            return _refusal(error, 422)
        except Refused as refused:
            if not refused.keep and name not in before:
                await asyncio.to_thread((photo_folder(path) / name).unlink, missing_ok=True)
            return JSONResponse({"error": refused.error, "keep": refused.keep}, 409)
        await workshop.rooms.look_at(build)
        return JSONResponse({"answer": found})

    return take


def photo_shower(workshop: Workshop) -> Answer:
    """Return what shows a picture, as nothing but a picture."""

    async def show(request: Request) -> Response:
        path = workshop.shelf.get(request.path_params["build"])
        found = await asyncio.to_thread(_looked_up, path, request.path_params["file"]) if path else None
        if found is None:
            return Response("not found", 404)
        file, kind = found
        return FileResponse(file, media_type=TYPES[kind], headers=_ALONE)

    return show


def _names(build_path: Path) -> set[str]:
    """Return the pictures that a build has."""
    folder = photo_folder(build_path)
    return {each.name for each in folder.iterdir()} if folder.is_dir() else set()


def _looked_up(build_path: Path, name: str) -> tuple[Path, str] | None:
    file = photo_file(build_path, name)
    if file is None:
        return None
    with file.open("rb") as opened:
        return file, picture_kind(opened.read(HEAD_BYTES))


async def _body(request: Request) -> bytes:
    """Return what is sent, cut off as soon as it is too much or no picture."""
    content = bytearray()
    async for piece in request.stream():
        content += piece
        if len(content) > MOST_BYTES:
            raise refused_picture(len(content))
        if len(content) >= HEAD_BYTES and not picture_kind(bytes(content[:HEAD_BYTES])):
            raise refused_picture()
    return bytes(content)


def _refusal(error: LugwrightError, status: int) -> JSONResponse:
    lines: dict[str, Any] = {"what": error.what, "found": error.found, "wanted": error.wanted, "do": error.do}
    return JSONResponse({"error": lines, "keep": False}, status)
