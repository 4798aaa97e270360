"""Switching on and off: the first minute, mains current and fuses, the time to 60 V."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Annotated, Any

from pydantic import Field

from lugwright.circuit.starting import Start
from lugwright.documents.book.blocks import Block, Column, Figure, Heading, Paragraph, Quantity, Section, Table
from lugwright.documents.book.start_pages import IN_WORDS, MOST_MM, start_pages
from lugwright.documents.compared import start_figures
from lugwright.documents.drawings.start_chart import start_chart_svg
from lugwright.errors import ChangeError
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
        others = _others(opened, args)
        return section_study(start_pages(start, rows), start_figures(start, rows), findings, others)

    return studied(desk, args, look)


def _others(opened: Opened, args: StartArgs) -> Iterator[Block]:
    """Yield what other ways to start do to mains and supply; one that this build does not have says so."""
    seconds = args.standby_s
    ways: list[tuple[str, Callable[[], Start]]] = []
    if seconds is not None:
        ways.append((f"Standby closed after {seconds:g} s", lambda: start_standing_by(opened, float(seconds))))
    if args.silicon:
        ways.append(("Silicon in place of the rectifier tube", lambda: start_with_silicon(opened)))
    for count, (title, way) in enumerate(ways, start=1):
        yield Heading(title)
        try:
            yield from _other(way(), title, f"start-other-{count}")
        except ChangeError as error:
            yield Paragraph(f"{error.what[0].upper()}{error.what[1:]}: {error.found}.")


def _other(start: Start, title: str, name: str) -> Iterator[Block]:
    peak = max(inrush.peak_a for inrush in start.inrush)
    yield Paragraph(f"Highest mains current {peak:.1f} A.")
    caption = f"After switch-on: {title[0].lower()}{title[1:]}"
    yield Figure(name, start_chart_svg(start, title=caption), caption, MOST_MM, 1.0, IN_WORDS)
    highest = ((line.joint, Quantity(max(map(abs, line.volts)), "V")) for line in start.lines)
    yield Table((Column("joint"), Column("highest", kind="quantity")), tuple(highest))


START = Asked("start", _start, StartArgs, LONG, words="the start")
