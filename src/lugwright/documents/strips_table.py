"""Terminal strips and ground bus as they may be put into a build file, with what each carries beside it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from lugwright.layout.explain_results import LugCount
    from lugwright.layout.results import BusUse, StripUse

_USUAL_TYPE = "strip 9.5"
_JOINTS_NAMED = 4


def strips_table(build: str, strips: Sequence[StripUse], buses: Sequence[BusUse], lugs: LugCount) -> str:
    """Return strips and buses as TOML, what each carries beside it, and how many lugs are left."""
    count = len(strips)
    head = (
        f"# {build}: {lugs.used} lugs used and {lugs.spare} spare on {count} strip{'s' * (count != 1)} "
        f"(wanted spare: {lugs.spare_wanted}). No plan does with fewer than {lugs.least} lugs and free pins."
    )
    lines = [head, "[strips]", *_in_columns([_strip(strip) for strip in strips])]
    return "\n".join([*lines, "[bus]", *_in_columns([_bus(bus) for bus in buses])])


def _strip(strip: StripUse) -> tuple[str, str]:
    feet = ", ".join(str(foot) for foot in strip.feet)
    entry = f"{strip.name} = {{ lugs = {strip.lugs}, feet = [{feet}], at = {_point(strip.at)}"
    entry += f", turn = {strip.turn:g}" if strip.turn else ""
    entry += f', type = "{strip.type}"' if strip.type != _USUAL_TYPE else ""
    named = ", ".join(strip.joints[:_JOINTS_NAMED])
    more = f" and {len(strip.joints) - _JOINTS_NAMED} more" if len(strip.joints) > _JOINTS_NAMED else ""
    why = f"{'proposed, ' * strip.proposed}{strip.used} used, {strip.spare} spare: {named}{more}"
    return entry + " }", why if strip.joints else why.partition(":")[0]


def _bus(bus: BusUse) -> tuple[str, str]:
    points = ", ".join(_point(point) for point in bus.points)
    joint = f', joint = "{bus.joint}"' if bus.joint != bus.name else ""
    entry = f"{bus.name} = {{ points = [{points}], height = {bus.height_mm:g}{joint} }}"
    return entry, f"{'proposed, ' * bus.proposed}{bus.leads} leads and wires"


def _point(point: tuple[float, float]) -> str:
    return f"[{point[0]:g}, {point[1]:g}]"


def _in_columns(rows: list[tuple[str, str]]) -> Iterator[str]:
    wide = max((len(entry) for entry, _ in rows), default=0)
    return (f"{entry:{wide}}  # {why}" for entry, why in rows)
