"""What turning a bias control does, and how far it is to the target: solved anew at every place, never a straight line.

A turn is told as a hand sees it: an hour is a twelfth of a circle. A panel pot turns 300 degrees from stop to stop.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from lugwright.bringup.bias_control import control_words
from lugwright.bringup.idle.at_edit import AtEdit
from lugwright.bringup.idle.stage import OutputTube, Stage
from lugwright.bringup.idle_results import SetTo, Target, TubeState, TurnRow
from lugwright.buildfile.build import Part
from lugwright.errors import NoIdlePoint

TRAVEL_DEG = 300.0  # of a pot, stop to stop, from memory of makers' sheets
HOUR = 30.0 / TRAVEL_DEG  # as a share of its rotation
EIGHTH = 45.0 / TRAVEL_DEG
TURNS = ((-EIGHTH, "1/8 turn counterclockwise"), (-HOUR, "one hour counterclockwise"), (0.0, "as it stands"),
         (HOUR, "one hour clockwise"), (EIGHTH, "1/8 turn clockwise"))  # fmt: skip
REACHES_V = 0.05  # a control that moves no grid by this much in an hour is not a bias control
ALIKE = 0.9  # tubes that a control moves by at least this share of the most move with it
CLOSE = 0.002  # of the plate limit
ROUNDS = 8
SAME_PLACE = 0.01  # of the rotation: nothing a hand could do


@dataclass(frozen=True)
class Control:
    """A bias control and the tubes it moves."""

    part: Part
    tubes: tuple[OutputTube, ...]

    @property
    def name(self) -> str:
        """Return the designator."""
        return self.part.name

    @property
    def words(self) -> str:
        """Return it as the panel and the chart name it, with its tubes."""
        return f"{control_words(self.part)} ({', '.join(t.name for t in self.tubes)})"


def controls_of(stage: Stage, at: AtEdit, parts: Sequence[Part]) -> tuple[Control, ...]:
    """Return the controls that move the grid of an output tube, each with the tubes it moves."""
    found = []
    for part in parts:
        here = at.rotations[part.name]
        other = at.turned({part.name: here + (HOUR if here < 0.5 else -HOUR)}, {part.name: part})
        moved = {t.name: abs(other.idle.joints[t.grid].volts - at.idle.joints[t.grid].volts) for t in stage.tubes}
        most = max(moved.values())
        if most >= REACHES_V:
            found.append(Control(part, tuple(t for t in stage.tubes if moved[t.name] > ALIKE * most)))
    return tuple(found)


def turn_rows(stage: Stage, at: AtEdit, controls: Sequence[Control]) -> Iterator[TurnRow]:
    """Yield what each control does when it is turned a little either way, all others as they stand."""
    parts = {control.name: control.part for control in controls}
    for control in controls:
        here = at.rotations[control.name]
        for turn, words in TURNS:
            share = here + turn
            if -SAME_PLACE <= share <= 1.0 + SAME_PLACE:
                there = at.turned({control.name: min(max(share, 0.0), 1.0)}, parts) if turn else at
                yield turn_row(stage, there, control, words)


def turn_row(stage: Stage, at: AtEdit, control: Control, words: str) -> TurnRow:
    """Return how everything stands with a control turned so."""
    b_plus_v = at.idle.joints[control.tubes[0].feed].volts
    return TurnRow(control.words, words, at.rotations[control.name], b_plus_v, tuple(at.state(t) for t in stage.tubes))


def way_to_target(
    stage: Stage, at: AtEdit, controls: Sequence[Control], target: Target
) -> tuple[AtEdit, tuple[SetTo, ...]]:
    """Return the amplifier with its controls at the target, and how far each has to be turned for it.

    The hottest tube of each control comes to the target; the controls pull at the same B+ and are found together.
    """
    there = _at_target(at, controls, target)
    return there, tuple(_set_to(at, there, control, target) for control in controls)


def _at_target(at: AtEdit, controls: Sequence[Control], target: Target) -> AtEdit:
    """Return the controls turned to the target: each by its own secant, all of them in each round."""
    parts = {control.name: control.part for control in controls}
    before, now = at, _nudged(at, controls, parts, target)
    for _ in range(ROUNDS):
        if all(abs(_short(now, c, target)) < CLOSE or _at_stop(now, c, target) for c in controls):
            break
        wanted = {c.name: _secant(before, now, c, target) for c in controls}
        try:
            before, now = now, now.turned(wanted, parts)
        except NoIdlePoint:
            halfway = {name: (share + now.rotations[name]) / 2.0 for name, share in wanted.items()}
            before, now = now, now.turned(halfway, parts)
    return now


def _nudged(at: AtEdit, controls: Sequence[Control], parts: Mapping[str, Part], target: Target) -> AtEdit:
    """Return the controls turned one hour the way that may be right: the other end of the first secant."""
    rotations = {}
    for control in controls:
        here = at.rotations[control.name]
        rotations[control.name] = here + HOUR if here <= 1.0 - HOUR else here - HOUR
    return at.turned(rotations, parts)


def _short(at: AtEdit, control: Control, target: Target) -> float:
    """Return how far the hottest tube of a control is below the target, as a share of its limit."""
    return target.aim - max(at.state(tube).share for tube in control.tubes)


def _at_stop(at: AtEdit, control: Control, target: Target) -> bool:
    here = at.rotations[control.name]
    return here in (0.0, 1.0) and abs(_short(at, control, target)) >= CLOSE and _beyond(at, control, target)


def _beyond(at: AtEdit, control: Control, target: Target) -> bool:
    """Return whether a control at its stop would have to go further: colder at its cold end, hotter at its hot one."""
    here, short = at.rotations[control.name], _short(at, control, target)
    parts = {control.name: control.part}
    inward = at.turned({control.name: HOUR if here == 0.0 else 1.0 - HOUR}, parts)
    return abs(_short(inward, control, target)) > abs(short)


def _secant(before: AtEdit, now: AtEdit, control: Control, target: Target) -> float:
    one, other = before.rotations[control.name], now.rotations[control.name]
    short_one, short = _short(before, control, target), _short(now, control, target)
    if other == one or short == short_one:
        return other
    return min(max(other - short * (other - one) / (short - short_one), 0.0), 1.0)


def _set_to(at: AtEdit, there: AtEdit, control: Control, target: Target) -> SetTo:
    here, wanted = at.rotations[control.name], there.rotations[control.name]
    reached = abs(_short(there, control, target)) < 5.0 * CLOSE
    return SetTo(
        control.words, here, wanted, reached, turn_words(wanted - here), tuple(there.state(t) for t in control.tubes)
    )


def turn_words(share: float) -> str:
    """Return a turn as a hand makes it: ``clockwise by 1.3 hours on the clock (13 % of its travel)``."""
    if abs(share) < SAME_PLACE:
        return "leave it where it is"
    way = "clockwise" if share > 0.0 else "counterclockwise"
    return f"{way} by {abs(share) / HOUR:.1f} hours on the clock ({abs(share):.0%} of its travel)"


def hottest(states: Sequence[TubeState]) -> TubeState:
    """Return the tube that uses most of its limit."""
    return max(states, key=lambda state: state.share)
