"""Switching on and off: the first minute, mains current and fuses, the time to 60 V."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, Any

from pydantic import Field

from lugwright.circuit.starting import Start
from lugwright.documents.book.blocks import Block, Column, Figure, Heading, Paragraph, Quantity, Section, Table
from lugwright.documents.book.start_pages import IN_WORDS, MOST_MM, start_pages
from lugwright.documents.compared import start_figures
from lugwright.documents.drawings.start_chart import start_chart_svg
from lugwright.web.asked.asked import LONG, Asked
from lugwright.web.asked.study import Study, section_study, studied
from lugwright.web.asked.trying import TriedArgs
from lugwright.web.desk import Desk
from lugwright.workflow import Opened, start_standing_by, start_with_silicon

NO_MAINS = "There is no mains inlet in this build, so there is nothing to switch on."


class StartArgs(TriedArgs):
    """Other ways to start besides: standby closed after that many seconds, silicon in place of rectifier tubes."""

    standby_s: Annotated[float, Field(ge=1.0, le=50.0)] | None = None
    silicon: bool = False


def _start(desk: Desk, args: StartArgs) -> dict[str, Any]:
    def look(opened: Opened) -> Study:
        start, findings = opened.start, opened.start_ratings[1]
        if start is None:
            return section_study(Section("start", "", (Paragraph(NO_MAINS),)))
        rows = opened.filter_rows
        others = [
            *([start_standing_by(opened, float(args.standby_s))] if args.standby_s is not None else []),
            *([start_with_silicon(opened)] if args.silicon else []),
        ]
        return section_study(start_pages(start, rows), start_figures(start, rows), findings, _others(others))

    return studied(desk, args, look)


def _others(others: list[Start]) -> Iterator[Block]:
    """Yield what another way to start does to mains and supply."""
    for count, other in enumerate(others, start=1):
        peak = max(inrush.peak_a for inrush in other.inrush)
        yield Heading(f"{other.how[0].upper()}{other.how[1:]}")
        yield Paragraph(f"Highest mains current {peak:.1f} A.")
        title = f"After switch-on, {other.how}"
        yield Figure(f"start-other-{count}", start_chart_svg(other, title=title), title, MOST_MM, 1.0, IN_WORDS)
        highest = ((line.joint, Quantity(max(map(abs, line.volts)), "V")) for line in other.lines)
        yield Table((Column("joint"), Column("highest", kind="quantity")), tuple(highest))


START = Asked("start", _start, StartArgs, LONG, words="the start")
