"""The latest of the log, what is written into it besides ticks, and taking any of it back."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Annotated, Any

from pydantic import Field

from lugwright.web.asked.asked import LOG, Args, Asked, NoArgs
from lugwright.web.desk import Desk
from lugwright.web.since import since_words
from lugwright.workflow import Happening, Photo, happenings, noted, photo_file, photographed, undone

MOST_SHOWN = 30
MOST_PHOTOS = 200  # on the page


class NoteArgs(Args):
    """Words, and what they are about."""

    text: Annotated[str, Field(min_length=1, max_length=4000)]
    about: Annotated[str, Field(max_length=200)] = ""


class PhotoArgs(Args):
    """The name of a picture beside the build file or in its folder of pictures, and what it shows."""

    file: Annotated[str, Field(min_length=1, max_length=255)]
    text: Annotated[str, Field(max_length=2000)] = ""


class BackArgs(Args):
    """Identifiers of entries."""

    ids: Annotated[list[Annotated[str, Field(pattern=r"^[0-9a-f]{32}$")]], Field(min_length=1, max_length=500)]


def _log_tail(desk: Desk, args: NoArgs) -> list[dict[str, Any]]:
    now = datetime.now(UTC)
    return [_told(each, now) for each in happenings(desk.opened, most=MOST_SHOWN)]


def _told(each: Happening, now: datetime) -> dict[str, Any]:
    return {
        "time": each.time,
        "since": since_words(each.time, now),
        "kind": each.kind,
        "words": "; ".join(each.words[:6]) + f" and {len(each.words) - 6} more" * (len(each.words) > 6),
        "size": f"{each.leads} leads, {each.joints} joints" if each.leads + each.joints > 1 else "",
        "ids": list(each.counts),
    }


def _note(desk: Desk, args: NoteArgs) -> dict[str, Any]:
    ticked = noted(desk.opened, args.text, args.about)
    return {"copy": ticked.serial, "written": len(ticked.entries)}


def _photo(desk: Desk, args: PhotoArgs) -> dict[str, Any]:
    return {"written": len(photographed(desk.opened, [Photo(args.file, args.text)])), "file": args.file}


def _photos(desk: Desk, args: NoArgs) -> list[dict[str, Any]]:
    """Return the pictures that the log names, the latest first, and whether each can be shown."""
    now = datetime.now(UTC)
    return [
        {"file": file, "text": text, "since": since_words(time, now),
         "there": photo_file(desk.path, file) is not None}
        for time, file, text in reversed(desk.opened.bench_log.bench.photos[-MOST_PHOTOS:])
    ]  # fmt: skip


def _take_back(desk: Desk, args: BackArgs) -> dict[str, Any]:
    return {"taken_back": len(undone(desk.opened, args.ids))}


LOG_TAIL = Asked("log tail", _log_tail)
NOTE = Asked("note", _note, NoteArgs, LOG, writes=True)
PHOTO = Asked("photo", _photo, PhotoArgs, LOG, writes=True)
PHOTOS = Asked("photos", _photos)
TAKE_BACK = Asked("take back", _take_back, BackArgs, LOG, writes=True)
