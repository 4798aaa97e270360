"""What can be taken away from the bench. Names of files are the server's own: the address only chooses among them."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import FileResponse, PlainTextResponse, Response
from starlette.routing import BaseRoute, Route

from lugwright.web.lanes import Refused
from lugwright.web.made_books import made_book
from lugwright.web.pages.page import MOST_LETTERS_OF_COPY
from lugwright.web.workshop import Workshop

# The book has its styles in itself and no scripts; it can do nothing and ask for nothing.
_BOOK_POLICY = "default-src 'none'; style-src 'unsafe-inline'; base-uri 'none'; frame-ancestors 'none'; sandbox"


def download_routes(workshop: Workshop) -> list[BaseRoute]:
    """Return the routes of everything that can be taken away."""

    async def table(request: Request) -> Response:
        return await _table(request, workshop)

    async def file(request: Request) -> Response:
        return await _file(request, workshop)

    async def book(request: Request) -> Response:
        return await _book(request, workshop)

    return [
        Route("/build/{build}/tables/{name}.csv", table),
        Route("/build/{build}/take/{name}", file),
        Route("/build/{build}/book/{paper}/{name:path}", book),
    ]


async def _table(request: Request, workshop: Workshop) -> Response:
    build, name = request.path_params["build"], request.path_params["name"]
    try:
        found = await workshop.ask("table", build, copy_of(request), {"name": name})
    except Refused as refused:
        return refused_text(refused)
    return Response(found["text"], media_type="text/csv", headers=taken_away(f"{build}_{name}.csv"))


async def _file(request: Request, workshop: Workshop) -> Response:
    build, name = request.path_params["build"], request.path_params["name"]
    try:
        found = await workshop.ask("taken away", build, copy_of(request), {"name": name})
    except Refused as refused:
        return refused_text(refused)
    # what is taken away has one of the names of the list, and no other letter of the address is in its own
    return Response(found["text"], media_type=found["type"], headers=taken_away(f"{build}_{name}"))


async def _book(request: Request, workshop: Workshop) -> Response:
    """Return a file of a book: its HTML to be read here, everything else to be saved."""
    build, paper, name = (request.path_params[each] for each in ("build", "paper", "name"))
    try:
        found = await workshop.ask("book copy", build, copy_of(request), {"paper": paper})
    except Refused as refused:
        return refused_text(refused)
    path = made_book(workshop.lanes.private, workshop.shelf.files[build], found["copy"], paper).path_of(name)
    if path is None:
        return PlainTextResponse("this book has no such file; make it again on the page Book\n", status_code=404)
    if path.suffix == ".html":
        return FileResponse(path, headers={"content-security-policy": _BOOK_POLICY, "cache-control": "no-store"})
    saved = f"{build}_{paper}_{path.name}" if path.suffix == ".zip" else path.name
    return FileResponse(path, headers=taken_away(saved))


def copy_of(request: Request) -> str:
    """Return which copy the address means."""
    return request.query_params.get("copy", "")[:MOST_LETTERS_OF_COPY]


def taken_away(name: str) -> dict[str, str]:
    """Return the headers of a file that is saved under a name of ours."""
    return {"content-disposition": f'attachment; filename="{name}"', "cache-control": "no-store"}


def refused_text(refused: Refused) -> Response:
    """Return why there is no file, in four lines."""
    error = refused.error
    lines = [error["what"], *(f"{name}: {error[name]}" for name in ("found", "wanted", "do"))]
    return PlainTextResponse("\n".join(lines) + "\n", status_code=404)
