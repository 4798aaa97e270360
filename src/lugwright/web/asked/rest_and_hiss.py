"""Small signals beyond the curve: tone controls side by side, stages, feedback, coming to rest, hiss."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import Field

from lugwright.documents.book.blocks import Paragraph, Section
from lugwright.documents.book.response_pages import response_pages
from lugwright.documents.compared import rest_figures
from lugwright.web.asked.asked import LONG, Asked
from lugwright.web.asked.study import Study, section_study, studied
from lugwright.web.asked.trying import TriedArgs
from lugwright.web.desk import Desk
from lugwright.workflow import Opened, rest_and_hiss

NO_PATH = "This build has no input jack or no speaker: there is no way from one to the other."


class RestArgs(TriedArgs):
    """What is plugged in while it hisses, the full power it is held against; ``dummy``: a resistor as the load."""

    guitar_ohm: Annotated[float, Field(gt=0.0, le=10e6)] | None = None
    watts: Annotated[float, Field(ge=0.001, le=10e3)] | None = None
    dummy: bool = False


def _rest(desk: Desk, args: RestArgs) -> dict[str, Any]:
    guitar, watts = (None if each is None else float(each) for each in (args.guitar_ohm, args.watts))

    def look(opened: Opened) -> Study:
        response = rest_and_hiss(opened, guitar_ohm=guitar, watts=watts, dummy=args.dummy)
        if response is None:
            return section_study(Section("response", "", (Paragraph(NO_PATH),)))
        return section_study(response_pages(response), rest_figures(response), opened.stability_of(response))

    return studied(desk, args, look)


REST_AND_HISS = Asked("rest and hiss", _rest, RestArgs, LONG, words="stages and hiss")
