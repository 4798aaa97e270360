"""How far readings and ratings move among good builds, and what moves each of them most."""

from __future__ import annotations

from dataclasses import replace
from typing import Annotated, Any

from pydantic import Field

from lugwright.bringup.results import Spread
from lugwright.documents.book.spread_pages import spread_pages
from lugwright.documents.compared import spread_figures
from lugwright.errors import AskError
from lugwright.web.asked.asked import LONG, Asked
from lugwright.web.asked.study import Study, section_study, studied
from lugwright.web.asked.trying import TriedArgs
from lugwright.web.desk import Desk
from lugwright.workflow import Opened, spread_of_builds


class SpreadArgs(TriedArgs):
    """How many builds are drawn, from which seed, and of which readings they are told."""

    draws: Annotated[int, Field(ge=20, le=10_000)] = 1000
    seed: Annotated[int, Field(ge=0, le=2**31)] = 1
    only: Annotated[str, Field(max_length=60)] = ""


def _spread(desk: Desk, args: SpreadArgs) -> dict[str, Any]:
    def look(opened: Opened) -> Study:
        found = spread_of_builds(opened, draws=args.draws, seed=args.seed)
        shown = _only(found, args.only.strip())
        return section_study(spread_pages(shown), spread_figures(shown.rows))

    return studied(desk, args, look)


def _only(spread: Spread, words: str) -> Spread:
    """Return the readings whose name has these words."""
    if not words:
        return spread
    rows = tuple(row for row in spread.rows if words.casefold() in row.reading.casefold())
    corners = tuple(corner for corner in spread.corners if words.casefold() in corner.reading.casefold())
    if not rows:
        raise AskError(
            what="no reading is called so",
            found=words,
            wanted="words in the name of a reading: V1, plate heat, B+",
            do="leave it empty to see all of them",
        )
    return replace(spread, rows=rows, corners=corners)


SPREAD = Asked("spread", _spread, SpreadArgs, LONG, words="the spread")
