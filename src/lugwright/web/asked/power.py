"""Output power over drive: watts, distortion by harmonic, headroom, sag."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import Field

from lugwright.documents.book.power_pages import power_pages
from lugwright.documents.compared import power_figures
from lugwright.solve.power_results import Power, PowerWish
from lugwright.web.asked.asked import LONG, Asked
from lugwright.web.asked.study import Study, section_study, studied
from lugwright.web.asked.trying import TriedArgs
from lugwright.web.desk import Desk
from lugwright.workflow import Opened, power_or_why_not


class PowerArgs(TriedArgs):
    """The load, the frequency, and whether power over frequency is wanted too."""

    loudspeaker: bool = False
    hertz: Annotated[float, Field(ge=20.0, le=20e3)] = 1000.0
    band: bool = False


def _power(desk: Desk, args: PowerArgs) -> dict[str, Any]:
    wish = PowerWish(args.loudspeaker, float(args.hertz), args.band)

    def look(opened: Opened) -> Study:
        power = power_or_why_not(opened, wish)
        section = power_pages(power, opened.driven_ratings_of(power))
        figures = power_figures(power) if isinstance(power, Power) else ()
        return section_study(section, figures, opened.driven_findings_of(power))

    return studied(desk, args, look)


POWER = Asked("power", _power, PowerArgs, LONG, words="the output power")
