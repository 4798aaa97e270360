"""Where the tips of a meter are held, drawn on the wiring side."""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import dataclass
from math import dist

from lugwright.buildfile.build import GROUND
from lugwright.circuit.points import joint_of
from lugwright.documents.drawings.probes import probes_svg
from lugwright.documents.drawings.wiring_side import WiringSide, wiring_side
from lugwright.errors import NoSuchPoint
from lugwright.layout.results import Plan, PlanTerminal
from lugwright.workflow.opened import Opened

MOST_KEPT = 4
# where a tip is best put: wide and low terminals first, pins of a socket last
_BEST = ("can", "lug", "foot", "bus", "bolt", "pot", "jack", "panel", "exit", "pin")
_ANY_GROUND = "circuit ground; any ground point will do, clipped on with the plug out"


@dataclass(frozen=True)
class ProbePicture:
    """The drawing, "" where the red tip is held at nothing that is on it; and both places in words."""

    svg: str
    red: str
    black: str


class ProbeDrawings:
    """Wiring sides kept for the next picture: their labels are placed once."""

    def __init__(self) -> None:
        self._sides: OrderedDict[int, tuple[Plan, WiringSide]] = OrderedDict()

    def picture(self, opened: Opened, *, red: str, black: str, whole: bool = False) -> ProbePicture:
        """Return where two tips are held; ``red`` and ``black`` are keys of terminals, or joints.

        What is on no drawing, such as bare metal, is told in words alone.

        Raises
        ------
        PlanError
            There is no plan to draw.
        """
        plan = opened.plan
        reds, blacks = _places(opened, red), _places(opened, black)
        one = _best(reds)
        other = _best(blacks) if black != GROUND else _nearest(one, blacks) if one else None
        svg = probes_svg(self._side(opened, plan), red=_key(one), black=_key(other), whole=whole) if one else ""
        return ProbePicture(svg, _words(one, red), _words(other, black))

    def _side(self, opened: Opened, plan: Plan) -> WiringSide:
        kept = self._sides.get(id(plan))
        if kept is None:
            side = wiring_side(opened.build, plan, opened.hardware, order=opened.work_order)
            kept = self._sides[id(plan)] = plan, side
        self._sides.move_to_end(id(plan))
        while len(self._sides) > MOST_KEPT:
            self._sides.popitem(last=False)
        return kept[1]


def _places(opened: Opened, key: str) -> list[PlanTerminal]:
    terminals = opened.plan.terminals
    if key in terminals:
        return [terminals[key]]
    joint = key if any(t.joint == key for t in terminals.values()) else _joint(opened, key)
    return [t for t in terminals.values() if joint and t.joint == joint]


def _joint(opened: Opened, key: str) -> str:
    """Return the joint of a terminal; "" for bare metal and the like, which is on no drawing."""
    try:
        return joint_of(opened.written, key)
    except NoSuchPoint:
        return ""


def _best(places: list[PlanTerminal]) -> PlanTerminal | None:
    return min(places, key=lambda t: (_rank(t), t.key), default=None)


def _nearest(one: PlanTerminal, places: list[PlanTerminal]) -> PlanTerminal | None:
    open_ones = [t for t in places if t.kind in ("bus", "foot", "bolt", "lug")] or places
    return min(open_ones, key=lambda t: (_apart(one, t), t.key), default=None)


def _rank(terminal: PlanTerminal) -> int:
    return _BEST.index(terminal.kind) if terminal.kind in _BEST else len(_BEST)


def _apart(one: PlanTerminal, other: PlanTerminal) -> float:
    return dist((one.x_mm, one.y_mm), (other.x_mm, other.y_mm))


def _key(terminal: PlanTerminal | None) -> str:
    return "" if terminal is None else terminal.key


def _words(terminal: PlanTerminal | None, asked: str) -> str:
    if terminal is None:
        return _ANY_GROUND if asked == GROUND else "as the reading says"
    if asked == GROUND:
        return f"{_ANY_GROUND}. Nearest: {terminal.label}"
    return terminal.label if asked == terminal.key else f"{asked}, at {terminal.label}"
