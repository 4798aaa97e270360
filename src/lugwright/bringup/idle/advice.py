"""Target, way and turns, from the amplifier as it stands: as drawn, or as readings have it."""

from __future__ import annotations

from collections.abc import Sequence

from lugwright.bringup.idle.at_edit import AtEdit
from lugwright.bringup.idle.cathode_resistor import resistor_rows
from lugwright.bringup.idle.misleading import misleading
from lugwright.bringup.idle.stage import Stage
from lugwright.bringup.idle.targets import target_of
from lugwright.bringup.idle.turning import Control, hottest, turn_rows, way_to_target
from lugwright.bringup.idle_results import Advice
from lugwright.circuit.edits import Edit, ScaleValue
from lugwright.circuit.operating import Idle
from lugwright.errors import NoIdlePoint

HIGH_MAINS = 1.1


def advice(stage: Stage, at: AtEdit, controls: Sequence[Control], cold: Idle, wish: str) -> Advice:
    """Return where to idle, how to get there and what every turn on the way does.

    Raises
    ------
    ReadingError
        ``wish`` is no target.
    NoIdlePoint
        A place of a control has no certified point.
    """
    target = target_of(stage, wish)
    there, set_to = way_to_target(stage, at, controls, target) if controls else (at, ())
    return Advice(
        target=target,
        set_to=set_to,
        turns=tuple(turn_rows(stage, at, controls)),
        resistors=() if stage.fixed else resistor_rows(stage, at, target),
        high_mains_share=_on_high_mains(stage, there),
        misleading=misleading(stage, at, cold, target),
    )


def _on_high_mains(stage: Stage, at: AtEdit) -> float | None:
    if "mains" not in stage.circuit.by_name:
        return None
    try:
        high = at.further(Edit("", (ScaleValue("mains", "rms_v", HIGH_MAINS),)))
    except NoIdlePoint:
        return None
    return hottest([high.state(tube) for tube in stage.tubes]).share
