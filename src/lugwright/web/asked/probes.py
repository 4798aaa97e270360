"""Where the tips of the meter are held, as a drawing."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import Field

from lugwright.web.asked.asked import Args, Asked
from lugwright.web.desk import Desk
from lugwright.workflow import ProbeDrawings

Key = Annotated[str, Field(min_length=1, max_length=100)]
_DRAWINGS = ProbeDrawings()


class ProbeArgs(Args):
    """Keys of two terminals, or joints; ``whole``: the whole chassis."""

    red: Key
    black: Key = "ground"
    whole: bool = False


def _probes(desk: Desk, args: ProbeArgs) -> dict[str, Any]:
    found = _DRAWINGS.picture(desk.opened, red=args.red, black=args.black, whole=args.whole)
    return {"svg": found.svg, "red": found.red, "black": found.black}


PROBES = Asked("probes", _probes, ProbeArgs)
