"""What an ohmmeter reads between any two points, plug out."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from lugwright.web.asked.asked import Args, Asked
from lugwright.web.asked.wiring import ohms_words
from lugwright.web.desk import Desk
from lugwright.workflow import ohms_at

Point = Annotated[str, Field(max_length=80)]


class TipsArgs(Args):
    """Where both tips are held, as builders say it; a part with two leads named alone is read across."""

    red: Annotated[Point, Field(min_length=1)]
    black: Point = ""


def _between(desk: Desk, args: TipsArgs) -> dict[str, str]:
    points = f"{args.red} to {args.black}" if args.black.strip() else args.red
    chart = ohms_at(desk.opened, [points])
    (reading,) = chart.readings
    return {
        "point": reading.point,
        "reads": ohms_words(reading),
        "note": reading.note,
        "meter": chart.meter,
        "red": reading.red,
        "black": reading.black,
    }


OHMS_BETWEEN = Asked("ohms between", _between, TipsArgs)
