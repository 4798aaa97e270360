"""What a page is, and how it becomes HTML."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import HTMLResponse

from lugwright.web.call import Call, telling
from lugwright.web.fragments import environment
from lugwright.web.lanes import Refused
from lugwright.web.workshop import Workshop

MOST_LETTERS_OF_COPY = 60
UNREADABLE = 409  # in conflict with how the build file is now


@dataclass(frozen=True)
class Page:
    """A page of a build: its template is NAME.html.jinja, its module static/NAME.js."""

    name: str  # in the address: "power-up"
    title: str  # "Power-up"
    asks: tuple[str, ...] = ()  # what the template shows, by names of `ASKED`; others the module asks for itself
    hands_in: bool = False  # it sends hands into the chassis: cautions on top
    whole: tuple[str, ...] = ()  # asked as well when the address says ``?whole``: what takes its time
    short: str = ""  # its name where a phone has little room; "" where the title is short enough


def rendered(template: str, context: Mapping[str, Any], *, status: int = 200) -> HTMLResponse:
    """Return a page. Nothing of it is kept by the browser: what it shows changes by the minute."""
    html = environment().get_template(f"{template}.html.jinja").render(**context)
    return HTMLResponse(html, status_code=status, headers={"cache-control": "no-store"})


async def build_page(request: Request, workshop: Workshop, page: Page, pages: tuple[Page, ...]) -> HTMLResponse:
    """Return a page of a build, or one that says why there is none."""
    build = request.path_params["build"]
    copy = request.query_params.get("copy", "").strip()[:MOST_LETTERS_OF_COPY]
    context: dict[str, Any] = {
        "build": build,
        "copy": copy,
        "page": page,
        "pages": pages,
        "builds": list(workshop.shelf),
    }
    try:
        context["outline"] = await workshop.ask("outline", build, copy, {})
        if not context["outline"]["readable"]:
            return rendered("unreadable", context, status=UNREADABLE)
        about = {"build": build, "copy": context["outline"]["copy"]}
        for what in page.asks:
            context[what.replace(" ", "_")] = await workshop.ask(what, build, copy, {})
        for what in page.whole if "whole" in request.query_params else ():
            call = _told(workshop, {"what": what, **about})
            context[what.replace(" ", "_")] = await workshop.ask(what, build, copy, {}, call=call)
    except Refused as refused:
        return rendered(
            "refused", {"outline": None, **context, "error": refused.error}, status=_status(workshop, build)
        )
    return rendered(page.name, context)


def _told(workshop: Workshop, about: dict[str, Any]) -> Call:
    """Return a call for what takes its time: the tabs that show the build are told how far it is."""
    return telling(lambda message: workshop.rooms.tell_soon(about["build"], {**message, **about}))


def _status(workshop: Workshop, build: str) -> int:
    return 404 if workshop.shelf.get(build) is None else UNREADABLE


def svg(text: str) -> Markup:
    """Return finished SVG of our own drawings, which is not to be escaped again."""
    return Markup(text)
