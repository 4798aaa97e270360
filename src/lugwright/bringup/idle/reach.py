"""How far the bias controls reach: both ends, with strong and weak tubes, and the mains low and high."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from lugwright.bringup.bias_control import control_words
from lugwright.bringup.idle.at_edit import AtEdit
from lugwright.bringup.idle.stage import Stage
from lugwright.bringup.idle.turning import Control, hottest
from lugwright.bringup.idle_results import ReachRow, Target
from lugwright.circuit.edits import Edit, ScaleValue
from lugwright.errors import NoIdlePoint

# (tubes, sign of their spread, mains): what makes the cold end hardest to reach, and the hot end
_COLD = (("strong", 1.0, 1.1), ("strong", 1.0, 1.0), ("average", 0.0, 1.0))
_HOT = (("average", 0.0, 1.0), ("weak", -1.0, 1.0), ("weak", -1.0, 0.9))
LOW_MAINS, HIGH_MAINS = 0.9, 1.1


def reach_rows(stage: Stage, at: AtEdit, controls: Sequence[Control]) -> tuple[ReachRow, ...]:
    """Return what the hottest tube comes to at both ends of all controls together."""
    if not controls:
        return ()
    ends = {share: at.turned(dict.fromkeys((c.name for c in controls), share), {c.name: c.part for c in controls})
            for share in (0.0, 1.0)}  # fmt: skip
    tube = controls[0].tubes[0]
    cold, hot = sorted(ends.values(), key=lambda end: end.idle.joints[tube.grid].volts)
    rows = [_row(stage, cold, "most negative", case) for case in _COLD]
    return (*rows, *(_row(stage, hot, "least negative", case) for case in _HOT))


def _row(stage: Stage, end: AtEdit, words: str, case: tuple[str, float, float]) -> ReachRow:
    tubes, sign, mains = case
    changes = [ScaleValue(t.name, "on", 1.0 + sign * t.spread) for t in stage.tubes]
    if "mains" in stage.circuit.by_name:
        changes.append(ScaleValue("mains", "rms_v", mains))
    try:
        there = end.further(Edit("", tuple(changes)))
    except NoIdlePoint:
        return ReachRow(words, tubes, mains, None, None, None)
    hot = hottest([there.state(tube) for tube in stage.tubes])
    b_plus_v = there.idle.joints[stage.tube(hot.tube).feed].volts
    return ReachRow(words, tubes, mains, hot.grid_v, hot.share, b_plus_v)


def out_of_reach(rows: Sequence[ReachRow], controls: Sequence[Control], target: Target) -> Iterator[str]:
    """Yield words for every tube and mains with which no place of the controls meets the target."""
    named = " and ".join(control_words(control.part) for control in controls)
    verb = "brings" if len(controls) == 1 else "bring"
    for row in rows:
        if row.share is None or (row.end == "most negative" and row.share <= target.most):
            continue
        if row.end == "least negative" and row.share >= target.least:
            continue
        case = f"{row.tubes} tubes and {_mains_words(row.mains)}"
        if row.end == "most negative":
            yield (
                f"With {case} {named} {verb} the plates down to {row.share:.0%} of their limit and no further; the "
                f"target ends at {target.most:.0%}. Change the resistors around it, so that the bias gets more "
                "negative, before an output tube goes in."
            )
        else:
            yield (
                f"With {case} {named} {verb} the plates to {row.share:.0%} of their limit and no further; the target "
                f"begins at {target.least:.0%}. Change the resistors around it, so that the bias gets less negative."
            )


def _mains_words(share: float) -> str:
    if share == 1.0:
        return "nominal mains"
    return f"mains 10 % {'high' if share > 1.0 else 'low'}"
