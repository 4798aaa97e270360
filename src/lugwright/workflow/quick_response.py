"""The response under values that are being tried, as fast as a hand moves a knob; nothing of it is written anywhere."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from lugwright.buildfile.build import Can, Capacitor, Choke, Fitted, Jack, Part, Pot, Resistor, Speaker, Switch
from lugwright.buildfile.changed_part import ChangedPart, changed_part
from lugwright.circuit.audio import loudspeaker_edit
from lugwright.circuit.edits import Edit
from lugwright.circuit.operating import Levels
from lugwright.circuit.part_edit import part_edit
from lugwright.quantities import Kind, rkm
from lugwright.solve.held_response import HeldResponse, Varied
from lugwright.solve.response_results import ResponseCurve, ResponseWish
from lugwright.solve.study import Study, has_signal_path
from lugwright.workflow.opened import Opened, open_build

KINDS: Mapping[type, Kind] = {Capacitor: "farad", Can: "farad", Choke: "henry"}
REACH = 10.0  # a part's value is moved over a decade up and down


@dataclass(frozen=True)
class TriedResponse:
    """A response curve with values changed, and the levels of the idle it is of."""

    curve: ResponseCurve
    levels: Levels
    followed: bool  # the idle was solved again; what moved may be next to nothing


@dataclass(eq=False)
class ResponseBench:
    """A build whose values are tried between two points; made once, asked as often as a slider moves."""

    opened: Opened
    source: str | None = None
    output: str | None = None

    @cached_property
    def _held(self) -> HeldResponse:
        wish = ResponseWish(self.source, self.output)
        return HeldResponse(Study(self.opened.measured, self.opened.solved, wish), self.opened.idle.levels)

    @property
    def answers(self) -> bool:
        """Return whether it is known where the signal goes in and comes out."""
        return has_signal_path(self.opened.written) or bool(self.source and self.output)

    def response(self, changes: Sequence[str], moved: str = "") -> TriedResponse:
        """Return the curve under changes such as ``R17=220k``.

        Parameters
        ----------
        changes : sequence of str
            As for ``--set``. [-]
        moved : str
            The change among them that follows a slider. [-]

        Returns
        -------
        TriedResponse
            As if the build had been opened with these changes.

        Raises
        ------
        ChangeError
            A part cannot be set to that.
        CircuitError
            A point that the build does not have.
        NoIdlePoint
            No certified idle under these changes.

        Source
        ------
        `HeldResponse`.
        """
        still = [change for change in changes if change != moved]
        parts: dict[str, Part] = {}
        made = [self._made(change, parts) for change in still]
        others = [(change, self._edit(parts[each.part.name])) for change, each in zip(still, made, strict=True) if each]
        before = dict(parts)
        last = self._made(moved, parts) if moved else None
        if None in made or (moved and last is None):
            return self._afresh(changes)
        found = self._held.curve(None if last is None else self._varied(last, before), others)
        return TriedResponse(found.curve, found.levels, found.followed)

    def _made(self, change: str, parts: dict[str, Part]) -> ChangedPart | None:
        made = changed_part(self.opened.written, change, parts)
        if made is not None:
            parts[made.part.name] = made.part
        return made

    def _edit(self, part: Part) -> Edit:
        as_built = self.opened.measured.part_by_name[part.name]
        return part_edit(self.opened.measured, self.opened.circuit, part) + loudspeaker_edit(as_built, part)

    def _varied(self, made: ChangedPart, before: Mapping[str, Part]) -> Varied:
        ends = [
            end
            for text in _ends(self.opened.written.part(made.part.name).values, made)
            if (end := changed_part(self.opened.written, f"{made.name}={text}", before)) is not None
        ]
        low, at, high = (_number(each.part.values, made) for each in (ends[0], made, ends[-1])) if ends else (1, 0, 1)
        edits = tuple(self._edit(end.part) for end in ends)
        built = _number(before.get(made.part.name, self.opened.measured.part(made.part.name)).values, made)
        inside = low <= at <= high
        return Varied(
            f"{made.name} {made.key}", _even(built, made), _even(at, made), self._edit(made.part), edits, inside
        )

    def _afresh(self, changes: Sequence[str]) -> TriedResponse:
        """Return the answer of the build opened with the changes: another tube, another mains, another speaker."""
        opened = open_build(self.opened.path, changes=tuple(changes), serial=self.opened.serial)
        bench = replace(self, opened=opened)
        return replace(bench.response(()), followed=True)


def _number(values: Fitted, made: ChangedPart) -> float:
    """Return the value that a change is of, as a number. [ohm, F, share of a turn]"""
    match values:
        case Pot() if made.key == "setting":
            return values.setting
        case Resistor() | Pot() | Speaker():
            return values.ohm
        case Choke():
            return values.henry
        case Capacitor():
            return values.farad
        case Can():
            return values.farads[ord(made.name[-1]) - ord("a")]
    return 0.0


def _even(number: float, made: ChangedPart) -> float:
    """Return a value on a scale on which its slider moves evenly."""
    return math.log(number) if made.key != "setting" and number > 0.0 else number


def _ends(stated: Fitted, made: ChangedPart) -> tuple[str, ...]:
    """Return what a value is moved between; nothing for what has no way between two of its values."""
    if made.key == "setting":
        return "0", "1"
    if isinstance(stated, Switch | Jack):
        return ()
    kind: Kind = KINDS.get(type(stated), "ohm")
    value = _number(stated, made)
    return rkm(value / REACH, kind), rkm(value * REACH, kind)
