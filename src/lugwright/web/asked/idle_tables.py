"""The idle as tables: joints, windings, tubes, and the mains 10 % low and high."""

from __future__ import annotations

from typing import Any

from lugwright.documents.book.blocks import Heading
from lugwright.documents.book.circuit_pages import certified, idle_pages, tube_pages
from lugwright.documents.compared import idle_figures
from lugwright.web.asked.asked import Asked
from lugwright.web.asked.study import Study, studied
from lugwright.web.asked.trying import TriedArgs
from lugwright.web.desk import Desk
from lugwright.workflow import Opened


def _idle(desk: Desk, args: TriedArgs) -> dict[str, Any]:
    def look(opened: Opened) -> Study:
        idle = certified(opened.idle)
        tubes = tube_pages(opened.measured, idle) if idle.tubes else None
        blocks = (Heading(tubes.title), *tubes.blocks) if tubes else ()
        whole = (*blocks, *idle_pages(opened.measured, idle, opened.mains_rows).blocks)
        return Study(whole, tuple(idle_figures(idle)), (*opened.ratings[1], *opened.mains_findings))

    return studied(desk, args, look)


IDLE_TABLES = Asked("idle tables", _idle, TriedArgs)
