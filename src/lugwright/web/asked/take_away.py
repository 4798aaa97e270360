"""What can be taken away at once, without a book: the log, the plan, the wiring side, the drill plan."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Annotated, NamedTuple

from pydantic import Field

from lugwright.documents.drawings.drill_plan import faces
from lugwright.documents.drawings.dxf import drill_dxf
from lugwright.documents.drawings.top_side import top_side_svg
from lugwright.documents.drawings.wiring_side import wiring_side_svg
from lugwright.errors import AskError
from lugwright.web.asked.asked import Args, Asked, NoArgs
from lugwright.web.asked.wiring import WHOLE, plan_state
from lugwright.web.desk import Desk
from lugwright.workflow import Opened, log_text, side_of

SVG, DXF, CSV, JSON = "image/svg+xml", "image/vnd.dxf", "text/csv", "application/json"


class _File(NamedTuple):
    """One file: what it is called, what it holds, in words; its type; how it is made."""

    name: str
    words: str
    type: str
    made: Callable[[Opened], str]


class FileArgs(Args):
    """One of the list, by its name."""

    name: Annotated[str, Field(min_length=1, max_length=60)]


def _files(opened: Opened) -> Iterator[_File]:
    if opened.bench_log.path.exists():
        yield _File("log.jsonl", "The log, all copies: JSON lines", "application/jsonl", _log)
        yield _File("log.csv", "The same for a spreadsheet", CSV, lambda o: log_text(o, as_csv=True))
    if plan_state(opened) != WHOLE:
        return
    yield _File("wiring_side.svg", "Wiring side", SVG, lambda o: wiring_side_svg(side_of(o)))
    yield _File("top_side.svg", "Top side", SVG, lambda o: top_side_svg(o.build, o.plan, o.hardware))
    for face in faces(opened.build):
        yield _File(f"drill_{face}.dxf", f"Drill plan, {face}", DXF, _drill(face))
    yield _File("plan.json", "The plan, for another machine", JSON, lambda o: o.plan_path.read_text(encoding="utf-8"))


def _log(opened: Opened) -> str:
    return log_text(opened, as_csv=False)


def _drill(face: str) -> Callable[[Opened], str]:
    return lambda opened: drill_dxf(opened.build, opened.plan, opened.hardware, face)


def _list(desk: Desk, args: NoArgs) -> list[dict[str, str]]:
    return [{"name": each.name, "words": each.words} for each in _files(desk.opened)]


def _file(desk: Desk, args: FileArgs) -> dict[str, str]:
    opened = desk.opened
    found = next((each for each in _files(opened) if each.name == args.name), None)
    if found is None:
        raise AskError(
            what="there is no such file to take away",
            found=args.name,
            wanted=", ".join(each.name for each in _files(opened)) or "a plan or a log to make one of",
            do="choose one on the page Book",
        )
    return {"text": found.made(opened), "type": found.type}


TAKE_AWAY = Asked("take away", _list)
TAKEN_AWAY = Asked("taken away", _file, FileArgs)
