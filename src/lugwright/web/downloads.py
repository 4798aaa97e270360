"""What can be taken away from the bench. Names of files are the server's own: the address only chooses among them."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response
from starlette.routing import BaseRoute, Route

from lugwright.web.lanes import Refused
from lugwright.web.pages.page import MOST_LETTERS_OF_COPY
from lugwright.web.workshop import Workshop


def download_routes(workshop: Workshop) -> list[BaseRoute]:
    """Return the routes of everything that can be taken away."""

    async def table(request: Request) -> Response:
        return await _table(request, workshop)

    return [Route("/build/{build}/tables/{name}.csv", table)]


async def _table(request: Request, workshop: Workshop) -> Response:
    build, name = request.path_params["build"], request.path_params["name"]
    try:
        found = await workshop.ask("table", build, copy_of(request), {"name": name})
    except Refused as refused:
        return refused_text(refused)
    return Response(found["text"], media_type="text/csv", headers=taken_away(f"{build}_{name}.csv"))


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
